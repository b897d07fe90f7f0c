"""The bundle's tables of speed classes: the site's table, version by version, and the claims."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import MOMENT, YES_NO, Column, Table, number
from fleet.bundle.shapes import ANY_CART, fact_table, read_off, said
from lifts.classes import CLAIM, TABLE, ClassTable, table_of
from lifts.speed_classes import default_classes
from shared.models import Change

OF_CLASS = (
    Column("code", _("short name of the class")),
    Column("name", _("the class")),
    Column("source", _("source of its limits")),
    Column("edition", _("edition of that source")),
    number("limit_mph", _("limit as printed in mph"), "mph"),
    number("limit_kmh", _("limit as printed in km/h"), "km/h"),
    Column("limit_is_below", _("the speed must be below the limit, not at it"), YES_NO),
    number("over_mph", _("faster than, as printed in mph"), "mph"),
    number("over_kmh", _("faster than, as printed in km/h"), "km/h"),
    number("most_gross_lb", _("largest gross mass as printed in lb"), "lb"),
    number("most_gross_kg", _("largest gross mass as printed in kg"), "kg"),
    Column("gross_is_below", _("the gross mass must be below that"), YES_NO),
    number("most_payload_lb", _("largest payload as printed in lb"), "lb"),
    number("most_payload_kg", _("largest payload as printed in kg"), "kg"),
    number("most_persons", _("most persons")),
    number("wheels", _("wheels")),
    Column("wheels_or_more", _("or more wheels"), YES_NO),
    Column("note", _("how the line was come by")),
)


def class_rows(scope):
    """Yield the classes of each version of the site's table, the first that of the tool."""
    changes = scope.standing(Change).filter(site=scope.site, what=TABLE)
    changes = list(changes.order_by("received_at", "id"))
    tables = [ClassTable(default_classes()), *map(table_of, changes)]
    for place, table in enumerate(tables):
        until = changes[place] if place < len(changes) else None
        about = _version(place, table, until, scope)
        yield from ({**about, **read_off(one, OF_CLASS)} for one in table.classes)


def _version(place, table, until, scope):
    change = table.change
    return {
        "version": place + 1,
        "change": change and change.pk,
        "from_at": moment(change.done_at, scope.zone) if change else "",
        "until_at": moment(until.done_at, scope.zone) if until else "",
        "by": scope.name(change.by_id) if change else "",
        "reason": change.reason if change else "",
        "usual": table.usual,
        "tags_over": table.tags_over,
    }


CLASSES = Table(
    "speed_classes.csv",
    _("the site's table of speed classes, each version that was in force by then"),
    (
        number("version", _("version of the table; the first is the one that came with the tool")),
        Column("change", _("the entry that brought it; empty: it came with the tool")),
        Column("from_at", _("in force from"), MOMENT),
        Column("until_at", _("another version from then on; empty: in force"), MOMENT),
        Column("by", _("who put it in force")),
        said("reason", _("why")),
        Column("usual", _("class of the carts that claim none; empty: none")),
        Column("tags_over", _("a cart measured over its class is tagged"), YES_NO),
        *OF_CLASS,
    ),
    class_rows,
    per_cart=False,
    entry="change",
    key=("version", "code"),
)
CLAIMS = fact_table(
    "speed_claims.csv",
    _("each time a speed class was claimed for a cart"),
    said("change", _("the entry that claims it"), field="id"),
    (
        Column("speed_class", _("short name of the class; usual: the site's; none: none")),
        said("reason", _("why")),
    ),
    lambda batch: (
        (cart, change, {"speed_class": change.value["speed_class"]})
        for cart, change in batch.changes(CLAIM)
    ),
    cart=ANY_CART,
)

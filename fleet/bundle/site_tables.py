"""What belongs to the site as a whole: people, its own settings, restores, signing keys."""

from datetime import date
from itertools import pairwise

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import DAY, MOMENT, YES_NO, Column, Table
from fleet.bundle.shapes import said, said_by
from shared.models import Change, Restore, Role

SITE, ROLE, SIGNING_KEY = "site", "role", "signing key"


def people_rows(scope):
    """Yield each role that was given, oldest first, and whether it is the one that holds."""
    changes = list(_changes(scope, ROLE))
    last = {change.person_id: change.pk for change in changes}
    for change in changes:
        told = change.value
        yield {
            "entry": change.pk,
            "person_id": change.person_id,
            "person": scope.name(change.person_id),
            **{name: told.get(name) for name in ("role", "from_day", "to_day")},
            **_may_sign(told),
            "is_above": bool(told.get("is_above")),
            "in_force": last[change.person_id] == change.pk and _holds(told, scope.day),
            "given_at": moment(change.done_at, scope.zone),
            "given_by": scope.name(change.by_id),
        }


def _changes(scope, what):
    return scope.standing(Change).filter(site=scope.site, what=what)


def _may_sign(told):
    is_manager = told["role"] == Role.MANAGER
    return {
        "may_record": told["role"] in (Role.MANAGER, Role.MECHANIC),
        "may_release": bool(told.get("may_release")),
        "may_hand_back": is_manager or bool(told.get("may_release")),
        "may_countersign": is_manager,
    }


def _holds(told, day):
    to_day = told.get("to_day")
    begun = date.fromisoformat(told["from_day"]) <= day
    return begun and (to_day is None or day <= date.fromisoformat(to_day))


PEOPLE = Table(
    "people.csv",
    _("roles at the site, from day to day, each time one was given, and what they could sign"),
    (
        Column("entry", _("the entry that gave the role")),
        said("person_id", _("the person"), field="person"),
        Column("person", _("name, or a reference in its place")),
        Column("role", _("manager, mechanic, desk or surveyor")),
        Column("from_day", _("first day"), DAY),
        Column("to_day", _("last day; empty: no end"), DAY),
        Column("may_record", _("may record rounds, readings and fittings"), YES_NO),
        Column("may_release", _("no manager, and may hand tagged carts back"), YES_NO),
        Column("may_hand_back", _("may hand tagged carts back, by role or by name"), YES_NO),
        Column("may_countersign", _("may countersign rounds written late"), YES_NO),
        Column("is_above", _("stands above the manager: told when a cart is stopped"), YES_NO),
        Column("in_force", _("held as of the day"), YES_NO),
        Column("given_at", _("when it was given"), MOMENT),
        Column("given_by", _("who gave it")),
    ),
    people_rows,
    per_cart=False,
    entry="entry",
    key=("entry",),
)


def site_change_rows(scope):
    """Yield what each change of the site's own settings said otherwise than the one before."""
    for before, after in pairwise(_changes(scope, SITE)):
        for name in sorted(before.value.keys() | after.value.keys()):
            old, new = before.value.get(name), after.value.get(name)
            if old != new:
                change = {"setting": name, "before": _text(old), "after": _text(new)}
                yield {**_changed(after, scope), **change}


def _text(value):
    return "" if value is None else str(value)


def _changed(change, scope):
    return {
        "entry": change.pk,
        **said_by(change, CHANGED, scope.zone),
        "by": scope.name(change.by_id),
    }


CHANGED = (
    said("done_at", _("when it was changed"), MOMENT),
    said("received_at", _("when that arrived here"), MOMENT),
    Column("by", _("who changed it")),
)
SITE_CHANGES = Table(
    "site_changes.csv",
    _("changes of the site's own settings, such as its time zone and units"),
    (
        Column("entry", _("the entry that changed it; one for each setting it changed")),
        *CHANGED,
        Column("setting", _("the setting")),
        Column("before", _("what it was")),
        Column("after", _("what it became")),
    ),
    site_change_rows,
    per_cart=False,
    entry="entry",
    key=("entry", "setting"),
)


def signing_key_rows(scope):
    for change in _changes(scope, SIGNING_KEY):
        told = {name: change.value.get(name, "") for name in ("before", "key")}
        yield {**_changed(change, scope), **told}


SIGNING_KEYS = Table(
    "signing_keys.csv",
    _("changes of the key that signs checkpoints and bundles, each signed by the key before"),
    (
        Column("entry", _("the entry that changed it")),
        *CHANGED,
        Column("before", _("public key before, as hex")),
        Column("key", _("public key from then on, as hex")),
    ),
    signing_key_rows,
    per_cart=False,
    entry="entry",
    key=("entry",),
)


def restore_rows(scope):
    for fact in scope.standing(Restore).filter(site=scope.site):
        yield {
            "entry": fact.pk,
            **said_by(fact, (*CHANGED, *OF_RESTORE), scope.zone),
            "by": scope.name(fact.by_id),
        }


OF_RESTORE = (
    said("epoch", _("epoch that began with it"), numeric=True),
    said("missing_from", _("first entry of the epoch before that is not here"), numeric=True),
    said("missing_to", _("last entry of the epoch before that is not here"), numeric=True),
    said("reason", _("why an older database was put back")),
)
RESTORES = Table(
    "restores.csv",
    _("older databases that were put back, and which entries are missing since"),
    (Column("entry", _("the entry that says so")), *CHANGED, *OF_RESTORE),
    restore_rows,
    per_cart=False,
    entry="entry",
    key=("entry",),
)

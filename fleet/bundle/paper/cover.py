"""The report's first pages: what this is, as of when, and what it does not prove."""

from django.utils.translation import gettext as _

from fleet.bundle.manifest import TOOL
from fleet.bundle.paper.blocks import Contents, Digits, Heading, Pairs, Points, Section, Title


def cover(frame) -> list[Section]:
    blocks = [
        Title(),
        Pairs(tuple(_as_of(frame))),
        Digits(tuple(_seals(frame))),
        Heading(_("What this does not prove")),
        Points(not_proved()),
    ]
    return [Section(frame.upright, blocks), Section(frame.upright, [Contents(_("Contents"))])]


def _as_of(frame):
    scope = frame.scope
    yield _("Site"), f"{scope.site.name} ({scope.site.slug})"
    yield _("What had happened by"), frame.moment(scope.cut.happened_by)
    yield _("What was known here by"), frame.moment(scope.cut.known_by)
    yield _("From"), _from(scope)
    yield _("Carts"), _carts(scope)
    yield _("Names of people"), _names(scope)
    yield _("Entries in the journal"), f"{frame.checkpoint.size}"
    yield _("Made at"), frame.moment(frame.made_at)
    yield _("Made by"), frame.made_by
    yield _("Made with"), TOOL
    yield _("Checkpoint signed at"), frame.moment(frame.checkpoint.at)
    yield _("Checkpoint's epoch"), f"{frame.checkpoint.epoch}"


def _from(scope):
    return scope.from_day.isoformat() if scope.from_day else _("the first entry on")


def _carts(scope):
    if scope.lifted_only:
        return _("those alone that carry or carried a lift")
    return _("every cart, lifted and plain")


def _names(scope):
    if scope.with_names:
        return _("as recorded, each with a reference")
    return _("by reference, such as P-0007; the site can say whose each is")


def _seals(frame):
    yield _("Content fingerprint (SHA-256 of tables, entries and photos)"), frame.fingerprint
    yield _("Checkpoint: root of the hash tree over all entries"), frame.checkpoint.root.hex()
    yield _("Checkpoint: public key of the site's tool"), frame.checkpoint.key.hex()


def not_proved():
    return (
        _(
            "That somebody looked at a cart, or looked well. No record can prove that. Recorded "
            "is what was claimed, by whom, when it was written down, when it arrived here, and "
            "how the cart was named: by its scanned plate, its typed number or from a list."
        ),
        _(
            "That nothing else happened. What nobody recorded is not here; an empty cell means "
            "that it was not recorded."
        ),
        _(
            "That the times of work are right. They are those that people gave. Only the time "
            "of arrival is the tool's own."
        ),
        _(
            "That an entry was true. The seal shows that entries are those that were there when "
            "the checkpoint was signed, in that order, and that none was changed or dropped since."
        ),
        _(
            "Whose key signed it. Compare the key above with one that you were given another way, "
            "and the checkpoint with one that you kept from before."
        ),
        _("What any cart is like today, or was like between two looks."),
        _(
            "Free text, such as notes and reasons, is printed as people wrote it. It can hold "
            "names though people stand by reference elsewhere."
        ),
    )

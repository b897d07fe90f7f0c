"""The chapter of each cart: its lifts, every round, what it left standing."""

from django.utils.translation import gettext as _

from fleet.bundle.paper import chapters_layouts as layouts
from fleet.bundle.paper.blocks import Heading, Pairs, Words
from fleet.bundle.paper.reading import ByCart, in_batches, rows_of, worded
from fleet.bundle.scope import BATCH_CARTS

ROUNDS = "rounds.csv"
FILES = (ROUNDS, layouts.FINDINGS.file, *(layout.file for layout in layouts.IN_CHAPTERS))
# a cart with nothing in these stands in the register alone
MAKES_A_CHAPTER = ("lift_chapters.csv", ROUNDS, "tags.csv", "reports.csv")


def chapters(tables, zone):
    """Yield the blocks of each cart's chapter, in the order of the register."""
    files = {name: ByCart(tables / name) for name in FILES}
    for carts in in_batches(rows_of(tables / "register.csv"), BATCH_CARTS):
        ids = [cart["cart_id"] for cart in carts]
        found = {name: file.of(ids) for name, file in files.items()}
        for cart in carts:
            told = {name: rows[cart["cart_id"]] for name, rows in found.items()}
            if any(told[name] for name in MAKES_A_CHAPTER):
                yield from _chapter(cart, told, zone)


def _chapter(cart, told, zone):
    yield Heading(_("Cart %s") % cart["cart"], about=cart["cart_id"])
    yield Pairs(tuple(_of_the_cart(cart, zone)))
    told[layouts.READINGS.file] = list(_telling(told[layouts.READINGS.file]))
    for layout in layouts.IN_CHAPTERS:
        yield from _table(layout, told, zone)
    yield from _rounds(told, zone)


def _of_the_cart(cart, zone):
    """Yield what the register says of the cart, with its own words for nothing."""
    names = (
        ("cart_id", _("Id")),
        ("serial", _("Serial number")),
        ("colour", _("Colour")),
        ("seats", _("Seats")),
        ("power", _("Power")),
        ("use_class", _("Used for")),
        ("tyre", _("Tyres")),
        ("condition", _("Condition")),
        ("desk", _("The desk's page said")),
        ("desk_why", _("Why")),
        ("state", _("Gravest recheck")),
        ("is_tagged", _("Tagged")),
        ("is_unproven", _("Unproven lift")),
        ("joined_on", _("Joined")),
        ("left_on", _("Left")),
        ("insurer_told_on", _("Insurer told on")),
        ("unrecorded_before", _("Not recorded before")),
    )
    for name, title in names:
        said = cart[name] if name == "cart_id" else worded(cart[name], zone)
        if said or name == "insurer_told_on":
            yield title, said or _("not recorded")


def _table(layout, told, zone):
    if rows := told[layout.file]:
        yield Heading(str(layout.title), 2)
        yield Words(str(layout.about), keeps=True)
        yield layout.grid(rows, zone)


def _telling(readings):
    """Yield the first and the last reading, and each that is doubted or estimated."""
    for place, row in enumerate(readings):
        at_an_end = place in (0, len(readings) - 1)
        if at_an_end or row["doubted"] or row["source"] == "estimated":
            yield row


def _rounds(told, zone):
    found = {}
    for row in told["findings.csv"]:
        found.setdefault(row["round"], []).append(row)
    if told[ROUNDS]:
        yield Heading(_("Rounds"), 2)
    for row in told[ROUNDS]:
        yield Heading(_round_title(row, zone), 3)
        yield Words(" · ".join(_of_the_round(row, zone)), keeps=True)
        if row["round"] in found:
            yield layouts.FINDINGS.grid(found[row["round"]], zone)


def _round_title(row, zone):
    return f"{worded(row['done_at'], zone)} · {row['by']} · {worded(row['round'], zone)}"


def _of_the_round(row, zone):
    names = (
        ("done_by", _("done by")),
        ("opened_at", _("opened")),
        ("received_at", _("arrived here")),
        ("identified", _("cart named by")),
        ("rechecks_closed", _("rechecks closed")),
        ("left_open", _("left open, and why")),
        ("tag", _("put on the tag")),
        ("written_late", _("written late")),
        ("brought_in", _("brought in")),
        ("why_corrected", _("corrects another, why")),
        ("note", _("note")),
    )
    for name, title in names:
        said = worded(row[name], zone)
        if said and said != "no":
            yield f"{title}: {said}"

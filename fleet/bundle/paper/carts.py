"""The prints of carts: their chapters, and the register that says where each chapter is."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.bundle.paper.blocks import Heading, Section, Wide, Words
from fleet.bundle.paper.chapters import chapters
from fleet.bundle.paper.layouts import Layout
from fleet.bundle.paper.parts import parts
from fleet.bundle.paper.reading import rows_of

LIFTED = Layout(
    "register.csv",
    gettext_lazy("Register of lifted carts"),
    gettext_lazy("Carts with a lift on them. The last column names the print with the chapter."),
    (
        ("cart", gettext_lazy("Cart"), 12),
        ("cart_id", gettext_lazy("Id"), 17),
        ("serial", gettext_lazy("Serial number"), 23),
        ("colour", gettext_lazy("Colour"), 16),
        ("seats", gettext_lazy("Seats"), 11.5),
        ("use_class", gettext_lazy("Used for"), 16),
        ("tyre", gettext_lazy("Tyres"), 20),
        ("condition", gettext_lazy("Cart is"), 18),
        ("desk", gettext_lazy("Desk"), 11),
        ("state", gettext_lazy("Gravest recheck"), 16),
        ("is_tagged", gettext_lazy("Tagged"), 14),
        ("is_unproven", gettext_lazy("No proof"), 13),
        ("insurer_told_on", gettext_lazy("Insurer told"), 19),
        ("unrecorded_before", gettext_lazy("Not recorded before"), 19),
        ("read_at", gettext_lazy("Last reading"), 20),
        ("hours_life", gettext_lazy("Hours run"), 14),
    ),
)
PLAIN = Layout(
    "register.csv",
    gettext_lazy("Plain carts"),
    gettext_lazy("The other carts of the register, in short."),
    (
        ("cart", gettext_lazy("Cart"), 12),
        ("cart_id", gettext_lazy("Id"), 17),
        ("serial", gettext_lazy("Serial number"), 30),
        ("colour", gettext_lazy("Colour"), 20),
        ("seats", gettext_lazy("Seats"), 12),
        ("use_class", gettext_lazy("Used for"), 20),
        ("condition", gettext_lazy("Cart is"), 30),
        ("joined_on", gettext_lazy("Joined"), 20),
        ("left_on", gettext_lazy("Left"), 20),
        ("gone_on", gettext_lazy("Gone to another site"), 20),
    ),
)
CHAPTER_IN = Wide(gettext_lazy("Chapter in"), 22)


def write_carts(frame, most_lines):
    """Yield (name, ids of the carts whose chapters begin in it) of each print, once set."""
    told = parts(chapters(frame.tables, frame.zone), most_lines, _again)
    for place, part in enumerate(filter(None, told), start=1):
        name = f"carts-{place:03}.pdf"
        frame.press(name, _("carts, part %s") % place, [Section(frame.upright, part)])
        yield name, [block.about for block in part if isinstance(block, Heading) and block.about]


def write_register(frame, most_lines, chapter_in):
    """Yield the name of each print of the register, once set; ``chapter_in`` {cart id: name}."""
    told = parts(_register(frame, chapter_in), most_lines, _again)
    for place, part in enumerate(told, start=1):
        name = "register.pdf" if place == 1 else f"register-{place}.pdf"
        yield frame.press(name, _("register of carts"), [Section(frame.turned, part)])


def _register(frame, chapter_in):
    lifted, plain = [], []
    for row in rows_of(frame.tables / LIFTED.file):
        (lifted if row["is_lifted"] == "yes" else plain).append(row)
    for layout, rows in ((LIFTED, lifted), (PLAIN, plain)):
        yield Heading(f"{layout.title}: {len(rows)}")
        yield Words(str(layout.about) if rows else _("None recorded."), keeps=bool(rows))
        if rows:
            yield _with_chapters(layout.grid(rows, frame.zone), rows, chapter_in)


def _with_chapters(grid, rows, chapter_in):
    told = [chapter_in.get(row["cart_id"], "") for row in rows]
    cells = [[*cells, name] for cells, name in zip(grid.rows, told, strict=True)]
    return type(grid)((*grid.columns, CHAPTER_IN), cells)


def _again(heading):
    return Heading(_("%s, continued") % heading.text, heading.level)

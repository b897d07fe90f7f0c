"""The report's last pages: how to check the bundle, and cautions."""

from django.utils.translation import gettext as _

from fleet.bundle.paper.blocks import Heading, Points, Words
from fleet.bundle.paper.places import place_of
from fleet.bundle.tables import all_tables


def how_to_check():
    yield Heading(_("How to check this bundle"))
    yield Words(
        _(
            "The print is for reading. What can be checked are the tables, the entries and the "
            "photos beside it in the same ZIP file, and that needs nobody's help or leave. "
            "There are two ways; each says what it checked and names what failed."
        )
    )
    yield Points(
        (
            _(
                "In a browser: unpack check/check.html, cut the machine from the network if you "
                "like, open the file and give it the whole ZIP file. Nothing leaves the machine."
            ),
            _(
                "At a command line, with Python 3.9 or later and nothing else: "
                "python3 check.py BUNDLE.zip. It ends with “nothing failed”, or with a count."
            ),
        )
    )
    yield Words(
        _(
            "Both take a checkpoint that you kept from an earlier year, eight lines of text "
            "(--checkpoint FILE), and prove that today's history holds that one unchanged and "
            "only grew from it. Keep checkpoint.txt of this bundle for the next time: it is all "
            "you need. The key can be given too (--key); without one of yours they say that they "
            "trust the bundle's own."
        )
    )
    yield Words(
        _(
            "To choose carts to look at, think of a number and run check.py BUNDLE.zip --sample "
            "NUMBER. The same number gives the same carts to everybody, so the choice is yours "
            "and not the site's. How many: the square root of the count of lifted carts, plus one, "
            "rounded up."
        )
    )
    yield Words(
        _(
            "This print says what the tables say, in the same words. Moments are to the minute by "
            "the site's clock; ids show their last eight digits, fingerprints their first sixteen; "
            "a cell of more than a thousand characters ends in […]; a character that the print "
            "has no letter for stands as its number, such as [U+6F22]. The tables hold all of it."
        )
    )


def not_printed():
    """Yield the tables that stand in no print."""
    names = [table.name for table in all_tables() if place_of(table.name) == ""]
    if names:
        yield Words(_("In the tables alone, and not printed: %s.") % ", ".join(names))


def cautions():
    yield Heading(_("Cautions"))
    yield Points(
        (
            _(
                "The tool keeps records. It does not make a cart fit to drive, and nothing here "
                "says that one is."
            ),
            _(
                "The instructions of the lift's maker and of the cart's maker come first, then "
                "law and permits of the place and the insurer's terms. A figure marked as common "
                "practice is no advice for any one cart."
            ),
            _(
                "Welding, frames, electrical work and what the law asks of road use belong to "
                "people who are trained or licensed for them."
            ),
            _(
                "A lifted cart tips sooner and stops later than a plain one. Its warning label "
                "says so and has to be seen from the driver's seat."
            ),
        )
    )

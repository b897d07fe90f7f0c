"""A cart that is asked for camber and toe alone, and a thumb that fills the sheet by its keys."""

import re
from datetime import timedelta

from alignment.conditions import TICKS
from fleet.actions.tags import order_recheck
from fleet.models import Recheck
from lifts.actions import fit
from shared.models import Role
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.spec_factories import ROD, SLEEVE, a_spec, mm

NOW = MORNING + timedelta(days=1)
# a longer rod then toes in, and a sleeve turned out takes some toe-in away
BEHIND = {"arm": "behind", "rod_height_mm": mm("1/4"), "rod_height_typed": "1/4 in"}

# as a key does it, and a keyboard too
WRITTEN = """(first, readings) => {
    const all = [...first.form.querySelectorAll("input[data-keypad]")];
    const fields = all.filter((one) => one.checkVisibility());
    readings.forEach((reading, place) => {
        const field = fields[fields.indexOf(first) + place];
        field.value = reading;
        for (const what of ["input", "change"])
            field.dispatchEvent(new Event(what, { bubbles: true }));
    });
}"""


class SheetYard:
    """A lifted cart whose figures are known, with one recheck open: camber and toe."""

    def __init__(self):
        self.site, self.manager = a_site()
        self.mechanic = with_role(self.site, self.manager, Role.MECHANIC)
        self.cart = a_cart(self.site, self.manager, "7")
        who = {"by": self.manager, "at": MORNING}
        # a lift that was brought in starts no clocks of its own
        fit(self.cart, a_kit(self.site, self.manager), brought_in=True, **who)
        a_spec(self.site, kit_code="", **who, **ROD | SLEEVE | BEHIND)
        day = self.site.day(NOW)
        order_recheck(self.cart, "camber-toe", day, reason="It pulls", **who)

    def is_open(self):
        return Recheck.objects.active().filter(kind_code="camber-toe", rule_code="ordered").exists()


class Thumb:
    """Presses the sheet's fields, keys and buttons on a touch screen."""

    def __init__(self, page):
        self.page = page
        self.part = page.locator("#part-camber-toe")

    def field(self, name):
        return self.part.locator(f"[name='camber-toe-{name}']")

    def choose(self, name, value=None):
        chosen = f"[name='camber-toe-{name}']" + (f"[value='{value}']" if value else "")
        self.page.locator(f"label:has({chosen}), {chosen} + label").first.tap()

    def key(self, name):
        self.page.locator(".keypad").get_by_role("button", name=name, exact=True).tap()

    def keys(self, first, *readings):
        """Fill the fields from ``first`` on, one after another, by keys alone."""
        self.field(first).tap()
        for place, reading in enumerate(readings):
            if place:
                self.key("Next")
            for key in pressed(reading):
                self.key(key)
        self.key("Close")

    def write(self, first, *readings):
        """Fill them at once, where what is told of is not the keys: each press takes a while."""
        self.field(first).evaluate(WRITTEN, readings)

    def ask(self, what):
        self.part.locator(f"button[value='camber-toe:{what}']").tap()
        self.page.locator(
            "#part-camber-toe:not([aria-busy]) [data-answer], .errorlist"
        ).first.wait_for()
        self.page.wait_for_function("!document.querySelector('[aria-busy]')")

    def says(self):
        return self.part.locator(".says .next").inner_text()

    def prepare(self, *, fill=None):
        """Say what is asked before measuring, all as it should be, and the mark of the tape."""
        fill = fill or self.write
        for tick in TICKS:
            self.choose("ready", tick)
        fill("pressure_set", "20", "20", "20")
        self.choose("floor", "level")
        self.field("mark").select_option("1/32 in")
        fill("between", "12", "22")

    def save(self):
        self.page.get_by_role("button", name="Save the round").tap()


def pressed(reading):
    """Return the keys of a reading: "35 29/32" as 3, 5, 7/8 and +1/32."""
    whole, fraction = re.fullmatch(r"(\d*) ?(?:(\d+/\d+))?", reading).groups()
    return [*whole, *([fraction] if fraction else [])]

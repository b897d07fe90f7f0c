"""The carts of a site as a sheet finds them: which row is which cart, and who has a number."""

from collections import defaultdict
from dataclasses import dataclass, field

from fleet.importing.cart_rows import CartRow
from fleet.models import Cart, CartNumber
from fleet.sheet_words import gettext_noop as _
from shared.dates import shown_day

TWICE = _("a value that stands once in the sheet; line %(line)d has it too")
SAME_CART = _("another cart; line %(line)d is the same one by its serial")
OTHER_SERIAL = _("a number that no other cart carries: the cart %(number)s has serial %(serial)s")
TAKEN = _("a number that no other cart carries")
CARRIED = _("a day after %(day)s, until when another cart carried that number")


@dataclass
class CartRegister:
    """Carts by serial and by painted number in force; ``spans`` are all uses of a number."""

    site: object
    by_serial: dict = field(default_factory=dict)
    by_number: dict = field(default_factory=dict)
    spans: dict = field(default_factory=lambda: defaultdict(list))

    def __post_init__(self):
        for cart in Cart.objects.filter(site=self.site):
            has_left = cart.condition == Cart.Condition.LEFT
            # one that left may have come back, as another cart
            if cart.serial and not (has_left and cart.serial.casefold() in self.by_serial):
                self.by_serial[cart.serial.casefold()] = cart
            if not has_left:
                self.by_number[cart.number.casefold()] = cart
        for span in CartNumber.objects.filter(site=self.site):
            self.spans[span.number.casefold()].append(span)

    def match(self, rows: list[CartRow]) -> list[tuple[CartRow, Cart | None]]:
        """Return each row with the cart that it is; faults go into the rows."""
        _refuse_twice(rows)
        pairs = [(row, self._cart_of(row)) for row in rows]
        self._refuse_same_cart(pairs)
        self._refuse_taken(pairs)
        return pairs

    def _cart_of(self, row):
        found = self.by_serial.get(row.serial.casefold()) if row.serial else None
        if found is not None:
            return found
        carrier = self.by_number.get(row.number.casefold())
        if carrier is not None and carrier.serial and row.serial:
            row.refuse("number", OTHER_SERIAL, number=row.number, serial=carrier.serial)
        return carrier

    def _refuse_same_cart(self, pairs):
        lines = {}
        for row, cart in pairs:
            if cart is not None and lines.setdefault(cart.pk, row.row.line) != row.row.line:
                row.refuse("number", SAME_CART, line=lines[cart.pk])

    def _refuse_taken(self, pairs):
        renumbered = {cart.pk for row, cart in pairs if cart and cart.number != row.number}
        for row, cart in pairs:
            carrier = self.by_number.get(row.number.casefold())
            if carrier is not None and carrier != cart and carrier.pk not in renumbered:
                row.refuse("number", TAKEN)
            if cart is None and row.joined_on:
                self._refuse_carried(row)

    def _refuse_carried(self, row):
        ends = [span.to_day for span in self.spans[row.number.casefold()] if span.to_day]
        if ends and max(ends) >= row.joined_on:
            day = shown_day(max(ends), self.site.date_order)
            row.refuse("joined_on", CARRIED, day=day)


def _refuse_twice(rows):
    for name in ("number", "serial"):
        lines = {}
        for row in rows:
            value = getattr(row, name).casefold()
            if value and lines.setdefault(value, row.row.line) != row.row.line:
                row.refuse(name, TWICE, line=lines[value])

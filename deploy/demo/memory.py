"""What is known of a cart from its last rounds, kept so that it need not be read each time."""

from dataclasses import dataclass, field

from lifts.last_told import last_told
from lifts.looks import Before, LooksBefore, looks_before
from lifts.models import GreasePart


@dataclass
class Memory:
    """Looks and grease by cart, as the forms of a round know them; what is not kept is read."""

    looks: dict = field(default_factory=dict)
    greased: dict = field(default_factory=dict)

    def looks_before(self, visit) -> LooksBefore:
        if visit.corrects:
            return looks_before(visit.cart, visit.opening, but_round=visit.corrects)
        if visit.cart.pk not in self.looks:
            self.looks[visit.cart.pk] = looks_before(visit.cart, visit.opening)
        return self.looks[visit.cart.pk]

    def last_grease(self, visit) -> GreasePart | None:
        if visit.corrects:
            return last_told(GreasePart, visit)
        if visit.cart.pk not in self.greased:
            self.greased[visit.cart.pk] = last_told(GreasePart, visit)
        return self.greased[visit.cart.pk]

    def keep(self, cart_id, answers):
        """Keep what the parts of a saved round recorded."""
        for answer in answers:
            for fact, lines in answer.recorded:
                if answer.code == "grease":
                    self.greased[cart_id] = fact
                if answer.code == "joints":
                    self._keep_looks(self.looks[cart_id].by_name, fact, lines)

    def _keep_looks(self, by_name, fact, looks):
        for look in looks:
            look.fact = fact
            by_name[look.name] = by_name.get(look.name, Before()).with_look(look)

    def forget(self, *cart_ids):
        """Read anew what later acts may have changed: a fitting, a round moved or told again."""
        for cart_id in cart_ids:
            self.looks.pop(cart_id, None)
            self.greased.pop(cart_id, None)

"""Parts of rounds that are alike are judged once: as each by itself, with all its lines."""

from datetime import timedelta

import pytest
from django.utils import translation

from fleet.kinds import register
from fleet.standing import facts_for_dates, facts_of
from lifts import findings
from lifts.actions import fit
from lifts.models import GreasePart, JointPart
from lifts.parts import base
from tests.factories import MORNING
from tests.found_out_factories import a_joint_round, a_look
from tests.lift_factories import a_cart, a_kit, a_site
from tests.round_factories import a_round

pytestmark = [pytest.mark.django_db, pytest.mark.both]
DAY = timedelta(days=1)
# of each, one column that bears on what it amounts to
UNLIKE = (
    {},
    {"found": "slack"},
    {"found": "took up", "right_after": True},
    {"found": "not reached"},
    {"pin": "missing"},
    {"backed_off": True},
    {"stud_damaged": True},
    {"wrench_state": "doubted", "target_nm": 40},
    {"lacks": "target"},
    {"removals": 3, "removals_allowed": 2},
    {"is_always_new": True, "nut_off": True},
)


@pytest.fixture
def cart():
    site, manager = a_site()
    kit = a_kit(site, manager)
    cart = a_cart(site, manager)
    fit(cart, kit, by=manager, at=MORNING)
    for place, said in enumerate(UNLIKE + UNLIKE[:2], start=1):
        look = a_look(kit.joints.first(), None, **said)
        a_joint_round(cart, manager, MORNING + place * DAY, look)
    cart.refresh_from_db()
    a_round(cart, parts=("grease",), by=manager, at=MORNING + 20 * DAY)
    return cart


@pytest.mark.parametrize(("code", "model"), [("joints", JointPart), ("grease", GreasePart)])
def test_what_is_judged_together_is_judged_as_alone(cart, code, model):
    part, facts = register.parts[code], list(model.objects.all())

    together = part.outcomes(facts)

    lines = part.lines_of([fact.pk for fact in facts])
    assert together == {fact.pk: part.outcome(fact, lines[fact.pk]) for fact in facts}
    assert all(one.pieces or one.holds or one.tag or one.missed for one in together.values())


def test_each_of_the_columns_makes_another_outcome(cart):
    outcomes = register.parts["joints"].outcomes(list(JointPart.objects.all()))

    assert len(set(map(repr, outcomes.values()))) > len(UNLIKE) - 2


@pytest.fixture
def spoken(monkeypatch):
    """Let each reason begin with the language that it is told in."""
    base._judged.cache_clear()
    monkeypatch.setattr(findings, "_", lambda text: f"{translation.get_language()} {text}")
    yield
    base._judged.cache_clear()


@pytest.mark.usefixtures("spoken")
def test_reasons_are_in_the_language_asked_in(cart):
    part, facts = register.parts["joints"], list(JointPart.objects.all())
    told = set()

    for language in ("en", "es"):
        with translation.override(language):
            holds = [hold for one in part.outcomes(facts).values() for hold in one.holds]
        told.add((language, frozenset(hold.reason[:3] for hold in holds)))

    assert told == {("en", frozenset({"en "})), ("es", frozenset({"es "}))}


def test_facts_for_dates_amount_to_the_same(cart):
    whole, few = (read([cart.pk])[cart.pk] for read in (facts_of, facts_for_dates))

    assert {key: [outcome for _fact, outcome in told] for key, told in few.parts.items()} == {
        key: [outcome for _fact, outcome in told] for key, told in whole.parts.items()
    }
    assert few.told_at == whole.told_at

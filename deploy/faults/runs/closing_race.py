"""Two people who close the same recheck at the same time."""

import time

from deploy.faults import yard
from deploy.faults.listed import fault
from deploy.faults.racing import Action, Http, send
from fleet.models import Recheck, Round
from shared import clock

PEOPLE = 2
WINDOWS = 5
TRIES = 2


@fault(
    "F14",
    "RACE",
    "two people close one recheck",
    short=5,
    long=1000,
    on=("postgresql", "sqlite"),
)
def race(world, count, tally):
    """Have each person send from five windows, twice: 20 posts a recheck.

    The short run posts to the web server. The long one calls the action that the page calls,
    in as many processes: by HTTP on two cores it would take most of an hour a database.
    """
    place = yard.make(clock.now(), carts=count, mechanics=PEOPLE)
    way = (
        Action(place.mechanics, WINDOWS, TRIES)
        if world.order.is_long
        else Http(world, place, place.mechanics, WINDOWS, TRIES)
    )
    began_s, answers = time.monotonic(), []
    with way.executor() as executor:
        for cart in place.carts:
            pages = [way.job(cart, one, f"{one.name} at {cart}") for one in place.mechanics]
            jobs = [page for page in pages for _ in range(WINDOWS)]
            answers.append(list(executor.map(send, jobs)))
    took_s = time.monotonic() - began_s
    take_down(tally, place, answers)
    tally.say(posts_a_s=round(count * PEOPLE * WINDOWS * TRIES / took_s))


def take_down(tally, place, answers):
    """Count what closed, what was kept of those who came second, and wrong answers."""
    said = [[one for tries in of_cart for one in tries] for of_cart in answers]
    posts = [one for of_cart in said for one in of_cart]
    ordered = place.ordered().filter(ended=Recheck.Ended.CLOSED)
    rounds = Round.objects.filter(cart__in=place.carts)
    closers = set(ordered.values_list("ended_by", flat=True))
    texts = {f"{one.name} at {cart}" for cart in place.carts for one in place.mechanics}
    asked = len(place.carts)
    troubles = sorted({one.trouble for one in posts} - {""})
    tally.exactly(
        rechecks=(place.ordered().count(), asked),
        posts=(len(posts), asked * PEOPLE * WINDOWS * TRIES),
        closed=(len(closers & set(rounds.values_list("pk", flat=True))), asked),
        conflicts_kept=(rounds.exclude(pk__in=closers).count(), asked),
        texts_lost=(len(texts - set(rounds.values_list("note", flat=True))), 0),
        answered_otherwise=(sum(len({x.round_id for x in one}) != PEOPLE for one in said), 0),
        errors=(sum(bool(one.trouble) for one in posts), 0),
    )
    tally.want(not troubles, f"answered: {troubles[:3]}")

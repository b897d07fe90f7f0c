"""The same rounds saved at once from many sides: over HTTP, or by the action itself."""

from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from multiprocessing import get_context
from uuid import UUID

from django.db import connection

from deploy.faults import yard
from deploy.faults.phone import Phone
from deploy.faults.visiting import Intent, open_round, round_of
from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import register
from fleet.models import Cart
from fleet.visits import called_at, new_visit
from shared import clock
from shared.models import Person, new_id
from shared.viewer import Viewer

GREASED = {"grease-all_greased": "on"}


@dataclass(frozen=True)
class Said:
    """What one try was answered: the round as saved, or the trouble."""

    round_id: UUID | None
    trouble: str = ""


@dataclass(frozen=True)
class ByHttp:
    """One person's page of a round, as several windows send it."""

    intent: Intent
    tries: int

    def send(self) -> list[Said]:
        return [self._once() for _ in range(self.tries)]

    def _once(self):
        one = self.intent
        answer = one.phone.post(one.path, one.fields)
        round_id = round_of(answer)
        return Said(round_id, "" if round_id else f"{answer.status} at {answer.url}")


class Http:
    """The web server, and each person signed in; a post's answer is not gone after."""

    def __init__(self, world, place, people, windows, tries):
        world.start("web server")
        self.site, self.tries = place.site, tries
        self.phones = {person.pk: Phone(world.place.address, follows=False) for person in people}
        for person in people:
            self.phones[person.pk].sign_in(person.email, yard.PASSWORD)
        self.windows = windows * len(people)

    def executor(self) -> Executor:
        return ThreadPoolExecutor(self.windows)

    def job(self, cart, person, text) -> ByHttp:
        intent = open_round(self.phones[person.pk], cart, self.site, note=text)
        return ByHttp(intent, self.tries)


@dataclass(frozen=True)
class ByAction:
    """One person's round, to be saved in a process of its own."""

    cart_id: UUID
    person_id: UUID
    round_id: UUID
    opened_at: datetime
    text: str
    tries: int

    def send(self) -> list[Said]:
        cart = Cart.objects.select_related("site").get(pk=self.cart_id)
        person = Person.objects.get(pk=self.person_id)
        viewer = Viewer(person, self.opened_at)
        visit = new_visit(cart, viewer, called_at(cart, self.opened_at))
        form = register.parts["grease"].form_class(visit, GREASED, prefix="grease")
        taken = TakenDown(
            id=self.round_id, opened_at=self.opened_at, note=self.text, parts=[_valid(form)]
        )
        return [self._once(cart, taken, person) for _ in range(self.tries)]

    def _once(self, cart, taken, person):
        try:
            return Said(save_round(cart, taken, by=person, at=clock.now()).round.pk)
        except Exception as error:  # counted: none is expected
            return Said(None, repr(error))


class Action:
    """Processes that save by the action that the round's page calls."""

    def __init__(self, people, windows, tries):
        self.windows, self.tries = windows * len(people), tries

    def executor(self) -> Executor:
        # a connection that a child inherits would be both's
        connection.close()
        return ProcessPoolExecutor(self.windows, get_context("fork"))

    def job(self, cart, person, text) -> ByAction:
        return ByAction(cart.pk, person.pk, new_id(), clock.now(), text, self.tries)


def _valid(form):
    if not form.is_valid():
        raise ValueError(form.errors)
    return register.parts["grease"], form


def send(job) -> list[Said]:
    return job.send()

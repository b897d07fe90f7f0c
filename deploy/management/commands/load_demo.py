import time

from django.conf import settings
from django.core.management.base import BaseCommand

from deploy.demo.loading import load
from deploy.demo.places import PASSWORDS, RESORT, VILLAGE
from fleet.models import Cart, Recheck, Round
from shared import clock
from shared.models import Entry, Person


class Command(BaseCommand):
    help = "Load the invented demo fleet, if nobody is in the database yet."

    def handle(self, *args, **options):
        if Person.objects.exists():
            self.stdout.write("There are people in the database already: nothing was loaded.")
            return
        began = time.monotonic()
        load(clock.now())
        self.stdout.write(
            f"Loaded {Cart.objects.in_fleet().count()} carts, {Cart.objects.lifted().count()} "
            f"of them lifted, {Entry.objects.count()} entries, {Round.objects.count()} rounds, "
            f"{Recheck.objects.active().count()} rechecks ahead, "
            f"in {time.monotonic() - began:.0f} s."
        )
        settings.VAR.joinpath("demo-people.txt").write_text(people_text(), encoding="utf-8")


def people_text():
    """Return the demo's sign-ins, one a line."""
    lines = [
        f"{role:9} {email:40} {PASSWORDS[role]}"
        for place in (RESORT, VILLAGE)
        for role, _, email in place.people
    ]
    return "\n".join(["Demo sign-ins:", *lines, ""])

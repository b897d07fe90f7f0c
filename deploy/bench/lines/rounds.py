"""What it costs to save a round of every joint of a kit."""

from itertools import cycle, islice

from django.db import connection, transaction

from deploy.bench import pattern
from deploy.bench.listed import lines
from deploy.bench.pairs import Pair
from fleet.actions import rounds
from lifts.models import Kit

SAVED_AT_ONCE = 20


@lines("round")
def round_saved(world):
    saving = Saving(world)
    statements = saving.statements()
    yield Pair(
        "round-saved",
        f"a settle check of {saving.joints} joints, against its {len(statements)} statements alone",
        3,
        lambda: _repeat(statements),
        saving.many,
    )


class Saving:
    """Saves a settle check of one cart, each time taken back at once."""

    def __init__(self, world, joints=None):
        site = world.sites()[0]
        kit = max(Kit.objects.filter(site=site), key=lambda kit: kit.joints.count())
        self.cart, self.by = world.carts(site)[pattern.ROUND_IN + 1], world.mechanic(site)
        self.at = world.at_moment
        self.visit = pattern.settle_check(self.cart, kit, self.at)
        said = self.visit.parts[0][1]
        # of more joints than the kit has, some are looked at again
        said.joints = list(islice(cycle(said.joints), joints or len(said.joints)))
        self.joints = len(said.joints)

    def many(self):
        for _ in range(SAVED_AT_ONCE):
            self.once()

    def once(self):
        with transaction.atomic():
            rounds.save_round(self.cart, self.visit, by=self.by, at=self.at)
            transaction.set_rollback(True)

    def statements(self):
        """Return (SQL, its parameters) of all that one save asks of the database."""
        asked = []

        def note(execute, sql, params, many, context):
            asked.append((sql, params))
            return execute(sql, params, many, context)

        with connection.execute_wrapper(note):
            self.once()
        return asked


def _repeat(statements):
    for _ in range(SAVED_AT_ONCE):
        with transaction.atomic(), connection.connection.cursor() as cursor:
            for sql, params in statements:
                cursor.execute(sql, params)
                if cursor.description:
                    cursor.fetchall()
            transaction.set_rollback(True)

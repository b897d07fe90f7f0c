"""What it costs to look at a journal again."""

import os
from hashlib import sha256

from deploy.bench.listed import lines
from deploy.bench.pairs import Pair
from shared import verifying
from shared.facts import salted_leaf
from shared.models import Entry
from shared.tree import root_of

LEAVES = 100_000
PAGE_ROWS = 500


@lines("journal")
def journal(world):
    site = world.sites()[0]
    leaves = [os.urandom(32) for _ in range(LEAVES)]
    bodies = [row.body for page in verifying.pages(site) for row in page]
    bodies = (bodies * (LEAVES // len(bodies) + 1))[:LEAVES]
    yield Pair(
        "journal-leaves",
        f"salt and leaf of {LEAVES:,} bodies, against a hash of each alone",
        3,
        lambda: [sha256(body).digest() for body in bodies],
        lambda: [salted_leaf(body) for body in bodies],
    )
    yield Pair(
        "journal-verified",
        "stored bytes against leaves and tree, against reading them",
        2.5,
        lambda: _read_entries(site),
        lambda: list(verifying.byte_faults(site)),
    )
    yield Pair(
        "journal-rows",
        "each typed row with its lines against its bytes, against reading both",
        4,
        lambda: _read_rows(site),
        lambda: list(verifying.row_faults(site)),
    )
    yield Pair(
        "journal-root",
        f"the root over {LEAVES:,} leaves, against as many hashes alone",
        2.5,
        lambda: [sha256(b"\x01" + leaf + leaf).digest() for leaf in leaves],
        lambda: root_of(leaves),
    )


def _read_entries(site):
    for _page in verifying.pages(site):
        pass


def _read_rows(site):
    """Read each typed row, its lines and its entry, as the second pass must."""
    for model in verifying.fact_models():
        entries = Entry.objects.filter(site=site, kind=model.kind()).order_by("seq")
        after = -1
        while page := list(entries.filter(seq__gt=after)[:PAGE_ROWS]):
            verifying.rows_of(model, page)
            after = page[-1].seq

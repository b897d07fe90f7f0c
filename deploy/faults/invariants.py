"""What must hold after every fault: one function, used everywhere."""

from collections import Counter
from itertools import islice

from django.db import connection
from django.db.models import Count, Q

from fleet import told_rows
from fleet.actions import project
from fleet.models import Cart, CheckpointMail, Digest, Notice
from shared import triggers, verifying
from shared.models import Entry, Site

SAID = 5
MAILS = (Notice, Digest, CheckpointMail)
ONCE = (
    (Notice, ("about", "stage", "person")),
    (Digest, ("person", "day")),
    (CheckpointMail, ("checkpoint", "person")),
    (Entry, ("fact_id",)),
    (Entry, ("site", "seq")),
)


def broken(world) -> list[str]:
    """Return a sentence for each thing that must hold and does not."""
    # the fault may have ended the server that this process knew
    connection.close()
    found = [*_rows_twice(), *_mails_that_ended_oddly(), *_mails_twice(world)]
    found += [f"the trigger {name} is gone" for name in triggers.missing(connection)]
    for site in Site.objects.all():
        found += [f"{site.slug}: {fault}" for fault in islice(_history(site), SAID)]
    carts = list(Cart.objects.values_list("pk", flat=True))
    return found + project.differences(carts)[:SAID]


def _rows_twice():
    for model, key in ONCE:
        rows = model.objects.order_by().values(*key).annotate(times=Count("pk"))
        if count := rows.filter(times__gt=1).count():
            yield f"{count} {model._meta.verbose_name_plural} are there twice"


def _mails_that_ended_oddly():
    """A mail is sent, waits still, or is given up with a reason."""
    for model in MAILS:
        both = Q(~Q(dropped=""), sent_at__isnull=False)
        if count := model.objects.filter(both | Q(is_dead=True, dropped="")).count():
            yield f"{count} {model._meta.verbose_name_plural} did not end in one way"


def _mails_twice(world):
    """What came twice came under one Message-ID, and its row says that it may have."""
    taken = Counter(mail["id"] for mail in world.sink.taken())
    more = sum(times - 1 for times in taken.values())
    doubtful = sum(sum(model.objects.values_list("doubtful", flat=True)) for model in MAILS)
    if more > doubtful:
        yield f"{more} mails came twice, and {doubtful} are counted as doubtful"


def _history(site):
    """Yield what is wrong with entries, checkpoints, recorded rows, photos and the register."""
    yield from verifying.byte_faults(site)
    yield from verifying.row_faults(site)
    yield from (what for _change, what in told_rows.differences(site))

"""The desk's list, of a site that is three times as large as any other."""

from contextlib import contextmanager

from django.db import connection, transaction
from django.urls import reverse

from deploy.bench.listed import lines
from deploy.bench.pages import against_raw
from fleet.models import Cart, Recheck

REQUESTS = 20


@lines("desk")
def desk(world):
    first, *others = world.sites()[-3:]
    about = "the desk's list of 3,000 carts, against a view with its SQL and no template"
    with joined(first, others):
        url = reverse("desk", args=[first.slug])
        yield against_raw("desk-list", about, 6, world.desk(first), url, REQUESTS)


@contextmanager
def joined(site, others):
    """Count the carts of other sites as this one's, until the end."""
    with transaction.atomic():
        for model in (Cart, Recheck):
            model.objects.filter(site__in=others).update(site=site)
        yield
        transaction.set_rollback(True)
    # rows that were nearly moved spoil the index-only scans of whoever comes next
    with connection.cursor() as cursor:
        cursor.execute("VACUUM fleet_cart, fleet_recheck")

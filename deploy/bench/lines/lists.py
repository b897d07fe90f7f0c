"""Lists that django-tables2 stands under: whole requests against their SQL alone."""

from django.urls import reverse

from deploy.bench.listed import lines
from deploy.bench.pages import against_raw

REQUESTS = {"cart-list": 60, "label-list": 30, "round-start": 20, "people": 60}


@lines("lists")
def lists(world):
    site = world.sites()[1]
    for name, times in REQUESTS.items():
        about = f"the whole request of {name}, against a view with its SQL and no template"
        url = reverse(name, args=[site.slug])
        yield against_raw(f"list-{name}", about, 12, world.manager(site), url, times)

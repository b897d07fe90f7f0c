"""A database as an older copy of it would be: what a journal got since is gone."""

from django.apps import apps
from django.db import connection

from shared import triggers
from shared.models import Checkpoint, Entry, Fact, JournalHead


def take_back(site, size):
    """Take a site's journal back to its first entries, with the facts behind the others."""
    triggers.lift(connection)
    gone = list(Entry.objects.filter(site=site, seq__gt=size).values_list("fact_id", flat=True))
    for model in apps.get_models():
        if issubclass(model, Fact):
            model._base_manager.filter(pk__in=gone).delete()
    Entry.objects.filter(site=site, seq__gt=size).delete()
    Checkpoint.objects.filter(site=site, size__gt=size).delete()
    JournalHead.objects.filter(pk=site.pk).update(size=size)
    triggers.lay(connection)

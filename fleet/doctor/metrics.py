"""The signs and counts for Prometheus: one collector, made anew at each scrape."""

from collections import defaultdict

from django.db import Error
from django.db.models import Case, Count, DateField, Value, When
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4

from fleet.actions.claims import WAITING
from fleet.doctor import ages, files, jobs
from fleet.doctor.looks import DATABASE
from fleet.due import AHEAD, DUE, LATE, OPEN, STOPPED
from fleet.models import Cart, CheckpointMail, Digest, Notice, Recheck
from shared.models import Checkpoint, LastDone, Site

CONTENT_TYPE = CONTENT_TYPE_PLAIN_0_0_4
SINCE = ("sweep", "sweep by beat", "sweep by loop", "backup", "restore proved", "mail reached")
# the first whose day has come, as fleet.due.state_on has it
BEGINS = ((STOPPED, "stops_on"), (LATE, "late_on"), (DUE, "due_on"), (OPEN, "opens_on"))


def exposition(found, at) -> bytes:
    """Return the text of a scrape; ``found`` are the signs, None when they were too slow."""
    registry = CollectorRegistry(auto_describe=False)
    registry.register(Collector(found, at))
    return generate_latest(registry)


class Collector:
    def __init__(self, found, at):
        self.found, self.at = found, at

    def collect(self):
        yield self._signs()
        yield _disk_free()
        if self._database_answers():
            try:
                yield from [gauge(self.at) for gauge in GAUGES]
            except Error:
                return  # it went away meanwhile: its sign says so at the next scrape

    def _signs(self):
        words = "1 where something calls for somebody, by the codes of manage.py doctor"
        family = GaugeMetricFamily("fleet_trouble", words, labels=["sign"])
        for sign in self.found or ():
            family.add_metric([sign.code], int(sign.is_trouble))
        return family

    def _database_answers(self):
        return any(sign.code == DATABASE.code and not sign.is_trouble for sign in self.found or ())


def _disk_free():
    family = GaugeMetricFamily("fleet_disk_free_bytes", "Room on the volume", labels=["holds"])
    for name, folder in files.volumes().items():
        family.add_metric([name], files.free(folder)[0])
    return family


def _carts(at):
    family = GaugeMetricFamily("fleet_carts", "Carts by their condition", labels=["condition"])
    counted = Cart.objects.order_by().values_list("condition").annotate(Count("pk"))
    return _filled(family, dict.fromkeys(Cart.Condition.values, 0) | dict(counted))


def _rechecks(at):
    family = GaugeMetricFamily("fleet_rechecks", "Active rechecks by state", labels=["state"])
    none = dict.fromkeys((AHEAD, OPEN, DUE, LATE, STOPPED), 0)
    return _filled(family, none | dict(rechecks_by_state(at)))


def rechecks_by_state(at):
    """Return (state, count) by the day of each row's site: a row a state, however many dates."""
    today = _today(at)
    begun = [When(**{f"{date}__lte": today}, then=Value(state)) for state, date in BEGINS]
    states = Recheck.objects.active().annotate(state=Case(*begun, default=Value(AHEAD)))
    return states.order_by().values_list("state").annotate(Count("pk"))


def _today(at):
    """Return the day at a row's site, for the database to compute."""
    sites_on = defaultdict(list)
    for site in Site.objects.all():
        sites_on[site.day(at)].append(site.pk)
    whens = [When(site__in=sites, then=Value(day)) for day, sites in sites_on.items()]
    return Case(*whens, output_field=DateField())


def _mails(at):
    words = "Mails owed that wait, were given up, or may have come twice"
    family = GaugeMetricFamily("fleet_mails", words, labels=["kind", "state"])
    for model, kind in ((Notice, "notice"), (Digest, "daily"), (CheckpointMail, "checkpoint")):
        rows = model.objects
        family.add_metric([kind, "waiting"], rows.filter(WAITING[model]).count())
        family.add_metric([kind, "dead"], rows.filter(is_dead=True).count())
        family.add_metric([kind, "doubtful"], rows.filter(doubtful__gt=0).count())
    return family


def _since(at):
    words = "Time since something that must go on was last done"
    family = GaugeMetricFamily("fleet_seconds_since", words, labels=["what"])
    done = dict(LastDone.objects.filter(what__in=SINCE).values_list("what", "at"))
    # a wrong clock may have dated a checkpoint after this moment
    made = Checkpoint.objects.filter(made_at__lte=at).order_by("-made_at")
    newest = made.values_list("made_at", flat=True).first()
    if newest:
        done["checkpoint"] = newest
    return _filled(family, {what: (at - then).total_seconds() for what, then in done.items()})


def _jobs(at):
    words = "Imports and bundles that wait to be taken up"
    return GaugeMetricFamily("fleet_jobs_waiting", words, value=jobs.waiting_count())


def _age(at):
    age = ages.service_age(at)
    words = "For how long records are kept here"
    return GaugeMetricFamily("fleet_age_seconds", words, value=age.total_seconds() if age else 0)


def _filled(family, values):
    for label, value in values.items():
        family.add_metric([str(label)], value)
    return family


GAUGES = (_carts, _rechecks, _mails, _since, _jobs, _age)

"""Rechecks whose days are told from one day on: the rows that tests of the board lay out."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from shared.viewer import Viewer
from tests.factories import CartFactory, RecheckFactory

TODAY = date(2026, 3, 30)
NOW = datetime(2026, 3, 30, 8, 30, tzinfo=ZoneInfo("America/New_York"))


def viewer_of(person):
    return Viewer(person, NOW)


def day(days):
    return None if days is None else TODAY + timedelta(days=days)


def recheck(site, opens=None, due=None, late=None, stops=None, cart=None, **values):
    cart = cart or CartFactory(site=site, is_lifted=True)
    dates = {"opens_on": day(opens), "due_on": day(due), "late_on": day(late)}
    return RecheckFactory(cart=cart, stops_on=day(stops), **dates, **values)

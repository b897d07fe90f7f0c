"""Meters fitted and read."""

from django.db import transaction

from fleet.actions import project
from fleet.meters import unit_at
from fleet.models import MeterFitted, Reading
from fleet.standing import facts_of
from shared.facts import lock_sites, record, record_all
from shared.models import Site, new_id


def fitted(cart, measure, start_shown, *, unit, by, done_at=None, **more):
    """Return the unsaved fact that a meter was fitted."""
    return MeterFitted(
        site_id=cart.site_id,
        cart_id=cart.pk,
        measure=measure,
        unit=unit,
        start_shown=start_shown,
        by=by,
        done_at=done_at,
        **more,
    )


@transaction.atomic
def fit_meter(cart, measure, start_shown, *, unit, by, at, done_at=None, **more):
    """Record a cart's first meter, or with ``old_final`` one in place of another."""
    lock_sites(cart.site_id)
    fact = fitted(cart, measure, start_shown, unit=unit, by=by, done_at=done_at, **more)
    record(fact, at=at)
    project.carts([cart.pk])
    return fact


def reading(cart, *, by, done_at=None, hours=None, distance=None, **more):
    """Return an unsaved reading, of hours, of distance, or both, as the meters showed them."""
    return Reading(
        site_id=cart.site_id,
        cart_id=cart.pk,
        hours_shown=hours,
        distance_shown=distance,
        by=by,
        done_at=done_at,
        **more,
    )


@transaction.atomic
def add_reading(cart, *, by, at, id=None, **values):
    """Record what a cart's meters show and bring its rechecks up to date."""
    lock_sites(cart.site_id)
    filed = record(reading(cart, by=by, id=id or new_id(), **values), at=at)
    project.carts([cart.pk])
    return filed.fact


@transaction.atomic
def add_readings(readings, *, at):
    """Record many unsaved readings, all or none; their carts are re-projected once."""
    filed = record_all([(one, ()) for one in readings], at=at)
    project.carts({one.fact.cart_id for one in filed if one.first})
    return filed


def name_units(cart_ids, *, by, at):
    """Record in which unit distance is read where the site's own stands for it: that may change.

    The meter is recorded as found at its first reading. Call it under the sites' locks.
    """
    sites = Site.objects.in_bulk()
    unnamed = (_unnamed(facts, sites, by) for facts in facts_of(cart_ids).values())
    record_all([(fact, ()) for fact in unnamed if fact], at=at)


def _unnamed(facts, sites, by):
    """Return the meter of a cart's first distance, unsaved; None if it is recorded or unread."""
    first = next((one for one in facts.readings if one.distance_shown is not None), None)
    meters = [one for one in facts.meters if one.measure == MeterFitted.Measure.DISTANCE]
    if first is None or any(one.done_at <= first.done_at for one in meters):
        return None
    return MeterFitted(
        site_id=first.site_id,
        cart_id=facts.cart_id,
        measure=MeterFitted.Measure.DISTANCE,
        unit=unit_at(facts, MeterFitted.Measure.DISTANCE, first, sites),
        start_shown=first.distance_shown,
        done_at=first.done_at,
        day_only=first.day_only,
        brought_in=True,
        by=by,
    )

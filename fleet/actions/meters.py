"""Meters fitted and read."""

from django.db import transaction

from fleet.actions import project
from fleet.models import MeterFitted, Reading
from shared.facts import lock_sites, record, record_all
from shared.models import new_id


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

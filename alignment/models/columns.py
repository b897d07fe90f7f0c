"""The columns of lengths and pressures, each beside what was typed."""

from django.db import models


def length_mm(**kwargs):
    # 1/64 in is 0.396875 mm: six places keep every fraction exact
    return models.DecimalField(max_digits=12, decimal_places=6, **kwargs)


def pressure_kpa():
    return models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)


def as_typed():
    return models.CharField(max_length=40, blank=True)


def typed_later():
    return models.CharField(max_length=40, null=True, blank=True)

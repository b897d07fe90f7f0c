"""The job that makes a bundle."""

from fleet import jobs
from fleet.actions import bundles
from fleet.models import Bundle

ALLOWANCE = jobs.Allowance(wall_s=60 * jobs.MINUTE_S)


def register_bundle():
    jobs.add_kind("bundle", Bundle, bundles.run, ALLOWANCE)

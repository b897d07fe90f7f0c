"""The job that makes an export."""

from fleet import jobs
from fleet.actions import exports
from fleet.models import Export

ALLOWANCE = jobs.Allowance(wall_s=60 * jobs.MINUTE_S)


def register_export():
    jobs.add_kind("export", Export, exports.run, ALLOWANCE)

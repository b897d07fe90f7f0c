"""The sheets that fleet itself brings in, and the job that does it."""

from fleet import jobs
from fleet.actions import imports
from fleet.importing.carts import CartImporter
from fleet.importing.readings import ReadingImporter
from fleet.kinds import register
from fleet.models import ImportRun

ALLOWANCE = jobs.Allowance(wall_s=60 * jobs.MINUTE_S, memory_bytes=2 * 2**30)


def register_importers():
    register.add_importers(CartImporter(), ReadingImporter())
    jobs.add_kind("import", ImportRun, imports.run, ALLOWANCE)

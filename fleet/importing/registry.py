"""The sheets that fleet itself brings in."""

from fleet.importing.carts import CartImporter
from fleet.importing.readings import ReadingImporter
from fleet.kinds import register


def register_importers():
    register.add_importers(CartImporter(), ReadingImporter())

"""Whether the rows of wrenches say what the changes of the register say."""

from fleet.told_rows import compared
from lifts.models import Wrench
from lifts.racks import WRENCH, wrench_row
from shared.models import Change


def differences(site):
    """Yield (the last change of a wrench, what its row says otherwise)."""
    wrenches = Wrench.objects.filter(site=site).in_bulk()
    told = {}
    for change in Change.objects.filter(site=site, what=WRENCH).order_by("received_at", "id"):
        row = wrench_row(change)
        row.from_at = told[row.pk][1].from_at if row.pk in told else row.from_at
        told[row.pk] = change, row
    for pk, (change, row) in told.items():
        values = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
        yield from compared(change.pk, wrenches.pop(pk, None), values)
    for pk in wrenches:
        yield None, f"no change tells of the wrench {pk}"

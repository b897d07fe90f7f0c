"""Whether the rows of kits say what the changes of the register say."""

from collections import defaultdict

from fleet.told_rows import compared
from lifts.actions import KIT, kit_rows
from lifts.models import GreasePoint, Joint, Kit
from shared.models import Change


def differences(site):
    """Yield (the change, what the rows of its kit say otherwise)."""
    kits = Kit.objects.filter(site=site).in_bulk()
    lines = {
        Joint: _lines(Joint.objects.on_sheet(), site),
        GreasePoint: _lines(GreasePoint.objects, site),
    }
    changes = list(Change.objects.filter(site=site, what=KIT).order_by("received_at", "id"))
    replaced_at = _replaced_at(changes)
    for change in changes:
        kit, joints, points = kit_rows(change)
        kit.replaced_at = replaced_at.get(change.pk)
        yield from compared(change.pk, kits.pop(change.pk, None), _values(kit))
        for model, wanted in ((Joint, joints), (GreasePoint, points)):
            yield from _of_lines(change.pk, lines[model].pop(change.pk, {}), wanted)
    for pk in kits:
        yield None, f"no change tells of the kit {pk}"


def _replaced_at(changes):
    """Return {kit: since when another edition of it was in force}."""
    found, newest = {}, {}
    for change in changes:
        code = change.value["code"]
        if code in newest:
            found[newest[code]] = change.done_at
        newest[code] = change.pk
    return found


def _lines(rows, site):
    found = defaultdict(dict)
    for line in rows.filter(kit__site=site):
        found[line.kit_id][line.pk] = line
    return found


def _of_lines(change_id, rows, wanted):
    for line in wanted:
        yield from compared(change_id, rows.pop(line.pk, None), _values(line))
    for line in rows.values():
        yield change_id, f"no change tells of {line._meta.verbose_name} {line}"


def _values(row):
    names = [field.attname for field in row._meta.concrete_fields]
    return {name: getattr(row, name) for name in names}

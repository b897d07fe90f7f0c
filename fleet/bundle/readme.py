"""What the bundle says of itself in words."""

from django.template.loader import render_to_string

from fleet.bundle.cells import moment
from fleet.bundle.manifest import FORM
from shared.sealing import statement_of


def readme_of(making, tables, written, *, fingerprint, key) -> str:
    scope = making.scope
    context = {
        "scope": scope,
        "site": scope.site,
        "happened_by": moment(scope.cut.happened_by, scope.zone),
        "known_by": moment(scope.cut.known_by, scope.zone),
        "day": scope.day.isoformat(),
        "from_day": scope.from_day and scope.from_day.isoformat(),
        "made_at": moment(making.made_at, scope.zone),
        "made_by": making.made_by,
        "form": FORM,
        "entries": written.size,
        "withheld": written.withheld,
        "tables": tables,
        "fingerprint": fingerprint,
        "key": key,
        "checkpoint": statement_of(making.checkpoint).text,
    }
    return render_to_string("fleet/bundle_readme.txt", context)

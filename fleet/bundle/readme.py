"""What the bundle says of itself in words."""

from django.template.loader import render_to_string

from fleet.bundle.archive import content_sha256
from fleet.bundle.cells import moment

# raise it with every change of the tables
LAYOUT = 1


def readme_of(scope, tables, *, made_at, made_by) -> str:
    context = {
        "site": scope.site,
        "happened_by": moment(scope.cut.happened_by, scope.zone),
        "known_by": moment(scope.cut.known_by, scope.zone),
        "day": scope.day.isoformat(),
        "made_at": moment(made_at, scope.zone),
        "made_by": made_by,
        "layout": LAYOUT,
        "entries": scope.entries,
        "tables": tables,
        "fingerprint": content_sha256(tables),
    }
    return render_to_string("fleet/bundle_readme.txt", context)

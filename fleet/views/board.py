from django.db.models import Count, Q
from django.shortcuts import render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from fleet.board import STOPPED_IN_USE, TITLES, Place, counts_of, first_rows, rows_of, work_of
from fleet.board_rows import PAGE_ROWS, Maker, page_of
from fleet.filters.board import BoardFilter
from fleet.kinds import register
from fleet.models import Cart, Report
from fleet.reported import standing_tags, unanswered
from fleet.tables.board import board_table
from fleet.unsent import board_line
from fleet.waiting import waiting_at
from fleet.workload import load_of, picture_of, spans_of
from shared.models import Role
from shared.tables import csv_response
from shared.viewer import allowed

# what one A4 or Letter sheet holds in type of 24 pt; a heading takes a line
SHEET_TAGS, SHEET_LINES = 8, 16


@allowed(Role.MANAGER)
@require_safe
def board(request):
    viewer, site = request.viewer, request.site
    today = site.day(viewer.at)
    carts = Cart.objects.visible_to(viewer).in_fleet().filter(site=site)
    choice = BoardFilter(request.GET, _areas(carts))
    rechecks = choice.applied(work_of(viewer, site, today))
    if request.GET.get("file") == "csv":
        table = board_table(rows_of(rechecks), today, site)
        return csv_response(table, table.csv_name)
    return render(request, "fleet/board.html", _context(request, today, carts, choice, rechecks))


def _areas(carts):
    return sorted(carts.exclude(area="").order_by().values_list("area", flat=True).distinct())


def _context(request, today, carts, choice, rechecks):
    viewer, site = request.viewer, request.site
    place = Place.read(request.GET.get("after", ""))
    page = page_of(list(rows_of(first_rows(rechecks, place, PAGE_ROWS + 1))), today)
    counts = counts_of(viewer, site, today)
    reports = list(unanswered(viewer, site, viewer.at))
    missing = {r.cart_id for r in reports if r.noticed == Report.Noticed.LABEL_MISSING}
    maker = Maker(site, today, missing)
    load = load_of(viewer, site, today)
    waiting_count, waiting = waiting_at(viewer, site)
    is_first = place is None
    return {
        "today": today,
        "fleet": _fleet(carts),
        "figures": [(TITLES[name], name, counts[name]) for name in TITLES],
        "stopped_in_use": counts[STOPPED_IN_USE],
        "form": choice,
        "is_filtered": bool(choice.chosen),
        "sections": maker.sections(page.works, {} if choice.chosen else counts),
        "next": str(page.next) if page.next else "",
        "is_first": is_first,
        "tags": list(standing_tags(viewer, site)),
        "reports": reports,
        "waiting_count": waiting_count,
        "waiting": waiting,
        "spans": spans_of(load, site),
        "picture": mark_safe(picture_of(load, site)),
        "lines": [*board_line(site), *_lines_of_apps(site, viewer)],
    }


def _lines_of_apps(site, viewer):
    return [line for lines in register.board_lines for line in lines(site, viewer)]


def _fleet(carts):
    return carts.aggregate(
        all=Count("pk"),
        lifted=Count("pk", Q(is_lifted=True)),
        unproven=Count("pk", Q(is_unproven=True)),
        laid_up=Count("pk", Q(condition=Cart.Condition.LAID_UP)),
    )


@allowed(Role.MANAGER)
@require_safe
def board_sheet(request):
    """The yard board: one sheet in big type, to hang by the key cabinet."""
    viewer, site = request.viewer, request.site
    today = site.day(viewer.at)
    tags = list(standing_tags(viewer, site))
    room = SHEET_LINES - len(tags[:SHEET_TAGS]) - bool(tags)
    works = _fitting(rows_of(first_rows(work_of(viewer, site, today), None, room)), room)
    counts = counts_of(viewer, site, today)
    context = {
        "today": today,
        "sections": Maker(site, today).sections(works, counts),
        "more": sum(counts.values()) - len(works),
        "tags": tags[:SHEET_TAGS],
        "more_tags": len(tags[SHEET_TAGS:]),
    }
    return render(request, "fleet/board_sheet.html", context)


def _fitting(rows, lines):
    """Return the works of the rows that fit with their headings."""
    kept, headings = [], set()
    for section, work in rows:
        headings.add(section)
        if len(kept) + len(headings) >= lines:
            break
        kept.append(work)
    return kept

"""Sheets brought in on a page: uploaded, looked at, and confirmed or left."""

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from fleet.actions.imports import begin_run, confirm, drop_run
from fleet.forms.imports import ConfirmForm, ImportForm
from fleet.importing.guide import guide_to, sample_text
from fleet.importing.reports import Report
from fleet.kinds import register
from fleet.models import ImportRun
from fleet.tables.imports import CellTable, ImportRunTable, ToldTable, state_of
from fleet.tasks import ring
from shared.models import Role
from shared.tables import BYTE_ORDER_MARK
from shared.viewer import allowed

LATELY_ROWS = 30
LOOK_AGAIN_S = 2
UNENDED = (ImportRun.State.WAITING, ImportRun.State.RUNNING)


@allowed(Role.MANAGER)
def import_list(request):
    today = request.site.day(request.viewer.at)
    form = ImportForm(request.site, request.POST or None, request.FILES or None, today=today)
    if request.GET.get("sheet") in ImportRun.Sheet.values:
        form.initial["sheet"] = request.GET["sheet"]
    if request.method == "POST" and form.is_valid():
        return redirect("import-run", request.site.slug, _begun(request, form).pk)
    runs = _runs(request).select_related("site", "asked_by")[:LATELY_ROWS]
    guides = [guide_to(register.importers[code], request.site) for code in ImportRun.Sheet.values]
    context = {"form": form, "table": ImportRunTable(runs), "guides": guides}
    return render(request, "fleet/import_list.html", context)


def _runs(request):
    return ImportRun.objects.visible_to(request.viewer).filter(site=request.site)


def _begun(request, form):
    file = form.cleaned_data["file"]
    with transaction.atomic():
        run = begin_run(
            request.site,
            form.cleaned_data["sheet"],
            file.name,
            file,
            by=request.viewer.person,
            at=request.viewer.at,
            start_day=form.day_asked(),
        )
    ring()
    return run


def _run(request, pk):
    return get_object_or_404(_runs(request).select_related("site", "asked_by"), pk=pk)


@allowed(Role.MANAGER)
def import_run(request, pk):
    run = _run(request, pk)
    is_unended = run.state in UNENDED
    report = Report(run.report, _)
    context = {
        "run": run,
        "title": register.importers[run.sheet].title,
        "state": state_of(run),
        "is_unended": is_unended,
        "report": report,
        "form": ConfirmForm(),
        "is_in": run.state == ImportRun.State.DONE and not run.is_trial,
        "next_sheet": _sheet_after(run.sheet),
        **_tables(report),
    }
    response = render(request, "fleet/import_run.html", context)
    if is_unended:
        response["Refresh"] = str(LOOK_AGAIN_S)
    return response


def _sheet_after(code):
    """Return what usually comes in next; None after the last."""
    codes = ImportRun.Sheet.values
    after = codes[codes.index(code) + 1 :]
    return register.importers[after[0]] if after else None


def _tables(report):
    return {
        "faults": CellTable(report.faults, caption=_("Wrong")),
        "questions": CellTable(report.questions, caption=_("In question")),
        "told": ToldTable(report.told),
        "more": {name: report.more(name) for name in ("faults", "questions", "told")},
    }


@allowed(Role.MANAGER)
@require_POST
def import_confirm(request, pk):
    run = _run(request, pk)
    form = ConfirmForm(request.POST)
    accept = form.is_valid() and form.cleaned_data["accept_questioned"]
    who = {"by": request.viewer.person, "at": request.viewer.at}
    if confirm(run, **who, accept_questioned=accept):
        ring()
    else:
        messages.warning(request, _("This sheet was confirmed already."))
    return redirect("import-run", request.site.slug, pk)


@allowed(Role.MANAGER)
@require_POST
def import_drop(request, pk):
    """Cancel what has not ended, forget what was only looked at."""
    if drop_run(_run(request, pk), at=request.viewer.at):
        messages.success(request, _("Left. Nothing was written."))
    else:
        messages.warning(request, _("This sheet was brought in already."))
    return redirect("import", request.site.slug)


@allowed(Role.MANAGER)
def import_sample(request, sheet):
    """Give a sheet with all headings and one row of examples."""
    if sheet not in register.importers:
        raise Http404
    text = sample_text(register.importers[sheet], request.site)
    return HttpResponse(
        BYTE_ORDER_MARK + text,
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": content_disposition_header(True, f"{sheet}.csv")},
    )

"""Sheets brought in: read, planned and said first, then filed whole or not at all."""

import hashlib
from datetime import date
from pathlib import Path, PurePath

from django.core.files.base import ContentFile, File
from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import Q
from django.utils.translation import gettext

from fleet.actions import project
from fleet.actions.jobs import WAITING_ANEW, cancel
from fleet.actions.sites import change_site
from fleet.importing.plans import CHECKED_PERCENT, Bringing, Plan, no_progress
from fleet.importing.reports import packed, report_of
from fleet.jobs import Failed
from fleet.kinds import Importer, register
from fleet.models import ImportRun
from fleet.sheets import Content, Sheet, SheetError, read_sheet
from shared.facts import lock_sites, record_all
from shared.models import new_id
from shared.seldom import seldom_collecting

FOLDER = "imports"
LONGEST_NAME = ImportRun._meta.get_field("name").max_length
RECORDED_PERCENT = 90
KEPT_OF_PREVIEW = ("start_day",)
SUFFIXES = (".csv", ".txt", ".tsv", ".xlsx")


class NotBroughtIn(Exception):
    """Faults, or questions that nobody answered, stand in the way: nothing was written."""

    def __init__(self, plan, report):
        super().__init__(f"{plan.counts['faults']} faults, {plan.counts['questions']} questions")
        self.plan = plan
        self.report = report


def sheet_of(content: Content, name: str, importer: Importer, site) -> Sheet:
    """Return a file as the sheet that an importer wants. Raises SheetError."""
    wanted = importer.columns(site)
    return read_sheet(content, name, wanted, order=site.date_order, limits=importer.limits)


@seldom_collecting()
def preview(importer: Importer, content: Content, name: str, bringing: Bringing) -> dict:
    """Return the report of what a file would bring in. Raises SheetError."""
    sheet = sheet_of(content, name, importer, bringing.site)
    return report_of(importer.plan(sheet, bringing), sheet)


@transaction.atomic
@seldom_collecting()
def bring_in(
    importer: Importer, content: Content, name: str, bringing: Bringing, *, settle=None
) -> dict:
    """File all that a file brings in, and return the report of it.

    ``settle`` is called with the report as the last thing before all of it is kept.

    Planned anew under the lock of the site's journal head, so that what is filed is judged
    by what stands then. Raises SheetError, or NotBroughtIn with the report: nothing is
    written then.
    """
    lock_sites(bringing.site.pk)
    sheet = sheet_of(content, name, importer, bringing.site)
    plan = importer.plan(sheet, bringing)
    report = report_of(plan, sheet)
    if not plan.stands(bringing):
        raise NotBroughtIn(plan, report)
    _file(plan, bringing)
    if settle is not None:
        settle(report)
    return report


def _file(plan: Plan, bringing: Bringing) -> None:
    if plan.site_values:
        change_site(bringing.site, plan.site_values, by=bringing.by, at=bringing.at)
    rows = plan.counts["new"] + plan.counts["changed"]
    filed = 0
    for batch in plan.batches():
        record_all(batch, at=bringing.at)
        filed += len(batch)
        share = min(1, filed / max(rows, filed))
        bringing.progress(round(CHECKED_PERCENT + (RECORDED_PERCENT - CHECKED_PERCENT) * share))
    project.carts(sorted(plan.cart_ids))


def begin_run(site, sheet, name, content: bytes | File, *, by, at, start_day=None) -> ImportRun:
    """Keep an uploaded file for its preview."""
    file = content if isinstance(content, File) else ContentFile(content)
    # before it is kept: a large upload is moved then
    sha256 = _sha256(file)
    run_id = new_id()
    suffix = PurePath(name).suffix.lower()
    suffix = suffix if suffix in SUFFIXES else ""
    path = default_storage.save(f"{FOLDER}/{run_id}{suffix}", file)
    return ImportRun.objects.create(
        id=run_id,
        site=site,
        sheet=sheet,
        name=PurePath(name).name[-LONGEST_NAME:],
        file=path,
        sha256=sha256,
        asked_by=by,
        asked_at=at,
        report={"start_day": start_day and start_day.isoformat()},
    )


def _sha256(file):
    found = hashlib.sha256()
    for some in file.chunks():
        found.update(some)
    return found.hexdigest()


def run(asked: ImportRun, *, at, progress) -> dict | None:
    """Do what a claimed import run asks for: look at its file, or bring it in.

    A file that cannot be read fails, with the reason. Where something stands in the way of
    bringing it in, nothing is written and the run is a preview again. What is filed and that
    the run is done are kept together, or neither.
    """
    importer = register.importers[asked.sheet]
    content = Path(default_storage.path(asked.file))
    bringing = bringing_of(asked, at=at, progress=progress)
    try:
        if asked.is_trial:
            return {"report": asked.report | preview(importer, content, asked.name, bringing)}
        bring_in(
            importer,
            content,
            asked.name,
            bringing,
            settle=lambda report: progress.finish(report=asked.report | report),
        )
    except NotBroughtIn as stopped:
        return {"report": asked.report | stopped.report, "is_trial": True}
    except SheetError as error:
        report = asked.report | {"error": packed(error.words)}
        raise Failed(error.words.said(gettext), report=report) from error
    return None


def bringing_of(asked: ImportRun, *, at, progress=no_progress) -> Bringing:
    """Return who brings in what, where and how, as a run keeps it."""
    start_day = asked.report.get("start_day")
    return Bringing(
        asked.site,
        asked.asked_by,
        at,
        start_day=date.fromisoformat(start_day) if start_day else None,
        accept_questioned=asked.report.get("accept_questioned", False),
        progress=progress,
    )


def confirm(asked: ImportRun, *, by, at, accept_questioned=False) -> bool:
    """Ask that a previewed file be brought in; False when it was, or is being, already."""
    looked_at = ImportRun.objects.filter(pk=asked.pk, is_trial=True, state=ImportRun.State.DONE)
    report = {name: asked.report[name] for name in KEPT_OF_PREVIEW if name in asked.report}
    claimed = looked_at.update(
        **WAITING_ANEW,
        is_trial=False,
        asked_by=by,
        asked_at=at,
        report={**report, "accept_questioned": accept_questioned},
    )
    return claimed == 1


def drop_run(asked: ImportRun, *, at) -> bool:
    """Cancel a run that has not ended; forget one that brought nothing in, with its file.

    False when it was brought in: its file stays.
    """
    if cancel(asked, at=at):
        return True
    brought_nothing = Q(is_trial=True) | ~Q(state=ImportRun.State.DONE)
    if not ImportRun.objects.filter(brought_nothing, pk=asked.pk).delete()[0]:
        return False
    default_storage.delete(asked.file)
    return True

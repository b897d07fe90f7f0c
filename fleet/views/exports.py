"""The export of a site: asked for, watched while it is made, taken away."""

from django.contrib import messages
from django.http import FileResponse, Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import SingleTableView

from fleet.actions import jobs
from fleet.actions.exports import UNFINISHED, TooMany, ask, path_of
from fleet.exporting.tables import COLUMNS, all_tables
from fleet.forms.exports import ExportForm
from fleet.models import Export
from fleet.tables.exports import ExportTable, state_words
from fleet.tasks import ring
from shared.models import Role
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.SURVEYOR)
LOOK_AGAIN_S = 2


def _exports(request):
    found = Export.objects.visible_to(request.viewer).filter(site=request.site)
    return found.select_related("site", "asked_by").order_by("-asked_at", "-pk")


@method_decorator([allowed(*READERS), require_safe], "dispatch")
class ExportList(SingleTableView):
    table_class = ExportTable
    template_name = "fleet/export_list.html"
    paginate_by = 25

    def get_queryset(self):
        return _exports(self.request)

    def get_table_kwargs(self):
        return {"site": self.request.site}

    def get_context_data(self, **kwargs):
        form = ExportForm(site=self.request.site, at=self.request.viewer.at)
        tables = [*all_tables(), COLUMNS]
        return super().get_context_data(**kwargs) | {"form": form, "tables": tables}


@allowed(*READERS)
@require_POST
def export_create(request):
    """Ask for an export; a faulty form is shown again with what is wrong."""
    viewer = request.viewer
    form = ExportForm(request.POST, site=request.site, at=viewer.at)
    if not form.is_valid():
        return render(request, "fleet/export_create.html", {"form": form})
    try:
        export = ask(request.site, form.cut(), by=viewer.person, at=viewer.at)
    except TooMany:
        messages.warning(request, _("Enough exports are being made. Wait for one, or cancel one."))
        return redirect("export-list", request.site.slug)
    ring()
    return redirect("export-detail", request.site.slug, export.pk)


@allowed(*READERS)
@require_safe
def export_detail(request, pk):
    """Show how far an export is; while it is made, the page looks again by itself."""
    export = get_object_or_404(_exports(request), pk=pk)
    is_unfinished = export.state in UNFINISHED
    context = {
        "export": export,
        "state": state_words(export),
        "is_unfinished": is_unfinished,
        "size_bytes": _size(export),
    }
    response = render(request, "fleet/export_detail.html", context)
    if is_unfinished:
        response["Refresh"] = str(LOOK_AGAIN_S)
    return response


def _size(export):
    """Return how many bytes its file has, None while there is none."""
    if export.state != Export.State.DONE or not path_of(export).exists():
        return None
    return path_of(export).stat().st_size


@allowed(*READERS)
@require_safe
def export_file(request, pk):
    export = get_object_or_404(_exports(request), pk=pk, state=Export.State.DONE)
    try:
        file = path_of(export).open("rb")
    except FileNotFoundError as gone:
        raise Http404 from gone
    day = request.site.day(export.happened_by)
    name = f"{request.site.slug}-{day:%Y-%m-%d}.zip"
    response = FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response


@allowed(*READERS)
@require_POST
def export_cancel(request, pk):
    export = get_object_or_404(_exports(request), pk=pk)
    if jobs.cancel(export, at=request.viewer.at):
        messages.success(request, _("Cancelled."))
    else:
        messages.warning(request, _("It had ended already."))
    return redirect("export-list", request.site.slug)

"""The bundle of a site: asked for, watched while it is made, taken away."""

from django.contrib import messages
from django.http import FileResponse, Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import SingleTableView

from fleet.actions import jobs
from fleet.actions.bundles import UNFINISHED, TooMany, ask, path_of
from fleet.bundle.archive import CHECKER_NAMES, CHECKERS
from fleet.bundle.tables import COLUMNS, all_tables
from fleet.forms.bundles import BundleForm
from fleet.models import Bundle
from fleet.tables.bundles import BundleTable, file_name, scope_words, state_words
from fleet.tasks import ring
from shared.models import Role
from shared.sealing import statement_of
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.SURVEYOR)
LOOK_AGAIN_S = 2


def _bundles(request):
    found = Bundle.objects.visible_to(request.viewer).filter(site=request.site)
    found = found.select_related("site", "asked_by", "checkpoint")
    return found.order_by("-asked_at", "-pk")


@method_decorator([allowed(*READERS), require_safe], "dispatch")
class BundleList(SingleTableView):
    table_class = BundleTable
    template_name = "fleet/bundle_list.html"
    paginate_by = 25

    def get_queryset(self):
        return _bundles(self.request)

    def get_table_kwargs(self):
        return {"site": self.request.site}

    def get_context_data(self, **kwargs):
        form = BundleForm(site=self.request.site, at=self.request.viewer.at)
        tables = [*all_tables(), COLUMNS]
        return super().get_context_data(**kwargs) | {"form": form, "tables": tables}


@allowed(*READERS)
@require_POST
def bundle_create(request):
    """Ask for a bundle; a faulty form is shown again with what is wrong."""
    viewer = request.viewer
    form = BundleForm(request.POST, site=request.site, at=viewer.at)
    if not form.is_valid():
        return render(request, "fleet/bundle_create.html", {"form": form})
    try:
        bundle = ask(request.site, form.cut(), by=viewer.person, at=viewer.at, **form.scope())
    except TooMany:
        messages.warning(request, _("Enough bundles are being made. Wait for one, or cancel one."))
        return redirect("bundle-list", request.site.slug)
    ring()
    return redirect("bundle-detail", request.site.slug, bundle.pk)


@allowed(*READERS)
@require_safe
def bundle_detail(request, pk):
    """Show how far a bundle is; while it is made, the page looks again by itself."""
    bundle = get_object_or_404(_bundles(request), pk=pk)
    is_unfinished = bundle.state in UNFINISHED
    context = {
        "bundle": bundle,
        "state": state_words(bundle),
        "scope": scope_words(bundle, request.site),
        "is_unfinished": is_unfinished,
        "size_bytes": _size(bundle),
        "checkpoint": bundle.checkpoint and statement_of(bundle.checkpoint),
    }
    response = render(request, "fleet/bundle_detail.html", context)
    if is_unfinished:
        response["Refresh"] = str(LOOK_AGAIN_S)
    return response


def _size(bundle):
    """Return how many bytes its file has, None while there is none."""
    if bundle.state != Bundle.State.DONE or not path_of(bundle).exists():
        return None
    return path_of(bundle).stat().st_size


@allowed(*READERS)
@require_safe
def bundle_file(request, pk):
    bundle = get_object_or_404(_bundles(request), pk=pk, state=Bundle.State.DONE)
    try:
        file = path_of(bundle).open("rb")
    except FileNotFoundError as gone:
        raise Http404 from gone
    name = file_name(bundle, request.site)
    response = FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response


@allowed(*READERS)
@require_safe
def bundle_check(request, suffix):
    """Hand out a checker to keep, for the browser or for Python."""
    name = f"check.{suffix}"
    if name not in CHECKER_NAMES:
        raise Http404
    response = FileResponse(
        (CHECKERS / name).open("rb"), as_attachment=True, content_type="application/octet-stream"
    )
    response["X-Content-Type-Options"] = "nosniff"
    return response


@allowed(*READERS)
@require_POST
def bundle_cancel(request, pk):
    bundle = get_object_or_404(_bundles(request), pk=pk)
    if jobs.cancel(bundle, at=request.viewer.at):
        messages.success(request, _("Cancelled."))
    else:
        messages.warning(request, _("It had ended already."))
    return redirect("bundle-list", request.site.slug)

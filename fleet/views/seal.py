"""The seal of a site's journal: the key, the checkpoints, the restores."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.decorators import method_decorator
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe
from django_tables2 import SingleTableView

from fleet.forms.seal import RestoreForm
from fleet.seal_page import checkpoints_of, keys_of, longest_of, restores_of, trouble_of
from fleet.surveying import key_shown
from fleet.tables.seal import CheckpointTable, file_name
from shared.models import Role
from shared.sealing import SEAL_FAULTS, NothingMissing, record_restore, statement_of
from shared.tables import CsvList
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.SURVEYOR)


@method_decorator([allowed(*READERS), require_safe], "dispatch")
class Seal(CsvList, SingleTableView):
    """What was signed of the site's journal, and by which key."""

    table_class = CheckpointTable
    template_name = "fleet/seal.html"
    paginate_by = 25

    def get_queryset(self):
        return checkpoints_of(self.request.site, self.request.viewer)

    def get_table_kwargs(self):
        return {"site": self.request.site}

    def get_context_data(self, **kwargs):
        viewer, site = self.request.viewer, self.request.site
        longest = longest_of(site, viewer)
        is_manager = self.request.role == Role.MANAGER
        more = {
            "key": key_shown(),
            "keys": keys_of(site, viewer),
            "longest": longest and statement_of(longest),
            "restores": restores_of(site),
            "trouble": trouble_of(site, viewer.at) if is_manager else None,
        }
        return super().get_context_data(**kwargs) | more


@allowed(*READERS)
@require_safe
def checkpoint_file(request, pk):
    """Hand out the eight lines of a checkpoint, to keep."""
    row = get_object_or_404(checkpoints_of(request.site, request.viewer), pk=pk)
    named = content_disposition_header(True, file_name(row, request.site))
    response = HttpResponse(statement_of(row).text, content_type="text/plain; charset=us-ascii")
    response["Content-Disposition"] = named
    response["X-Content-Type-Options"] = "nosniff"
    return response


@allowed(Role.MANAGER)
def restore_create(request):
    """Record that an older database was put back; what is missing is named first."""
    viewer, site = request.viewer, request.site
    form = RestoreForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        _record(request, form.cleaned_data["reason"])
        return redirect("seal", site.slug)
    trouble = trouble_of(site, viewer.at)
    if trouble is None or trouble.missing is None:
        messages.warning(request, _("Nothing is missing: there is no restore to record."))
        return redirect("seal", site.slug)
    return render(request, "fleet/restore_create.html", {"form": form, "missing": trouble.missing})


def _record(request, reason):
    try:
        record_restore(request.site, reason=reason, by=request.viewer.person, at=request.viewer.at)
    except NothingMissing:
        messages.warning(request, _("Nothing is missing: there is no restore to record."))
    except SEAL_FAULTS as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("The restore is recorded. Recording goes on."))

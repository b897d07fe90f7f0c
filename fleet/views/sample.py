"""The carts that a surveyor looks at, drawn by the surveyor's own number."""

from django.shortcuts import render
from django.views.decorators.http import require_safe

from fleet.forms.sample import SampleForm
from fleet.sampling import sample_at
from shared.models import Role
from shared.viewer import allowed


@allowed(Role.MANAGER, Role.SURVEYOR)
@require_safe
def sample(request):
    """Ask for a number; with one in the address, list the carts that it draws."""
    form = SampleForm(request.GET or None)
    drawn = None
    if form.is_valid():
        drawn = sample_at(request.viewer, request.site, form.cleaned_data["number"])
    context = {"form": form, "drawn": drawn, "at": request.viewer.at}
    return render(request, "fleet/sample.html", context)

"""What is mailed to whoever is signed in."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from fleet.actions.choices import choose
from fleet.choosing import choice_of, told_of
from fleet.forms.reminders import ReminderForm


@login_required
def reminders(request):
    """Show and keep what a person wants to be mailed; what they must hear of has no choice."""
    viewer = request.viewer
    choice = choice_of(viewer.person)
    told = told_of(viewer.memberships, choice)
    form = ReminderForm(told, choice, request.POST or None)
    if request.method == "POST" and told and form.is_valid():
        said = form.cleaned_data
        hours = {name: said[name] for name in ("quiet_from", "quiet_until")}
        choose(viewer.person, without=form.without, **hours)
        messages.success(request, _("Kept."))
        return redirect("reminders")
    context = {"form": form, "told": told, "home": viewer.home}
    return render(request, "fleet/reminders.html", context)

"""The ways in: where a person lands at a site."""

from django.shortcuts import redirect, render

from shared.menu import menu_for
from shared.models import Role
from shared.viewer import allowed


@allowed(*Role.values)
def site_home(request):
    """Go to the first page of the role's menu; say so where there is none."""
    pages = menu_for(request.role, request.site, request.path)
    if not pages:
        return render(request, "shared/no_page.html")
    return redirect(pages[0][1])

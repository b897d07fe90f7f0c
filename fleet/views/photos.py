"""Photos as they may be shown: the plain copy, to who has a role at the site."""

from django.http import FileResponse, Http404
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from shared.models import Photo, Role
from shared.photos import copy_path
from shared.viewer import allowed


@require_safe
@allowed(Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
def photo(request, pk):
    row = get_object_or_404(Photo.objects.visible_to(request.viewer), pk=pk, site=request.site)
    path = copy_path(row)
    if not path.exists():
        raise Http404
    headers = {"Cache-Control": "private, max-age=86400, immutable"}
    return FileResponse(path.open("rb"), content_type="image/jpeg", headers=headers)

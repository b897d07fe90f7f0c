"""How the warning labels of a site's lifted carts stand, and the card that says where one goes."""

from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig

from lifts import label_places
from lifts.label_coverage import COVERED_DAYS, WORDS, standings
from lifts.label_letters import letters_asked
from lifts.models import Kit
from lifts.tables_labels import LabelTable
from shared.models import Role
from shared.tables import csv_response
from shared.viewer import allowed

PAGE_ROWS = 25
CHOSEN = "place"


@allowed(Role.MANAGER, Role.SURVEYOR)
@require_safe
def label_list(request):
    site, viewer = request.site, request.viewer
    found = standings(site, viewer)
    kept = [one for one in found if one.word == request.GET.get("standing")] or found
    table = LabelTable(kept, site=site)
    if request.GET.get("file") == "csv":
        return csv_response(table, table.csv_name)
    RequestConfig(request, paginate={"per_page": PAGE_ROWS}).configure(table)
    counts = [(word, WORDS[word], sum(one.word == word for one in found)) for word in WORDS]
    context = {"table": table, "counts": counts, "all": len(found), "days": COVERED_DAYS}
    return render(request, "lifts/label_list.html", context)


@allowed(Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
@require_safe
def label_card(request, pk):
    """The sheet that says where a kit's label goes, to be printed."""
    kits = Kit.objects.visible_to(request.viewer).filter(site=request.site)
    kit = get_object_or_404(kits.select_related("site"), pk=pk)
    names = [place for place, _words in label_places.choices()]
    chosen = request.GET.get(CHOSEN, "")
    chosen = chosen if chosen in names and chosen != label_places.ELSEWHERE else ""
    context = {
        "kit": kit,
        "picture": label_places.picture(chosen),
        "places": label_places.choices()[:-1],
        "chosen": chosen,
        "asked": letters_asked(request.site.units),
    }
    return render(request, "lifts/label_card.html", context)

from django.contrib import messages
from django.db.models import Count, Q
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe
from django_tables2 import RequestConfig, SingleTableView

from lifts.actions import AboveProof, KitKnown, KitReplaced, LiftOrPlain, add_kit, replace_kit
from lifts.forms_kits import KitForm
from lifts.kit_editions import MOST_NAMED, behind_the_edition
from lifts.kit_sheets import FOLDER, sheet_of
from lifts.models import Kit
from lifts.tables import GreasePointTable, KitTable
from lifts.tables_joints import JointTable
from shared.facts import OtherBody
from shared.models import Change, Role
from shared.papers import handed_out
from shared.sent_before import say_sent_before
from shared.tables import CsvList, csv_response
from shared.units import shown
from shared.viewer import allowed

SAME_SORT = _(
    "An edition lifts nothing only where the kit never did: add the sheet for plain carts, "
    "or the lift, as a kit of its own"
)
READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)


def kits_at(request):
    return Kit.objects.visible_to(request.viewer).filter(site=request.site)


class KitList(CsvList, SingleTableView):
    table_class = KitTable
    template_name = "lifts/kit_list.html"

    def get_queryset(self):
        on_sheet = Q(joints__cart=None)
        without = on_sheet & Q(joints__target_nm=None, joints__is_by_look=False)
        counted = kits_at(self.request).annotate(
            joint_count=Count("joints", filter=on_sheet),
            without_target=Count("joints", filter=without),
        )
        return counted.select_related("site")


kit_list = allowed(*READERS)(KitList.as_view())


@allowed(*READERS)
def kit_detail(request, pk):
    kit = get_object_or_404(kits_at(request).select_related("site"), pk=pk)
    on_sheet = list(kit.joints.on_sheet().order_by("place"))
    joints = JointTable(on_sheet, units=request.site.units)
    if request.GET.get("file") == "csv":
        return csv_response(joints, f"{kit.code}-joints")
    points = GreasePointTable(kit.grease_points.order_by("place"), prefix="grease-")
    for table in (joints, points):
        RequestConfig(request, paginate=False).configure(table)
    editions = kits_at(request).filter(code=kit.code).exclude(pk=kit.pk).select_related("site")
    context = {"kit": kit, "tables": [joints, points], "editions": editions}
    context["signer"] = kit.above_proof and _signer(kit)
    context["without_target"] = [joint for joint in on_sheet if joint.lacks_target]
    if editions and not kit.replaced_at:
        behind = behind_the_edition(kit, request.viewer.at, MOST_NAMED + 1)
        context |= {"behind": behind[:MOST_NAMED], "has_more": len(behind) > MOST_NAMED}
    return render(request, "lifts/kit_detail.html", context | _rises(kit, request.site.units))


def _signer(kit):
    """Return who put the edition in force, and so signed for what it asks."""
    return Change.objects.select_related("by").get(pk=kit.pk).by


def _rises(kit, units):
    rises = {"rise_front": kit.rise_front_mm, "rise_rear": kit.rise_rear_mm}
    return {
        name: shown(mm, "length", units, places=1) for name, mm in rises.items() if mm is not None
    }


@allowed(*READERS)
@require_safe
def kit_sheet(request, pk):
    """Hand out the file of the maker's sheet to keep."""
    kit = get_object_or_404(kits_at(request).exclude(sheet_sha256=""), pk=pk)
    try:
        return handed_out(sheet_of(kit), FOLDER)
    except FileNotFoundError as gone:
        raise Http404 from gone


@allowed(Role.MANAGER)
def kit_create(request):
    form = _form(request, plain="plain" in request.GET)
    if request.method == "POST" and form.is_valid():
        kit = _saved(request, form, add_kit, request.site, form.value())
        if kit is not None:
            return redirect(kit)
    return render(request, "lifts/kit_form.html", {"form": form})


@allowed(Role.MANAGER)
def kit_replace(request, pk):
    kit = get_object_or_404(kits_at(request), pk=pk)
    form = _form(request, kit=kit)
    if request.method == "POST" and form.is_valid():
        edition = _saved(request, form, replace_kit, kit, form.value(kit.code))
        if edition is not None:
            return redirect(edition)
    return render(request, "lifts/kit_form.html", {"form": form, "kit": kit})


def _form(request, **about):
    sent = (request.POST, request.FILES) if request.method == "POST" else ()
    return KitForm(request.site, *sent, signer=request.viewer.person.name, **about)


def _saved(request, form, act, about, value):
    """Do the act and return the kit, or say in the form why not."""
    who = {"by": request.viewer.person, "at": request.viewer.at}
    try:
        kit = act(about, value, id=form.cleaned_data["act"], **who)
    except KitKnown:
        form.add_error("code", _("This site has a kit of that code: give it a new edition"))
    except KitReplaced:
        form.add_error(None, _("A newer edition of this kit is in force already"))
    except LiftOrPlain:
        form.add_error(None, SAME_SORT)
    except AboveProof as above:
        form.ask_signature(above.joints)
    except OtherBody:
        say_sent_before(form)
    else:
        messages.success(request, _("Recorded."))
        return kit
    return None

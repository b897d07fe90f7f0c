"""The rack of torque wrenches: its list, each wrench, and what is recorded of one."""

from functools import partial

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST, require_safe
from django_tables2 import RequestConfig, SingleTableView

from fleet.kinds import Cut
from lifts import wrench_page
from lifts.actions.wrenches import (
    WrenchKnown,
    add_certificate,
    add_event,
    add_quick_check,
    add_wrench,
    certificate_points,
    change_wrench,
    strike_of_wrench,
)
from lifts.forms_wrenches import (
    FOLDER,
    HURTS,
    CertificateForm,
    HurtForm,
    QuickCheckForm,
    StrikeForm,
    WithdrawForm,
    WrenchForm,
)
from lifts.found_out_words import finding_links
from lifts.models import (
    Wrench,
    WrenchCertificate,
    WrenchCheck,
    WrenchEvent,
    WrenchState,
)
from lifts.racks import standing_of, standings
from lifts.tables_wrenches import CheckTable, EventTable, RackTable
from shared.facts import NotStanding, OtherBody
from shared.models import Role
from shared.papers import Paper, handed_out
from shared.sent_before import one_of_its_content, say_sent_before
from shared.tables import CsvList
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)
SHOP = (Role.MANAGER, Role.MECHANIC)
ABOUT_WRENCHES = (WrenchCertificate, WrenchCheck, WrenchEvent)


def _wrench(request, pk):
    wrenches = Wrench.objects.visible_to(request.viewer).select_related("site")
    return get_object_or_404(wrenches, pk=pk, site=request.site)


def _now(request):
    return Cut.known_now(request.viewer.at)


def _who(request, form):
    who = {"by": request.viewer.person, "at": request.viewer.at}
    return who | {"id": form.cleaned_data["act"]}


class WrenchList(CsvList, SingleTableView):
    table_class = RackTable
    template_name = "lifts/wrench_list.html"

    def get_queryset(self):
        return standings(self.request.site, _now(self.request))

    def get_table_kwargs(self):
        return {"site": self.request.site}


wrench_list = allowed(*READERS)(WrenchList.as_view())


@allowed(*READERS)
@require_safe
def wrench_detail(request, pk):
    wrench, at, site = _wrench(request, pk), request.viewer.at, request.site
    strike_url = None
    if request.role == Role.MANAGER:
        strike_url = partial(_strike_url, site, wrench)
    about = {"site": site, "strike_url": strike_url}
    checks = CheckTable(wrench_page.checks_of(wrench, at), prefix="checks-", **about)
    events = EventTable(wrench_page.events_of(wrench, at), prefix="events-", **about)
    for table in (checks, events):
        RequestConfig(request, paginate=False).configure(table)
    standing = standing_of(wrench, _now(request))
    context = {
        "wrench": wrench,
        "standing": standing,
        "range": wrench_page.range_of(wrench, site.units),
        "tolerance": wrench_page.within(wrench.tolerance),
        "pulls": wrench_page.pulls_of(standing),
        "certificates": wrench_page.certificates_of(wrench, at, site.units),
        "findings": finding_links(wrench, _now(request)),
        "tables": [checks, events],
        "hurt": HurtForm(),
        "hurts": HURTS,
        "is_out": standing.state == WrenchState.WITHDRAWN,
    }
    return render(request, "lifts/wrench_detail.html", context)


def _strike_url(site, wrench, fact):
    return reverse("wrench-strike", args=[site.slug, wrench.pk, fact.pk])


@allowed(Role.MANAGER)
def wrench_create(request):
    form = WrenchForm(request.site, request.POST or None)
    if request.method == "POST" and form.is_valid():
        wrench = _named(request, form, add_wrench, request.site)
        if wrench is not None:
            return redirect(wrench)
    return _page(request, form, _("Add a wrench"))


@allowed(Role.MANAGER)
def wrench_change(request, pk):
    wrench = _wrench(request, pk)
    form = WrenchForm(request.site, request.POST or None, wrench=wrench)
    if request.method == "POST" and form.is_valid():
        act = partial(change_wrench, reason=form.cleaned_data["reason"])
        if _named(request, form, act, wrench) is not None:
            return redirect(wrench)
    return _page(request, form, _("Change what is said of it"), wrench=wrench)


def _named(request, form, act, about):
    try:
        return _recorded(request, form, act, about, form.value())
    except WrenchKnown:
        form.add_error("name", _("This site has a wrench of that name"))
        return None


def _recorded(request, form, act, *about, **values):
    """Do the act and return its answer, or say in the form that it was sent before."""
    try:
        answer = act(*about, **values, **_who(request, form))
    except OtherBody:
        say_sent_before(form)
        return None
    messages.success(request, _("Recorded."))
    return answer


@allowed(Role.MANAGER)
def wrench_certificate(request, pk):
    wrench = _wrench(request, pk)
    today = request.site.day(request.viewer.at)
    form = CertificateForm(wrench, today, request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        points = certificate_points(form.cleaned_data["points"])
        if _recorded(request, form, add_certificate, wrench, form.about(), points, **form.when()):
            return redirect(wrench)
    return _page(request, form, _("Add a certificate"), wrench=wrench)


@allowed(*SHOP)
def wrench_check(request, pk):
    wrench = _wrench(request, pk)
    tester = wrench_page.last_tester(wrench, request.viewer.at)
    form = QuickCheckForm(wrench, tester, request.POST or None)
    if request.method == "POST" and form.is_valid():
        check = _recorded(request, form, add_quick_check, wrench, form.about())
        if check is not None:
            _say_verdict(request, check)
            return redirect(wrench)
    return _page(request, form, _("Quick check"), wrench=wrench)


def _say_verdict(request, check):
    said = {"error": wrench_page.percent(check.error), "most": wrench_page.within(check.tolerance)}
    if check.is_good:
        messages.success(request, _("Error %(error)s, inside %(most)s.") % said)
    else:
        doubted = _("Error %(error)s, outside %(most)s: put it away, it is doubted from now on.")
        messages.warning(request, doubted % said)


@allowed(*SHOP)
@require_POST
def wrench_hurt(request, pk):
    """Record by one press that a wrench was dropped, or overloaded."""
    wrench, form = _wrench(request, pk), HurtForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Nothing was recorded: press one of the buttons."))
        return redirect(wrench)
    said, by = form.cleaned_data, request.viewer.person
    act = one_of_its_content(said["act"], wrench.pk, by.pk, said["what"])
    add_event(wrench, said["what"], by=by, at=request.viewer.at, id=act)
    messages.success(request, _("Recorded."))
    put_away = _("Put it away: it is doubted until it has a new certificate.")
    messages.warning(request, put_away)
    return redirect(wrench)


@allowed(Role.MANAGER)
def wrench_withdraw(request, pk):
    """Take a wrench out of use; one that is out comes back."""
    wrench = _wrench(request, pk)
    is_out = standing_of(wrench, _now(request)).state == WrenchState.WITHDRAWN
    form = WithdrawForm(request.POST or None, is_out=is_out)
    if request.method == "POST" and form.is_valid():
        said = {name: form.cleaned_data[name] for name in ("what", "note")}
        if _recorded(request, form, add_event, wrench, **said):
            return redirect(wrench)
    heading = _("Put it back into use") if is_out else _("Withdraw it from use")
    return _page(request, form, heading, wrench=wrench)


@allowed(Role.MANAGER)
def wrench_strike(request, pk, entry):
    """Take back a certificate, a check or an event."""
    wrench = _wrench(request, pk)
    fact = _fact_of(wrench, entry)
    form = StrikeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            strike_of_wrench(fact, reason=form.cleaned_data["reason"], **_who(request, form))
        except (NotStanding, OtherBody):
            messages.warning(request, _("It was taken back before."))
        else:
            messages.success(request, _("Taken back. The entry stays readable."))
        return redirect(wrench)
    what = wrench_page.words_of(fact, request.site)
    return _page(request, form, _("Take an entry back"), wrench=wrench, fact=fact, what=what)


def _fact_of(wrench, pk):
    for model in ABOUT_WRENCHES:
        fact = model.objects.filter(wrench=wrench, pk=pk).first()
        if fact is not None:
            return fact
    raise Http404


def _page(request, form, heading, **context):
    return render(request, "lifts/wrench_act.html", {"form": form, "heading": heading, **context})


@allowed(*READERS)
@require_safe
def wrench_file(request, pk, entry):
    """Hand a certificate's file out, to be kept and never shown here."""
    of_wrench = WrenchCertificate.objects.filter(wrench=_wrench(request, pk))
    row = get_object_or_404(of_wrench.exclude(file_sha256=""), pk=entry)
    paper = Paper(row.file_name, row.file_sha256, row.file_copy_sha256 or "")
    try:
        return handed_out(paper, FOLDER)
    except FileNotFoundError as gone:
        raise Http404 from gone


@allowed(*READERS)
@require_safe
def wrench_card(request, pk):
    wrench = _wrench(request, pk)
    context = {
        "wrench": wrench,
        "standing": standing_of(wrench, _now(request)),
        "range": wrench_page.range_of(wrench, request.site.units),
        "angles": wrench_page.ANGLES_DEG,
        "lines": wrench_page.adapter_lines(wrench, request.site.units),
    }
    return render(request, "lifts/wrench_card.html", context)

"""The rule book of a site: read by those who work by it, changed by its managers."""

from dataclasses import replace

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST
from django_tables2 import SingleTableView

from fleet.actions.sites import BookMoved, change_rules
from fleet.default_rules import book_from_json, book_to_json, not_in
from fleet.forms.book import BookForm
from fleet.forms.rules import ReasonForm, RuleForm
from fleet.models import RuleBook
from fleet.rule_words import (
    average_lines,
    cards,
    due_words,
    kind_title,
    lay_up_lines,
    lines_of,
)
from fleet.rulebook import replace_rule
from fleet.tables.rules import VersionTable
from shared.models import Change, Role
from shared.tables import CsvList
from shared.viewer import allowed

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)


@method_decorator(allowed(*READERS), "dispatch")
class RuleBookPage(CsvList, SingleTableView):
    """The version in force, or the one that the address names, above all versions."""

    table_class = VersionTable
    template_name = "fleet/rule_book.html"
    paginate_by = 50

    def get_queryset(self):
        versions = RuleBook.objects.filter(site=self.request.site)
        return versions.defer("rules").order_by("-version")

    def get_table_kwargs(self):
        ids = self.get_queryset().values("pk")
        changes = Change.objects.filter(pk__in=ids).select_related("by")
        return {"site": self.request.site, "changes": {change.pk: change for change in changes}}

    def get_context_data(self, **kwargs):
        newest = self.get_queryset().first()
        number = self.kwargs.get("version") or (newest and newest.version)
        more = self._said(number) if number else {"row": None}
        is_newest = bool(newest) and newest.version == number
        return super().get_context_data(**more, is_newest=is_newest, **kwargs)

    def _said(self, number):
        row = _version(self.request, number)
        before = RuleBook.objects.filter(site=self.request.site, version=number - 1).first()
        units = self.request.site.units
        book = book_from_json(row.rules)
        said = cards(book, units, before and book_from_json(before.rules))
        return {
            "row": row,
            "later": [(kind_title(rule.kind), due_words(rule, units)) for rule in not_in(book)],
            "take_up_form": ReasonForm(auto_id="take_up_%s"),
            "cards": said,
            "averages": average_lines(book, units),
            "lay_ups": lay_up_lines(book, units),
        }


def _version(request, number):
    return get_object_or_404(RuleBook, site=request.site, version=number)


def _rule_at(request, version, place):
    """Return the version's row, its book and the rule at a place in it."""
    row = _version(request, version)
    book = book_from_json(row.rules)
    if place >= len(book.rules):
        raise Http404
    return row, book, book.rules[place]


@allowed(Role.MANAGER)
def rule_change(request, version, place):
    row, book, rule = _rule_at(request, version, place)
    if not rule.rungs:
        raise Http404
    units = request.site.units
    form = RuleForm(request.POST or None, rule=rule, book=book, units=units)
    if request.method == "POST" and form.is_valid():
        changed = replace_rule(book, form.made, effective_from=request.viewer.at)
        return _put_in_force(request, row, changed, form.cleaned_data["reason"])
    context = {
        "form": form,
        "row": row,
        "place": place,
        "rule": rule,
        "title": kind_title(rule.kind),
        "lines": lines_of(rule, units),
        "drop_form": ReasonForm(auto_id="drop_%s"),
    }
    return render(request, "fleet/rule_change.html", context)


@allowed(Role.MANAGER)
def book_change(request, version):
    """Change what the book says beside its rules."""
    row = _version(request, version)
    book = book_from_json(row.rules)
    form = BookForm(request.POST or None, book=book, units=request.site.units)
    if request.method == "POST" and form.is_valid():
        return _put_in_force(request, row, form.made, form.cleaned_data["reason"])
    return render(request, "fleet/book_change.html", {"form": form})


@allowed(Role.MANAGER)
@require_POST
def rule_drop(request, version, place):
    """Take out a rule that the site added; the default ones stay."""
    row, book, rule = _rule_at(request, version, place)
    form = ReasonForm(request.POST)
    if rule.rank == "default" or not form.is_valid():
        messages.error(request, _("Nothing was changed. A default rule stays; say why."))
        return redirect("rule-change", request.site.slug, version, place)
    others = tuple(one for one in book.rules if one is not rule)
    kept = replace(book, rules=others)
    return _put_in_force(request, row, kept, form.cleaned_data["reason"])


@allowed(Role.MANAGER)
@require_POST
def book_take_up(request, version):
    """Add the default rules that came with a later release than the site's book."""
    row = _version(request, version)
    book, form = book_from_json(row.rules), ReasonForm(request.POST)
    later = not_in(book)
    if not later or not form.is_valid():
        messages.error(request, _("Nothing was changed. Say why."))
        return redirect("rule-book", request.site.slug)
    taken = replace(book, rules=(*book.rules, *later))
    return _put_in_force(request, row, taken, form.cleaned_data["reason"])


def _put_in_force(request, row, book, reason):
    try:
        change_rules(
            request.site,
            book_to_json(book),
            reason=reason,
            by=request.viewer.person,
            at=request.viewer.at,
            after=row.version,
        )
    except BookMoved:
        messages.error(request, _("The book was changed in between. Look at it and try again."))
    else:
        messages.success(request, _("In force from now on. Clocks that run keep their rule."))
    return redirect("rule-book", request.site.slug)

"""All sheets of a cart as a list, and as a file with each figure in a column of its own."""

import re

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import words
from alignment.counting import TOE
from alignment.signs import signed_deg
from alignment.site_words import wording_of
from alignment.told_sheets import toe_angle
from alignment.verdict_marks import style_of
from shared.dates import shown_moment
from shared.tables import BaseTable, NumberColumn

DECIMALS = 3
NO_BREAK = "\N{NO-BREAK SPACE}"
SPACE_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(in|mm|\d)\b)")
UNITS = {TOE: "mm"}


def value_column(name):
    return tables.Column(
        accessor="told",
        orderable=False,
        exclude_from_export=True,
        verbose_name=words.begun(str(words.NAMES[name])),
    )


def file_columns():
    """Return (name, column) of the figures that stand in the file alone."""
    for name in words.NAMES:
        unit, key = UNITS.get(name, "deg"), key_of(name)
        for stage in ("found", "left"):
            for what in ("", "_spread"):
                header = f"{name} {stage}{what.replace('_', ' ')} {unit}"
                column = NumberColumn(visible=False, verbose_name=header)
                yield f"{key}_{stage}{what}", column
        yield f"{key}_verdict", tables.Column(visible=False, verbose_name=f"{name} verdict")
    for stage in ("found", "left"):
        column = NumberColumn(visible=False, verbose_name=f"toe {stage} total deg")
        yield f"toe_{stage}_total", column


def key_of(name):
    return name.replace(" ", "_")


class SheetTable(BaseTable):
    """A cart's sheets, newest first, each value as found and as left."""

    done_at = tables.Column(accessor="told", orderable=False, verbose_name=_("Measured"))
    by = tables.Column(accessor="told__done_by", orderable=False, verbose_name=_("By"))
    camber_left = value_column("camber left")
    camber_right = value_column("camber right")
    side_to_side = value_column("side to side")
    toe = value_column(TOE)
    diameter_mm = NumberColumn(
        accessor="told__fact__diameter_mm", visible=False, verbose_name="toe taken at mm"
    )
    mark_mm = NumberColumn(accessor="told__fact__mark_mm", visible=False, verbose_name="mark mm")
    use_hours = NumberColumn(
        accessor="told__fact__use_hours", visible=False, verbose_name="use since fitting h"
    )

    caption = _("All sheets of this cart, newest first")
    csv_name = "camber-and-toe"

    class Meta(BaseTable.Meta):
        empty_text = _("No camber and toe sheet is recorded.")

    def __init__(self, sheets, *, site, **kwargs):
        self.site = site
        rows = [row_of(told) for told in sheets]
        super().__init__(rows, extra_columns=list(file_columns()), **kwargs)

    def render_done_at(self, value):
        return format_html(
            '<a href="{}">{}</a>{}', sheet_url(value.fact), self._moment(value), _again(value)
        )

    def value_done_at(self, value):
        return value.fact.done_at.isoformat()

    def _moment(self, told):
        return shown_moment(told.fact.done_at, self.site.zone, self.site.date_order)

    def render_camber_left(self, value):
        return in_a_cell("camber left", value, self.site)

    def render_camber_right(self, value):
        return in_a_cell("camber right", value, self.site)

    def render_side_to_side(self, value):
        return in_a_cell("side to side", value, self.site)

    def render_toe(self, value):
        return in_a_cell(TOE, value, self.site)


def sheet_url(fact):
    return reverse("camber-toe-detail", args=[fact.site.slug, fact.cart_id, fact.pk])


def _again(told):
    """Say beside a sheet that was told again who did that."""
    if told.fact.corrects is None:
        return ""
    said = gettext("corrected by %(by)s") % {"by": told.fact.by}
    return format_html("<br><small>{}</small>", said)


def in_a_cell(name, told, site):
    """Return a value as found and as left, its diameter, and the verdict of what counts last."""
    wording = wording_of(told.sheet, site)
    stages = ((gettext("found %s"), told.found), (gettext("left %s"), told.left))
    shown = [
        line
        for stage, judged in stages
        if name in judged.results
        for line in _lines(stage, name, judged, told.sheet, wording)
    ]
    if not shown:
        return gettext("not recorded")
    if name == TOE and told.sheet.diameter_mm:
        shown.append(gettext("at %s") % wording.diameter(told.sheet.diameter_mm))
    lines = format_html_join("", "{}<br>", ([whole(line)] for line in shown))
    return format_html("{}{}", lines, mark_of(name, told))


def _lines(stage, name, judged, sheet, wording):
    """Return a stage of a value: a toe, said in both units and as an angle, on two lines."""
    figure, sureness = _figure_and_sureness(name, judged, sheet, wording)
    if name == TOE:
        return stage % figure, sureness
    return (f"{stage % figure} {sureness}".replace(" ", NO_BREAK),)


def whole(words):
    """Return words in which no line breaks between a number and its unit."""
    return SPACE_BEFORE_UNIT.sub(NO_BREAK, words)


def said(name, judged, sheet, wording):
    """Return a result with its uncertainty; toe as length and as angle."""
    return " ".join(_figure_and_sureness(name, judged, sheet, wording))


def _figure_and_sureness(name, judged, sheet, wording):
    result = judged.results[name]
    figure, spread = (
        wording.figure(name, result.value),
        wording.spread(name, result.expanded),
    )
    angle = in_degrees(name, result, sheet)
    return figure, spread if angle is None else f"{spread}, {signed_deg(angle)}"


def in_degrees(name, result, sheet):
    """Return a toe as an angle in all; None of a camber, or of a toe without a diameter."""
    if name != TOE or not sheet.diameter_mm:
        return None
    return toe_angle(result, sheet.diameter_mm).value


def mark_of(name, told):
    """Return the verdict as a word behind its pattern."""
    if name not in told.last.results:
        return gettext("not measured so that it counts")
    result = told.last.results[name]
    return format_html(
        '<span class="verdict verdict-{}">{}</span>',
        style_of(told.sheet, name, result),
        words.VERDICTS[result.verdict],
    )


def row_of(told):
    """Return a sheet as a row: itself for the page, and each figure for the file."""
    row = {"told": told}
    for stage, judged in (("found", told.found), ("left", told.left)):
        for name, result in judged.results.items():
            row[f"{key_of(name)}_{stage}"] = round(result.value, DECIMALS)
            row[f"{key_of(name)}_{stage}_spread"] = round(result.expanded, DECIMALS)
            angle = in_degrees(name, result, told.sheet)
            if angle is not None:
                row[f"toe_{stage}_total"] = round(angle, DECIMALS)
    for name, result in told.last.results.items():
        row[f"{key_of(name)}_verdict"] = result.verdict
    return row

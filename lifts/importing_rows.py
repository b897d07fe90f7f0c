"""A row of a list of lifts, with all that is wrong in it."""

from collections import defaultdict
from datetime import date

from fleet.importing.columns import DISTANCE_HEADINGS, HOURS_HEADINGS, NUMBER, distance_column
from fleet.sheet_words import gettext_noop as _
from fleet.sheets import ColumnSpec, Fault, Row
from lifts.models import Fitting, Kit

LAST_DONE = ("last_torque", "last_grease", "last_alignment", "last_label")
TEXTS = ("fitted_by", "firm")
LONGEST = {name: Fitting._meta.get_field(name).max_length for name in TEXTS}
MOST_KITS_NAMED = 12
MOST_FIGURE = 10**8

PAPERWORK = {
    "full": ("full", "complete", "yes"),
    "partial": ("partial", "part", "some", "incomplete"),
    "none": ("none", "no", "missing", "unknown"),
}
NOT_LATER = _("a day up to today")
TOO_LONG = _("at most %(most)d characters")
FIGURE = _("a figure from 0 to %(most)d")
UNKNOWN_KIT = _("the code or name of a kit of the site: %(kits)s")
NO_KITS = _("the code or name of a kit of the site; it has none yet")
SEVERAL_KITS = _("a kit's code, since several have that name: %(kits)s")


def fitting_columns(units: str) -> tuple[ColumnSpec, ...]:
    """Return the columns of a list of lifts at a site with these units."""
    at_fitting = tuple(f"{name} at fitting" for name in HOURS_HEADINGS)
    distances = tuple(f"{name} at fitting" for name in DISTANCE_HEADINGS)
    return (
        NUMBER,
        ColumnSpec("kit", "Kit", ("Kit code", "Lift kit", "Lift"), required=True),
        ColumnSpec(
            "fitted_on",
            "Fitted on",
            ("Lift date", "Fitted", "Installed", "Installed on", "Date of fitting"),
            kind="date",
        ),
        ColumnSpec("fitted_by", "Fitted by", ("Installed by", "Fitter", "Mechanic")),
        ColumnSpec("firm", "Firm", ("Company", "Contractor", "Shop"), example="own shop"),
        ColumnSpec(
            "paperwork", "Paperwork", ("Papers", "Documents"), kind="choice", choices=PAPERWORK
        ),
        ColumnSpec("hours", "Hours at fitting", at_fitting, kind="hours", example="412.5"),
        distance_column("distance", "Distance at fitting", distances, units),
        ColumnSpec(
            "last_torque",
            "Last torque check",
            ("Last joint check", "Last joints", "Last torque"),
            kind="date",
        ),
        ColumnSpec("last_grease", "Last grease", ("Last greased", "Last lube"), kind="date"),
        ColumnSpec(
            "last_alignment", "Last alignment", ("Last aligned", "Last camber and toe"), kind="date"
        ),
        ColumnSpec(
            "last_label", "Last label check", ("Last label", "Last label seen"), kind="date"
        ),
    )


class KitNames:
    """The lifts of a site that are in force, by code and by name."""

    def __init__(self, site):
        self.kits = list(Kit.objects.current().lifting().filter(site=site).order_by("code"))
        self.by_name = defaultdict(list)
        for kit in self.kits:
            for name in {kit.code.casefold(), kit.name.casefold()}:
                self.by_name[name].append(kit)

    def named(self, text: str) -> list[Kit]:
        return self.by_name.get(" ".join(text.split()).casefold(), [])

    def codes(self, kits=None) -> str:
        codes = [kit.code for kit in (self.kits if kits is None else kits)]
        return ", ".join(codes[:MOST_KITS_NAMED]) + (", …" if codes[MOST_KITS_NAMED:] else "")


class FittingRow:
    """One row; ``said`` are the fitting's texts and paperwork, only those that it gives."""

    def __init__(self, row: Row, kits: KitNames, today: date):
        self.row, self.line = row, row.line
        self.faults: list[Fault] = list(row.faults)
        self.number = " ".join((row["number"] or "").split())
        self.kit = self._kit(kits)
        self.fitted_on = self._day("fitted_on", today)
        self.said = self._texts()
        self.hours, self.distance = row["hours"], row["distance"]
        self._check_figures()
        self.last_done = {
            name: day.isoformat() for name in LAST_DONE if (day := self._day(name, today))
        }

    def refuse(self, code, template, **values):
        self.faults.append(self.row.fault(code, template, **values))

    @property
    def key(self) -> str:
        return f"fitting|{self.fitted_on or 'unknown'}"

    def _kit(self, kits):
        found = kits.named(self.row["kit"] or "")
        if len(found) == 1 or not self.row["kit"]:
            return found[0] if found else None
        if found:
            self.refuse("kit", SEVERAL_KITS, kits=kits.codes(found))
        elif kits.kits:
            self.refuse("kit", UNKNOWN_KIT, kits=kits.codes())
        else:
            self.refuse("kit", NO_KITS)
        return None

    def _day(self, name, today):
        day = self.row[name]
        if day is not None and day > today:
            self.refuse(name, NOT_LATER)
        return day

    def _texts(self):
        said = {name: " ".join((self.row[name] or "").split()) for name in TEXTS}
        for name, text in said.items():
            if len(text) > LONGEST[name]:
                self.refuse(name, TOO_LONG, most=LONGEST[name])
        said["paperwork"] = self.row["paperwork"]
        return {name: value for name, value in said.items() if value}

    def _check_figures(self):
        for name, value in (("hours", self.hours), ("distance", self.distance)):
            figure = getattr(value, "value", value)
            if figure is not None and not 0 <= figure < MOST_FIGURE:
                self.refuse(name, FIGURE, most=MOST_FIGURE)

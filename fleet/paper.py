"""A round on paper: each part's questions as lines with boxes to tick and room to write."""

from dataclasses import dataclass

from django import forms

from fleet.kinds import register

LEFT_OUT = {"not_done"}


@dataclass(frozen=True)
class Line:
    """One question on paper: boxes for its choices, or room to write without any."""

    label: str
    choices: tuple[str, ...] = ()
    about: str = ""


def steps_on_paper(visit):
    """Return each asked part's title, cautions and lines, in walking order."""
    asked = {*visit.first, *visit.others}
    return [
        {"title": part.title, "cautions": part.cautions, "lines": list(_lines(part, visit))}
        for part in register.parts_in_order()
        if part.code in asked
    ]


def _lines(part, visit):
    """Yield a part's lines: those its form words itself, else one a field."""
    form = part.form(visit)
    if hasattr(form, "on_paper"):
        for label, choices, about in form.on_paper():
            yield Line(label, tuple(choices), about)
        return
    for name, field in form.fields.items():
        if name not in LEFT_OUT and not isinstance(field, forms.FileField):
            yield Line(field.label, _choices(field), field.help_text)


def _choices(field):
    if isinstance(field, forms.BooleanField):
        return ("",)
    choices = getattr(field, "choices", ())
    return tuple(label for value, label in choices if value != "")

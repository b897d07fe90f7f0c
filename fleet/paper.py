"""A round on paper: each part's questions as lines with boxes to tick and room to write."""

from dataclasses import dataclass

from django import forms

from fleet.kinds import register

LEFT_OUT = {"not_done"}


@dataclass(frozen=True)
class Line:
    """One question on paper: boxes for its choices, named rooms to write, or both.

    With neither there is room to write, or ``text`` that is to be read.
    """

    label: str
    choices: tuple[str, ...] = ()
    about: str = ""
    rooms: tuple[str, ...] = ()
    text: str = ""

    @property
    def is_open(self):
        """Whether nothing is printed in it, so that there is room to write."""
        return not (self.choices or self.rooms or self.text)


def steps_on_paper(visit):
    """Return each asked part's title, cautions and lines, in walking order."""
    asked = {*visit.first, *visit.others}
    return [
        {
            "title": part.title,
            "cautions": part.cautions,
            "lines": list(_lines(part, visit)),
            "own_page": part.own_page,
        }
        for part in register.parts_in_order()
        if part.code in asked
    ]


def _lines(part, visit):
    """Yield a part's lines: those its form words itself, else one a field."""
    form = part.form(visit)
    if hasattr(form, "on_paper"):
        yield from (_line(*one) if isinstance(one, tuple) else one for one in form.on_paper())
        return
    for name, field in form.fields.items():
        if name not in LEFT_OUT and not isinstance(field, forms.FileField):
            yield Line(field.label, _choices(field), field.help_text)


def _line(label, choices, about):
    return Line(label, tuple(choices), about)


def _choices(field):
    if isinstance(field, forms.BooleanField):
        return ("",)
    choices = getattr(field, "choices", ())
    return tuple(label for value, label in choices if value != "")

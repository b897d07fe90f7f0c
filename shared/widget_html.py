"""Writes the widgets of forms as Django's own templates do, without running a template.

A round's page has 300 of them; their templates, one for each option and its attributes, took
over a third of its time. Any other widget, and a list of errors that has one, is rendered.
"""

from html import escape

from django.forms.renderers import DjangoTemplates
from django.utils.formats import localize
from django.utils.html import conditional_escape
from django.utils.safestring import SafeData

ERRORS = "django/forms/errors/list/default.html"
INPUTS = ("checkbox", "date", "email", "file", "hidden", "input", "number", "password", "text")
OPTIONS = {f"django/forms/widgets/{name}_option.html" for name in ("checkbox", "radio", "select")}


class Renderer(DjangoTemplates):
    """The renderer of all forms: the same bytes as its base class, sooner."""

    def render(self, template_name, context, request=None):
        write = WRITERS.get(template_name)
        if write and _has_usual_options(context["widget"]):
            return write(context["widget"])
        if template_name == ERRORS and not context["errors"]:
            return ""
        return super().render(template_name, context, request)


def _has_usual_options(widget):
    options = (one for _name, options, _index in widget.get("optgroups", ()) for one in options)
    return all(one["template_name"] in OPTIONS and one["wrap_label"] for one in options)


def _input(widget):
    value = widget["value"]
    said = "" if value is None else f' value="{_text(value)}"'
    return f'<input type="{widget["type"]}" name="{_text(widget["name"])}"{said}{_attrs(widget)}>'


def _textarea(widget):
    value = _shown(widget["value"] or "")
    return f'<textarea name="{_text(widget["name"])}"{_attrs(widget)}>\n{value}</textarea>'


def _select(widget):
    groups = "".join(map(_select_group, widget["optgroups"]))
    return f'<select name="{_text(widget["name"])}"{_attrs(widget)}>{groups}\n</select>'


def _select_group(group):
    name, options, _index = group
    written = "".join(f"\n  {_select_option(option)}\n" for option in options)
    if not name:
        return written
    return f'\n  <optgroup label="{_shown(name)}">{written}\n  </optgroup>'


def _select_option(option):
    value, label = _text(option["value"]), _shown(option["label"])
    return f'<option value="{value}"{_attrs(option)}>{label}</option>'


def _presses(widget):
    of_div = {name: said for name in ("id", "class") if (said := widget["attrs"].get(name))}
    groups = "".join(map(_press_group, widget["optgroups"]))
    return f"<div{_attrs({'attrs': of_div})}>{groups}\n</div>"


def _press_group(group):
    name, options, _index = group
    written = "".join(f"<div>\n    {_press(option)}\n\n</div>" for option in options)
    return f"\n  <div><label>{_shown(name)}</label>{written}\n  </div>" if name else written


def _press(option):
    about = option["attrs"].get("id")
    of_id = f' for="{_text(about)}"' if about else ""
    return f"<label{of_id}>{_input(option)}\n {_shown(option['label'])}</label>"


def _attrs(widget):
    return "".join(
        f" {name}" if value is True else f' {name}="{_text(value)}"'
        for name, value in widget["attrs"].items()
        if value is not False
    )


def _text(value):
    return value if isinstance(value, SafeData) else escape(str(value))


def _shown(value):
    return conditional_escape(localize(value))


WRITERS = {
    **{f"django/forms/widgets/{name}.html": _input for name in INPUTS},
    "django/forms/widgets/textarea.html": _textarea,
    "django/forms/widgets/select.html": _select,
    "django/forms/widgets/radio.html": _presses,
    "django/forms/widgets/checkbox_select.html": _presses,
}

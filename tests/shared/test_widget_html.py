"""Widgets are written byte by byte as Django's own templates write them."""

import pytest
from django import forms
from django.forms.renderers import DjangoTemplates
from django.forms.utils import ErrorList
from django.utils import translation
from django.utils.safestring import mark_safe
from django.utils.translation import gettext_lazy as _

from shared.widget_html import WRITERS, Renderer

ODD = """<b class='x'>&"é"</b>"""
LAZY, SAFE = _("Mail address"), mark_safe("<svg/> a &amp; b")
ATTRS = [
    {},
    {"id": "id_x", "class": "wide", "required": True, "disabled": False, "size": 3},
    {"id": ODD, "class": ODD, "data-odd": ODD, "title": LAZY, "aria-label": SAFE, "none": None},
]
CHOICES = [
    [],
    [("", LAZY), ("a", "A"), (1, SAFE), (ODD, ODD), (None, 1.5), (True, 1234567)],
    [("b", "B"), (ODD, [("a", "A"), (1, LAZY)]), (SAFE, ((2, ODD),)), ("", [])],
]
ONES = [forms.TextInput, forms.NumberInput, forms.EmailInput, forms.PasswordInput]
ONES += [forms.HiddenInput, forms.DateInput, forms.FileInput, forms.CheckboxInput]
ONES += [forms.Textarea, forms.widgets.Input]
MANY = [forms.Select, forms.SelectMultiple, forms.RadioSelect, forms.CheckboxSelectMultiple]
VALUES = [None, "", "a", 0, 1, 1.5, True, False, ODD, LAZY, SAFE, ("a", 1), ["a", ODD, "1"]]


def assert_same(widget, attrs):
    for value in VALUES:
        told = widget.render("x-1", value, attrs, DjangoTemplates())
        assert widget.render("x-1", value, attrs, Renderer()) == told


@pytest.mark.parametrize("attrs", ATTRS, ids=["none", "usual", "odd"])
@pytest.mark.parametrize("kind", ONES, ids=lambda kind: kind.__name__)
def test_a_widget_is_written_as_its_template_says(kind, attrs):
    assert_same(kind(attrs), {"lang": "en"})


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("attrs", ATTRS, ids=["none", "usual", "odd"])
@pytest.mark.parametrize("kind", MANY, ids=lambda kind: kind.__name__)
def test_choices_are_written_as_their_templates_say(kind, attrs, language):
    with translation.override(language):
        for choices in CHOICES:
            assert_same(kind(attrs, choices), {"aria-describedby": "x"})


def test_all_that_is_written_was_compared():
    templates = {kind.template_name for kind in ONES + MANY}

    assert templates >= WRITERS.keys() - {"django/forms/widgets/input.html"}


def test_an_option_of_another_template_is_left_to_it():
    class Bare(forms.RadioSelect):
        option_template_name = "django/forms/widgets/input.html"

    class Unlabelled(forms.RadioSelect):
        def create_option(self, *args, **kwargs):
            return {**super().create_option(*args, **kwargs), "wrap_label": False}

    for kind in (Bare, Unlabelled):
        assert_same(kind({"id": "id_x"}, CHOICES[1]), {})


@pytest.mark.parametrize("errors", [[], [ODD], [SAFE, LAZY]])
def test_errors_are_written_as_their_template_says(errors):
    told = str(ErrorList(errors, renderer=DjangoTemplates(), field_id="id_x"))

    assert str(ErrorList(errors, renderer=Renderer(), field_id="id_x")) == told

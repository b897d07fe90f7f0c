"""The list at the top of a form that was refused."""

import re
from pathlib import Path

import pytest
from django import forms
from django.template.loader import render_to_string

from shared.mistakes import mistakes_of

ROOT = Path(__file__).parents[2]
# a field or two that no phone has to scroll to, or no form that can be refused
SHORT = {
    "account",
    "bundle_detail",
    "calendar",
    "desk_cart",
    "found_out",
    "import_list",
    "import_run",
    "mails",
    "password_change",
    "password_reset",
    "password_set",
    "sign_in",
    "sister_list",
    "surveyor_code",
}


class WheelForm(forms.Form):
    lug = forms.CharField(label="Lug")
    side = forms.ChoiceField(choices=[("left", "Left")], widget=forms.RadioSelect, label="Side")
    note = forms.CharField(required=False, label="Note")

    def clean(self):
        self.add_error(None, "The wheel does not fit.")


def listed(form):
    page = render_to_string("shared/_form_mistakes.html", {"form": form})
    return re.findall(r'<li>(?:<a href="#(.*?)">)?(.*?)(?:</a>)?</li>', page)


def test_each_mistake_leads_to_its_field_in_the_order_of_the_fields():
    form = WheelForm({"note": "loose"})

    assert listed(form) == [
        ("", "The wheel does not fit."),
        ("id_lug", "Lug: This field is required."),
        ("id_side", "Side: This field is required."),
    ]
    page = render_to_string("shared/_fields.html", {"form": form})
    assert all(f'id="{where}"' in page for where, _said in listed(form) if where)


def test_a_form_not_sent_lists_nothing():
    assert render_to_string("shared/_form_mistakes.html", {"form": WheelForm()}).strip() == ""


def test_a_message_that_names_its_field_names_it_once():
    form = WheelForm({"lug": "x", "side": "left"})
    form.add_error("lug", "Lug “x” is unknown.")

    assert [said for _where, _title, said in mistakes_of(form)][-1] == "Lug “x” is unknown."


def test_what_the_form_itself_says_stands_there_once():
    form = WheelForm({"lug": "x", "side": "left"})

    whole = {"form": form, "is_listed": True}
    pages = [
        render_to_string(f"shared/{name}.html", whole) for name in ("_form_mistakes", "_fields")
    ]

    assert "".join(pages).count("The wheel does not fit.") == 1


def pages_with_a_form():
    for path in sorted(ROOT.glob("*/templates/*/*.html")):
        text = path.read_text()
        is_page = "{% extends" in text
        if is_page and 'method="post"' in text and path.stem not in SHORT:
            yield pytest.param(text, id=path.stem)


@pytest.mark.parametrize("text", list(pages_with_a_form()))
def test_a_page_with_a_long_form_lists_its_mistakes_at_the_top(text):
    above = text.partition("<form")[0]

    assert "shared/_form_mistakes.html" in above or "shared/_mistakes.html" in above

import re
from pathlib import Path
from types import SimpleNamespace

import pytest
from django import forms
from django.template.loader import render_to_string
from django.test import RequestFactory

import shared

HOME = Path(shared.__file__).parent
SHEETS = sorted((HOME / "static/shared").glob("*.css"))
SCRIPTS = sorted((HOME / "static/shared").glob("*.js"))
TEMPLATES = sorted((HOME / "templates/shared").glob("*.html"))
# only these say "must not run"
MAY_BE_RED = {
    ".state-stopped, .mark-tagged",
    ".answer-no",
    ".answer-word-no",
    ".button-stop",
    ".tag-card",
    ".tag-card > strong",
}


class MeterForm(forms.Form):
    hours = forms.DecimalField(help_text="As the meter shows it")
    look = forms.ChoiceField(choices=[("firm", "Firm")], widget=forms.RadioSelect)
    seen = forms.BooleanField()
    note = forms.CharField(required=False)


def tokens():
    text = (HOME / "static/shared/page.css").read_text()
    root = re.search(r":root \{(.*?)\}", text, re.S).group(1)
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", root)) | {"white": "#ffffff"}


def luminance(colour):
    """WCAG 2.2, relative luminance."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    dark, light = sorted([luminance(one), luminance(other)])
    return (light + 0.05) / (dark + 0.05)


def rules(sheet):
    """Return (selector, declarations) of each innermost rule."""
    text = re.sub(r"/\*.*?\*/", "", sheet.read_text(), flags=re.S)
    return [(s.strip(), body) for s, body in re.findall(r"([^{};]+)\{([^{}]*)\}", text)]


def page(**context):
    base = {"user": SimpleNamespace(is_authenticated=True), "menu": [], "sites": [], "site": None}
    request = RequestFactory().get("/")
    return render_to_string("shared/base.html", base | context, request)


def test_contrast_knows_the_ends_of_the_scale():
    assert contrast("#000000", "#ffffff") == 21
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("ground", ["paper", "wash", "white"])
@pytest.mark.parametrize("ink", ["ink", "soft", "accent", "stop"])
def test_words_reach_the_highest_contrast_on_every_ground(ink, ground):
    assert contrast(tokens()[ink], tokens()[ground]) >= 7


def test_edges_of_fields_are_seen():
    assert contrast(tokens()["edge"], tokens()["white"]) >= 3


def test_red_is_kept_for_what_must_not_run():
    red = [s for sheet in SHEETS for s, body in rules(sheet) if "var(--stop)" in body]
    reddish = [
        colour
        for sheet in SHEETS
        for colour in re.findall(r"#[0-9a-f]{6}\b", sheet.read_text())
        if int(colour[1:3], 16) > 1.5 * max(int(colour[3:5], 16), int(colour[5:7], 16))
    ]

    assert set(red) == MAY_BE_RED
    assert reddish == [tokens()["stop"]]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda path: path.name)
def test_style_sheets_fetch_nothing(sheet):
    assert not re.findall(r"@import|url\(|@font-face", sheet.read_text())


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda path: path.name)
def test_templates_are_short_and_hold_to_a_strict_policy(template):
    text = template.read_text()

    assert len(text.splitlines()) <= 60
    assert not re.findall(r"<style|\sstyle=|\son\w+=|javascript:|https?://", text)
    assert not re.findall(r"<script(?![^>]*\ssrc=)", text)


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_scripts_are_short_and_write_no_markup(script):
    text = script.read_text()

    assert len(text.splitlines()) <= 60
    assert "data-" in text.splitlines()[0]
    assert not re.findall(r"innerHTML|insertAdjacentHTML|eval\(|\.style\b|https?://", text)


@pytest.mark.urls("tests.shared.look_urls")
def test_page_marks_where_one_is():
    here = SimpleNamespace(slug="north")
    html = page(
        menu=[("Board", "/b/", True), ("Carts", "/c/", False)],
        site=here,
        sites=[here, SimpleNamespace(slug="south")],
    )

    links = re.findall(r'<li><a href="([^"]+)"( aria-current="\w+")?>', html)
    assert links == [
        ("/b/", ' aria-current="page"'),
        ("/c/", ""),
        ("/north/", ' aria-current="true"'),
        ("/south/", ""),
    ]


@pytest.mark.urls("tests.shared.look_urls")
def test_page_signs_out_by_post_with_a_token():
    html = page()

    form = re.search(r'<form method="post" action="/sign-out/">(.*?)</form>', html).group(1)
    assert 'name="csrfmiddlewaretoken"' in form


def test_page_of_a_visitor_has_no_menu():
    html = page(user=SimpleNamespace(is_authenticated=False), menu=[("Board", "/b/", True)])

    assert "<details" not in html
    assert "/b/" not in html


def test_page_has_a_way_past_the_menu_and_says_its_messages():
    said = SimpleNamespace(level_tag="success")
    html = page(user=SimpleNamespace(is_authenticated=False), messages=[said])

    assert '<a class="skip" href="#main">' in html
    assert '<main id="main" tabindex="-1">' in html
    assert html.count('role="status" aria-live="polite"') == 1
    assert html.count('class="message message-success" data-buzz') == 1


@pytest.mark.parametrize(("left", "classes"), [(True, "work left-hand"), (False, "work")])
def test_work_page_turns_for_the_left_hand(left, classes):
    context = {"viewer": SimpleNamespace(left_hand=left)}
    html = render_to_string("shared/work.html", context, RequestFactory().get("/"))

    assert re.search(r'<body class="([^"]*)"', html).group(1) == classes
    assert " data-keep-awake>" in html


def test_field_ties_its_hint_and_its_mistake_to_the_input():
    field = MeterForm({"hours": "many"})["hours"]

    html = render_to_string("shared/_field.html", {"field": field})

    described = re.search(r'<input[^>]* aria-describedby="([^"]+)"', html).group(1).split()
    assert set(described) == {"id_hours_helptext", "id_hours_error"}
    assert all(html.count(f'id="{name}"') == 1 for name in described)
    assert '<label for="id_hours">Hours</label>' in html


@pytest.mark.parametrize(
    ("name", "start"),
    [
        ("look", '<fieldset class="field choices">\n  <legend>Look</legend>'),
        ("seen", '<div class="field field-check">\n  <input type="checkbox"'),
        ("note", '<div class="field">\n  <label for="id_note">Note <span class="need">'),
    ],
)
def test_field_is_framed_by_its_kind(name, start):
    html = render_to_string("shared/_field.html", {"field": MeterForm()[name]})

    assert html.startswith(start)

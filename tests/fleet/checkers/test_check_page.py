"""check.html in a browser, opened from a file: the same verdicts as check.py, and no network."""

import base64
import hashlib
import io
import re
from random import Random

import pytest

from fleet.checkers import check
from tests.fleet.checkers import damage, tampering
from tests.fleet.checkers.both_ways import NOT_BEGUN, PAGE, by_page, by_python
from tests.fleet.checkers.building import (
    KEY,
    READINGS,
    THIEF,
    Story,
    a_story,
    bundle_of,
    draft_of,
    hex_of,
    hidden,
    zipped,
)
from tests.fleet.checkers.leaving_out import WAYS, left_out, taken_back_or_later, without_a_cart

pytestmark = pytest.mark.browser


def words_of(page):
    return page.eval_on_selector_all("#checks > li p", "all => all.map(one => one.innerText)")


def words_by_python(data, text=""):
    given = check.given_checkpoints("kept", text) if text else []
    report, _bundle = check.check(io.BytesIO(data), given)
    return [line for name, _verdict in report.verdicts for line in report.found[name][1]]


def test_whole_bundle_is_told_in_the_same_words(opened):
    story = a_story()
    data, text = bundle_of(story), story.checkpoints[0].text

    verdicts = by_page(opened, data, text, number="42")

    assert verdicts == by_python(data, text)
    assert {verdict for _name, verdict in verdicts} == {"ok"}
    assert words_of(opened) == words_by_python(data, text)
    assert opened.inner_text("#conclusion") == "nothing failed"


def test_sample_is_the_same_list(opened):
    data = bundle_of(a_story())
    by_page(opened, data, number="42")
    _report, bundle = check.check(io.BytesIO(data))
    told = [line.split(". ", 1)[1] for line in list(check.sample_lines(bundle, "42"))[1:]]

    shown = opened.eval_on_selector_all("#sample-list li", "all => all.map(one => one.innerText)")

    assert [" ".join(line.split()) for line in shown] == [" ".join(line.split()) for line in told]


@pytest.mark.parametrize("kind", tampering.KINDS)
def test_tampered_bundles_get_the_same_verdicts_and_words(opened, kind):
    for seed in range(4):
        source = Random(f"{kind} in the page {seed}")
        tampered = tampering.KINDS[kind](tampering.small_story(seed), source)
        text = "\n".join(kept_text(one) for one in tampered.given)

        verdicts = by_page(opened, tampered.data, text)

        assert verdicts == by_python(tampered.data, text), seed
        shown = " ".join(words_of(opened))
        for _name, words in tampered.named:
            assert words in shown, seed


def kept_text(one):
    lines = [f"{name} {value}" for name, value in zip(one._fields, one, strict=True)]
    return "\n".join([check.HEADING, *lines, ""])


FILES = draft_of(tampering.small_story(3)).sealed()


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("damaged", damage.DAMAGES)
def test_damaged_zips_get_the_same_verdicts(opened, damaged):
    for seed in range(3):
        data = damaged(FILES, Random(f"{damaged.__name__} in the page {seed}"))

        assert by_page(opened, data) == by_python(data), seed


def restored():
    story = Story()
    story.tell(20)
    lost = story.keep_checkpoint()
    story.put_back(15, lost_to=20)
    story.tell(9)
    return bundle_of(story), lost


def rotated():
    story = Story()
    story.tell(9)
    kept = story.keep_checkpoint()
    story.rotate(THIEF)
    story.tell(9)
    return bundle_of(story), kept


def scoped():
    story = a_story()
    entries = [hidden(entry) if entry.seq % 3 == 0 else entry for entry in story.entries]
    draft = draft_of(story, entries, from_day="2026-03-01")
    draft.files["journal/checkpoints.txt"] += b"\n"
    return zipped(draft.sealed()), story.checkpoints[0].text


def odd_table(odd):
    draft = draft_of(a_story())
    draft.files[READINGS] = draft.files[READINGS][:300] + odd + draft.files[READINGS][300:]
    return zipped(draft.sealed()), ""


def odd_zone():
    return zipped(draft_of(a_story(), zone="Nowhere/At_All").sealed()), ""


STORIES = {
    "restored": restored,
    "rotated": rotated,
    "scoped": scoped,
    "odd zone": odd_zone,
    **{
        f"table with {odd!r}": lambda odd=odd: odd_table(odd)
        for odd in (b'"', b"\0", b"\xff", b",")
    },
}


@pytest.mark.parametrize("name", STORIES)
def test_other_stories_get_the_same_verdicts(opened, name):
    data, text = STORIES[name]()

    assert by_page(opened, data, text) == by_python(data, text)


def test_page_asks_nothing_of_a_network_that_is_there(opened):
    """The fixture counts every request that the page makes."""
    data = bundle_of(a_story(12))
    opened.context.set_offline(False)

    assert by_page(opened, data) == by_python(data)

    opened.context.set_offline(True)


def test_key_is_asked_for(opened):
    data = bundle_of(a_story(12))

    for key in (hex_of(KEY), hex_of(THIEF)):
        assert by_page(opened, data, key=key) == by_python(data, key=key)


@pytest.mark.parametrize(
    ("text", "key", "number"),
    [("no checkpoint", "", ""), ("", "12", ""), ("", "", "007"), ("", "", "x")],
)
def test_what_cannot_be_asked_is_said(opened, text, key, number):
    assert by_page(opened, bundle_of(a_story(12)), text, key, number) == NOT_BEGUN


def test_page_works_by_keyboard(opened):
    by_page(opened, bundle_of(a_story(12)))
    opened.focus("#sample")
    opened.keyboard.press("Tab")
    opened.keyboard.press("Enter")
    opened.wait_for_selector("#start:not([disabled])")

    assert opened.evaluate("document.activeElement.id") == "result"
    assert opened.inner_text("#conclusion") == "nothing failed"


def test_page_fits_a_phone(opened):
    by_page(opened, bundle_of(a_story(12)))

    assert opened.evaluate("document.documentElement.scrollWidth") <= 390


def test_browser_that_cannot_check_says_so(chromium):
    context = chromium.new_context()
    page = context.new_page()
    page.add_init_script("Object.defineProperty(crypto, 'subtle', { value: undefined })")
    page.goto(PAGE.as_uri())

    assert by_page(page, bundle_of(a_story(12))) == NOT_BEGUN
    assert "this browser cannot check signatures" in page.inner_text("#conclusion")
    context.close()


@pytest.mark.parametrize("tag", ["style", "script"])
def test_page_runs_only_what_its_policy_names(tag):
    """Changed it? Put the printed hash into the policy."""
    text = PAGE.read_text()
    (inside,) = re.findall(f"<{tag}>(.*?)</{tag}>", text, re.S)
    digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()

    assert f"{tag}-src 'sha256-{digest}'" in text
    assert "default-src 'none'" in text


@pytest.mark.parametrize("way", WAYS)
def test_what_tables_leave_out_is_named_in_the_same_words(opened, way):
    draft, _last = left_out(way)
    data = zipped(draft.sealed())

    assert by_page(opened, data) == by_python(data)
    assert words_of(opened) == words_by_python(data)


def test_a_cart_that_the_register_leaves_out_is_named_in_the_same_words(opened):
    data = zipped(without_a_cart()[0].sealed())

    assert by_page(opened, data) == by_python(data)
    assert words_of(opened) == words_by_python(data)


def test_what_tables_may_leave_out_is_no_fault(opened):
    by_page(opened, zipped(taken_back_or_later().sealed()))

    assert opened.inner_text("#conclusion") == "nothing failed"

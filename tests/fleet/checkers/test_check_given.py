"""What both checkers say of checkpoints that were given, and the words that they close with."""

import pytest

from fleet.checkers import check
from tests.fleet.checkers.both_ways import by_page
from tests.fleet.checkers.building import (
    KEY,
    LAST_KEY,
    LATER_KEY,
    THIEF,
    Story,
    a_story,
    bundle_of,
    draft_of,
    hex_of,
    zipped,
)

OF_GIVEN = "FAILED given-checkpoint: "


def grown(count=20):
    """Return a story of two dozen entries, and the checkpoint kept before the last of them."""
    story = Story()
    story.tell(count)
    kept = story.keep_checkpoint()
    story.tell(4)
    return story, kept


def restored():
    story, lost = grown()
    story.put_back(15, lost_to=24)
    story.tell(5)
    return bundle_of(story), lost


def older_than_the_checkpoint():
    story, _kept = grown()
    newest = story.sign().text
    story.entries = story.entries[:-2]
    return bundle_of(story), newest


def of_an_earlier_epoch():
    story, _kept = grown()
    data = bundle_of(story)
    story.put_back(15, lost_to=24)
    return data, story.sign().text


def with_a_spoilt_checkpoint():
    story, kept = grown()
    return bundle_of(story), kept.replace("size 20", "size 19")


def of_other_sites_alone():
    story, kept = grown()
    return bundle_of(story), kept.replace("b71d", "00ff") + kept.replace("b71d", "00fe")


def rewritten():
    genuine, story = Story(), Story()
    genuine.tell(20)
    story.reading(typed="another history")
    story.tell(20)
    return bundle_of(story), genuine.sign().text


def rewritten_and_cut():
    data, kept = rewritten()
    genuine = Story()
    genuine.tell(30)
    return data, kept + genuine.sign().text


def signed_by_somebody():
    """A checkpoint whose key leads nowhere; the bundle's own key was given beside it."""
    story, _kept = grown()
    return bundle_of(story), story.sign(THIEF).text


def damaged():
    story, _kept = grown()
    newest = story.sign().text
    story.entries = story.entries[:-2]
    return zipped({**draft_of(story).sealed(), "README.txt": b"another\r\n"}), newest


CALM = {
    restored: "entries 16 to 24 are missing for good, and a new bundle cannot bring them back",
    older_than_the_checkpoint: "the bundle is of 22 entries: entries 23 to 24 are not here. The"
    " checkpoint was signed later than what the bundle shows, or the bundle's end was cut off",
    of_an_earlier_epoch: "the bundle is of epoch 1. The checkpoint was signed later than what"
    " the bundle shows, or the bundle was rolled back",
    with_a_spoilt_checkpoint: "its signature is not that of its key",
    of_other_sites_alone: "2 checkpoints, of another site",
}
AGAINST = {rewritten: "rewritten", rewritten_and_cut: "rewritten", signed_by_somebody: "no signed"}


def run(folder, capsys, data, *texts, words=()):
    """Return the exit code of check.py and its lines; each text is a file of its own."""
    path, names = folder / "bundle.zip", []
    path.write_bytes(data)
    for place, text in enumerate(texts, start=1):
        names.append(folder / f"kept-{place}.txt")
        names[-1].write_text(text)
    given = ["--checkpoint", *map(str, names)] if names else []
    code = check.main([str(path), *given, *words])
    return code, capsys.readouterr().out.splitlines()


@pytest.mark.parametrize("story", CALM)
def test_comparison_that_fails_is_not_laid_upon_the_bundle(tmp_path, capsys, story):
    code, lines = run(tmp_path, capsys, *story())

    assert code == 1
    assert lines[-2:] == [check.BUNDLE_WHOLE, "1 check failed: given-checkpoint"]
    (told,) = [line for line in lines if line.startswith(OF_GIVEN)]
    assert CALM[story] in told
    assert "Do not rely" not in "\n".join(lines)


@pytest.mark.parametrize("story", AGAINST)
def test_history_that_the_checkpoint_contradicts_is_not_to_be_relied_on(tmp_path, capsys, story):
    code, lines = run(tmp_path, capsys, *story(), words=["--key", hex_of(KEY)])

    assert code == 1
    assert lines[-2:] == [check.CONTRADICTED, "1 check failed: given-checkpoint"]
    assert AGAINST[story] in "\n".join(lines)
    assert "Do not rely" in check.CONTRADICTED


def test_bundle_that_is_damaged_besides_is_not_called_whole(tmp_path, capsys):
    code, lines = run(tmp_path, capsys, *damaged())

    assert code == 1
    assert lines[-2:] == [check.NOT_RELIED_ON, "2 checks failed: files, given-checkpoint"]


def mails():
    """Return the checkpoints of three stories of this site, and two of others."""
    story, kept = grown()
    later = story.keep_checkpoint()
    story.tell(3)
    others = [kept.replace("b71d", other) for other in ("00ff", "00fe")]
    return bundle_of(story), kept, later, others


def test_checkpoints_of_other_sites_in_a_mail_are_left_out(tmp_path, capsys):
    data, kept, _later, others = mails()

    code, lines = run(tmp_path, capsys, data, f"Dear insurer,\n{others[0]}\n{kept}\n", others[1])

    assert (code, lines[-1]) == (0, "nothing failed")
    assert "Checkpoints given: 1 of this site, 2 of another site left out" in lines
    assert [line for line in lines if "only grew from it" in line] == [
        f"ok given-checkpoint: epoch 1, 20 entries, {kept.splitlines()[5][5:15]}:"
        " this history only grew from it"
    ]


def test_file_without_a_checkpoint_is_named_and_left_out(tmp_path, capsys):
    data, kept, _later, _others = mails()

    code, lines = run(tmp_path, capsys, data, "Dear insurer,", kept)

    assert (code, lines[-1]) == (0, "nothing failed")
    assert f"{tmp_path / 'kept-1.txt'} holds no checkpoint: left out" in lines


def test_files_that_hold_none_at_all_begin_nothing(tmp_path, capsys):
    code, lines = run(tmp_path, capsys, mails()[0], "Dear insurer,", "Dear both,")

    assert code == 2
    assert "kept-1.txt holds no checkpoint: give the eight lines" in lines[0]


def thrice_signed():
    story, _kept = grown()
    story.rotate(LATER_KEY)
    story.rotate(LAST_KEY)
    return bundle_of(story)


@pytest.mark.parametrize(
    ("given", "signed"), [(KEY, [LATER_KEY, LAST_KEY]), (LATER_KEY, [LAST_KEY]), (LAST_KEY, [])]
)
def test_line_of_the_key_tells_how_an_old_one_leads_to_the_new(tmp_path, capsys, given, signed):
    _code, lines = run(tmp_path, capsys, thrice_signed(), words=["--key", hex_of(given)])

    told = "".join(f", which signed the key {hex_of(key)}" for key in signed)
    end = " that this bundle is signed with" if signed else ""
    assert f"ok key: trusted: the public key that you gave, {hex_of(given)}{told}{end}" in lines


@pytest.mark.parametrize(
    ("kept", "told"),
    [(1, "1 earlier checkpoint shown"), (2, "2 earlier checkpoints shown")],
)
def test_one_is_told_in_the_singular(tmp_path, capsys, kept, told):
    story = Story()
    for _ in range(kept):
        story.tell(9)
        story.keep_checkpoint()

    _code, lines = run(tmp_path, capsys, bundle_of(story))

    assert f"ok proofs: {told} to be the beginning of this history" in lines


def test_bundle_without_an_earlier_checkpoint_says_so(tmp_path, capsys):
    story = Story()
    story.tell(9)

    _code, lines = run(tmp_path, capsys, bundle_of(story))

    assert "ok earlier-checkpoints: none was signed before, or is in this bundle" in lines
    assert "ok proofs: none is needed: there is no earlier checkpoint to prove growth from" in lines


def test_sample_stands_in_the_order_of_painted_numbers(tmp_path, capsys):
    _code, lines = run(tmp_path, capsys, bundle_of(a_story()), words=["--sample", "42"])

    start = lines.index("Sample for 42: 4 of 9 lifted carts, by painted number") + 1
    numbers = [int(line.split('"')[1]) for line in lines[start : start + 4]]
    assert numbers == sorted(numbers)


def test_painted_numbers_are_read_as_people_read_them():
    carts = [(str(n), cart) for n, cart in enumerate(["B10", "10", "b1", "B2", "2", "002", "Ω"])]

    in_order = [cart for _id, cart in sorted(carts, key=check.as_painted)]

    assert in_order == ["2", "002", "10", "B2", "B10", "b1", "Ω"]


def shown(page):
    """Return what the page shows, in the order in which check.py says it."""
    about = page.eval_on_selector_all("#about p", "all => all.map(one => one.innerText)")
    read = """rows => rows.flatMap(row => [...row.querySelectorAll('p')].map(line =>
        `${row.firstChild.innerText} ${row.querySelector('h3').innerText}: ${line.innerText}`))"""
    checks = page.eval_on_selector_all("#checks > li", read)
    return sorted([*about, *checks, page.inner_text("#conclusion")])


@pytest.mark.browser
@pytest.mark.parametrize("story", [*CALM, *AGAINST, damaged])
def test_page_says_and_closes_with_the_same_words(tmp_path, capsys, opened, story):
    data, text = story()
    _code, lines = run(tmp_path, capsys, data, text, words=["--key", hex_of(KEY)])

    by_page(opened, data, text, key=hex_of(KEY))

    assert shown(opened) == sorted(lines)


@pytest.mark.browser
def test_page_leaves_out_what_is_of_another_site_or_no_checkpoint(tmp_path, capsys, opened):
    data, kept, later, others = mails()
    files = ["Dear insurer,", kept + others[0], others[1]]
    _code, lines = run(tmp_path, capsys, data, later, *files)
    buffers = [
        {"name": f"kept-{place}.txt", "mimeType": "text/plain", "buffer": text.encode()}
        for place, text in enumerate(files, start=2)
    ]

    opened.set_input_files("#checkpoint-file", buffers)
    by_page(opened, data, later)
    opened.set_input_files("#checkpoint-file", [])

    assert shown(opened) == sorted(line.replace(f"{tmp_path}/", "") for line in lines)


@pytest.mark.browser
def test_page_says_in_the_same_words_that_nothing_was_signed_before(tmp_path, capsys, opened):
    story = Story()
    story.tell(9)
    _code, lines = run(tmp_path, capsys, bundle_of(story))

    by_page(opened, bundle_of(story))

    assert shown(opened) == sorted(lines)


@pytest.mark.browser
def test_page_follows_the_key_in_the_same_words(tmp_path, capsys, opened):
    data, old = thrice_signed(), hex_of(KEY)
    _code, lines = run(tmp_path, capsys, data, words=["--key", old])

    by_page(opened, data, key=old)

    assert shown(opened) == sorted(lines)


@pytest.mark.browser
def test_page_orders_painted_numbers_alike(opened):
    carts = ["B10", "10", "b1", "B2", "2", "002", "Ω", "\U0001f600", "\ufb33", ""]
    given = [{"id": str(n), "cart": cart} for n, cart in enumerate(carts)]

    by_page = opened.evaluate("all => inPaintedOrder(all).map(one => one.cart)", given)

    pairs = [(one["id"], one["cart"]) for one in given]
    assert by_page == [cart for _id, cart in sorted(pairs, key=check.as_painted)]

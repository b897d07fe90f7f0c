import pytest

from fleet.bundle import paper
from fleet.bundle.paper import press
from tests.fleet.papers import FINGERPRINT, ROOT, Prints, a_cart, bare, id_of, printed, tell

NOTE = "as they wrote it"


def one_of_each(**more):
    """Rows of a lifted cart with a round, a plain cart, and something late."""
    cart, other = a_cart(7, is_lifted="yes"), a_cart(9)
    about = {"cart_id": cart["cart_id"], "cart": "7"}
    done = {**about, "round": id_of(70), "done_at": "2026-03-10T09:00:00-04:00", "by": "P-0002"}
    return {
        "register": [cart, other],
        "rounds": [{**done, "note": NOTE}],
        "findings": [{**done, "part": "joints", "item": "left lugs", "found": "firm"}],
        "late_list": [{**about, "work": "Hub play", "state": "late"}],
        **more,
    }


def test_papers_are_named_in_order(tmp_path):
    prints = Prints(tell(tmp_path / "tables", **one_of_each()), tmp_path / "papers")

    assert prints.names == ["report.pdf", "register.pdf", "carts-001.pdf"]
    assert sorted(path.name for path in prints.to.iterdir()) == sorted(prints.names)


def test_papers_are_tagged_with_title_and_language(tmp_path):
    prints = Prints(tell(tmp_path / "tables", **one_of_each()), tmp_path / "papers")

    titles = ("audit report", "register of carts", "carts, part 1")
    for name, title in zip(prints.names, titles, strict=True):
        root = prints.reader(name).root_object
        assert prints.reader(name).metadata.title == f"Harbour Links: {title}"
        assert root["/MarkInfo"]["/Marked"]
        assert root["/Lang"] == "en"
        assert root["/ViewerPreferences"]["/DisplayDocTitle"]
        assert root["/StructTreeRoot"]
        assert prints.reader(name).outline


# ISO 14289-1 and ISO 19005-2 have a document name the standards it keeps in its XMP
def test_papers_name_the_standards_they_are_made_by(tmp_path):
    prints = Prints(tell(tmp_path / "tables", **one_of_each()), tmp_path / "papers")

    for name in prints.names:
        said = prints.reader(name).root_object["/Metadata"].get_data().decode()
        assert "<pdfuaid:part>1</pdfuaid:part>" in said
        assert "<pdfaid:part>2</pdfaid:part>" in said
        assert "<pdfaid:conformance>A</pdfaid:conformance>" in said


def test_every_page_says_at_its_foot_what_it_belongs_to(tmp_path):
    lines = [{**a_cart(7), "work": f"Work {place}", "state": "late"} for place in range(60)]
    tables = tell(tmp_path / "tables", **one_of_each(late_list=lines))

    prints = Prints(tables, tmp_path / "papers")

    for name in prints.names:
        pages = prints.pages(name)
        for place, page in enumerate(pages, start=1):
            assert f"page {place} of {len(pages)}" in page
            assert f"checkpoint epoch 3, size 11051, root {ROOT.hex()[:16]}" in page
            assert f"content {FINGERPRINT[:16]}" in page
            assert "Harbour Links · happened by 2026-03-12T09:00:00-04:00" in page
            assert name in page
    assert len(prints.pages("report.pdf")) > 6


def test_cover_says_root_key_and_fingerprint_in_full(tmp_path):
    prints = Prints(tell(tmp_path / "tables"), tmp_path / "papers")

    cover = prints.cover()
    # the public key of RFC 8032's algorithm for a private key of 32 zero bytes
    assert "3b6a27bcceb6a42d62a3a8d02a6f0d73653215771de243a63ac048a18b59da29" in cover
    assert ROOT.hex() in cover
    assert FINGERPRINT in cover
    assert "2026-03-12 09:00:00-04:00 (America/New_York)" in cover
    assert "Made by a test" in cover
    assert "No record can prove that" in cover


def test_same_tables_give_the_same_bytes(tmp_path):
    tables = tell(tmp_path / "tables", **one_of_each())

    first, second = Prints(tables, tmp_path / "one"), Prints(tables, tmp_path / "two")

    for name in first.names:
        assert (first.to / name).read_bytes() == (second.to / name).read_bytes()


MARKUP = ("#panic()", "$x^2$", "*bold*", "<b>bold</b>", "`raw`", "@name", "// gone", "\\ #", "[a]")


def test_texts_are_never_read_as_markup(tmp_path):
    reports = [{**a_cart(7), "noticed": "note", "text": text} for text in MARKUP]
    tables = tell(tmp_path / "tables", **one_of_each(reports=reports))

    prints = Prints(tables, tmp_path / "papers")

    for text in MARKUP:
        assert printed(prints, "carts-001.pdf", text)


def test_text_kept_from_spreadsheets_is_printed_without_the_mark(tmp_path):
    reports = [{**a_cart(7), "noticed": "note", "text": "=1+1"}]
    tables = tell(tmp_path / "tables", **one_of_each(reports=reports))

    prints = Prints(tables, tmp_path / "papers")

    assert "'=1+1" in (tables / "reports.csv").read_text()
    assert "note =1+1" in prints.text("carts-001.pdf")


def test_letters_that_the_print_lacks_stand_as_numbers(tmp_path):
    said = ("漢", "Žluť\u202egnp\U0001f984", "one\ttwo")
    reports = [{**a_cart(7), "noticed": "note", "text": text} for text in said]
    tables = tell(tmp_path / "tables", **one_of_each(reports=reports))

    text = Prints(tables, tmp_path / "papers").text("carts-001.pdf")

    assert "note [U+6F22] note Žluť[U+202E]gnp[U+1F984] note one two" in text


def test_letters_written_from_the_right_are_printed(tmp_path):
    carts = [a_cart("שלום"), a_cart("محمد")]
    tables = tell(tmp_path / "tables", register=carts)

    text = Prints(tables, tmp_path / "papers").text("register.pdf")

    assert "שלום" in text or "םולש" in text
    assert set("محمد") <= set(text)


def test_a_site_without_anything_says_so(tmp_path):
    prints = Prints(tell(tmp_path / "tables"), tmp_path / "papers")

    assert prints.names == ["report.pdf", "register.pdf"]
    assert "Late and stopped, and why: 0" in prints.text("report.pdf")
    assert "None recorded." in prints.text("report.pdf")
    assert prints.text("register.pdf").count("None recorded.") == 2


def test_register_names_the_print_of_each_chapter(tmp_path, monkeypatch):
    monkeypatch.setattr(paper, "MOST_LINES", 30)
    carts = [a_cart(number, is_lifted="yes") for number in range(1, 9)]
    tags = [{**cart, "tag": id_of(90), "reason": f"Rim {cart['cart']}"} for cart in carts]
    tables = tell(tmp_path / "tables", register=carts, tags=tags)

    prints = Prints(tables, tmp_path / "papers")

    register = prints.text("register.pdf")
    chapters = [name for name in prints.names if name.startswith("carts")]
    assert len(chapters) > 2
    for name in chapters:
        assert name in register
    for cart in carts:
        (print_of,) = [name for name in chapters if f"Rim {cart['cart']} " in prints.text(name)]
        assert f"Cart {cart['cart']}" in prints.text(print_of)


def test_rule_book_is_the_last_in_force_by_then(tmp_path):
    versions = (("1", "02-01", "Joint round"), ("2", "03-01", "Grease"), ("3", "03-13", "Hub play"))
    rules = [
        {"version": version, "in_force_from": f"2026-{day}T08:00:00-05:00", "title": title}
        for version, day, title in versions
    ]

    report = Prints(tell(tmp_path / "tables", rules=rules), tmp_path / "papers").text("report.pdf")

    assert "Grease" in report
    assert "Joint round" not in report
    assert "Hub play" not in report


def test_each_chapter_begins_a_page(tmp_path):
    carts = [a_cart(number, is_lifted="yes") for number in (3, 5, 8)]
    tables = tell(tmp_path / "tables", register=carts, tags=[{**cart} for cart in carts])

    pages = Prints(tables, tmp_path / "papers").pages("carts-001.pdf")

    assert [page[:6] for page in pages] == ["Cart 3", "Cart 5", "Cart 8"]


def test_what_is_too_long_goes_on_in_further_prints(tmp_path, monkeypatch):
    monkeypatch.setattr(paper, "MOST_LINES", 40)
    carts = [a_cart(number) for number in range(1, 101)]
    late = [{**a_cart(7), "work": f"Work-{place:03}-", "state": "late"} for place in range(100)]
    tables = tell(tmp_path / "tables", register=carts, late_list=late)

    prints = Prints(tables, tmp_path / "papers")

    assert [name for name in prints.names if name.startswith("register")] == [
        "register.pdf",
        "register-2.pdf",
        "register-3.pdf",
    ]
    exceptions = [name for name in prints.names if name.startswith(("report", "exceptions"))]
    assert exceptions[:3] == ["report.pdf", "exceptions-2.pdf", "exceptions-3.pdf"]
    assert "exceptions: more in exceptions-2.pdf" in prints.text("report.pdf")
    assert "Late and stopped, and why: 100, continued" in prints.text("exceptions-2.pdf")
    said = bare("".join(prints.text(name) for name in exceptions))
    places = [said.index(f"Work-{place:03}-") for place in range(100)]
    assert places == sorted(places)


class Enough(Exception):
    """The job was cancelled."""


def test_a_cancel_between_prints_ends_the_work_and_leaves_no_scraps(tmp_path, monkeypatch):
    monkeypatch.setattr(paper, "MOST_LINES", 30)
    carts = [a_cart(number, is_lifted="yes") for number in range(1, 9)]
    tables = tell(tmp_path / "tables", register=carts, tags=[{**cart} for cart in carts])

    def cancelled(percent):
        raise Enough

    with pytest.raises(Enough):
        Prints(tables, tmp_path / "papers", progress=cancelled)

    assert [path.name for path in (tmp_path / "papers").iterdir()] == ["carts-001.pdf"]


def test_progress_is_told_after_each_print_and_never_falls(tmp_path, monkeypatch):
    monkeypatch.setattr(paper, "MOST_LINES", 30)
    carts = [a_cart(number, is_lifted="yes") for number in range(1, 9)]
    tables = tell(tmp_path / "tables", register=carts, tags=[{**cart} for cart in carts])
    told = []

    prints = Prints(tables, tmp_path / "papers", progress=told.append)

    assert len(told) == len(prints.names)
    assert told == sorted(told)
    assert told[-1] <= 100


@pytest.mark.parametrize(
    ("source", "fault"),
    [
        ('#read("{folder}/outside.txt")', "exit 1"),
        ('#read("/../outside.txt")', "exit 1"),
        ('#import "@preview/cetz:0.3.0"', "exit 1"),
        ("#let grow(n) = range(n).map(i => range(n).map(j => str(i * j)))\n#grow(9000)", "exit"),
    ],
    ids=["outside", "above", "package", "memory"],
)
def test_child_reads_nothing_else_and_stays_small(tmp_path, monkeypatch, source, fault):
    (tmp_path / "outside.txt").write_text("not for print")
    monkeypatch.setattr(press, "SOURCE", tmp_path / "paper.typ")
    source = source.replace("{folder}", str(tmp_path))
    press.SOURCE.write_text(f'#set document(title: "x", date: datetime.today())\n{source}')

    with pytest.raises(press.NotSet, match=fault):
        press.press({}, tmp_path / "made.pdf")

    assert not (tmp_path / "made.pdf").exists()

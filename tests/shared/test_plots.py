import re
from datetime import date
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.plates import qr_svg
from shared.plots import STATES, Forecast, Frame, Limit, Week, Words, nice_steps, use_plot
from shared.plots import work_by_week as drawn_weeks

SVG = "{http://www.w3.org/2000/svg}"
LINE = f"{SVG}polyline"
WORDS = Words("Use of cart <7>", 'Hours "now" & later')
NAMES = {"late": "late", "due": "due", "open": "open", "ahead": "ahead"}
DAYS = [(date(2026, 3, 2), 412.0), (date(2026, 3, 16), 430.5), (date(2026, 3, 30), 446.0)]


def work_by_week(*weeks, names=NAMES):
    return drawn_weeks(weeks, words=WORDS, names=names, key="weeks")


def texts(svg):
    return [node.text for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def bars(svg):
    """Return (pattern, x, width) of each stretch of the bars, without the heads' swatches."""
    stretch = r'x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="16" fill="url\(#weeks-(\w+)\)"'
    return [(state, float(x), float(width)) for x, width, state in re.findall(stretch, svg)]


def test_frame_puts_the_ends_of_the_days_and_readings_at_its_edges():
    frame = Frame(date(2026, 1, 1), date(2026, 1, 11), 100, 200, 50, 350, 20, 180)

    assert [frame.x(date(2026, 1, day)) for day in (1, 6, 11)] == [50, 200, 350]
    assert [frame.y(reading) for reading in (100, 150, 200)] == [180, 100, 20]


@pytest.mark.parametrize(
    ("low", "high", "steps"),
    [
        (412, 446, [420, 430, 440]),
        (0, 4, [0, 1, 2, 3, 4]),
        (-0.1, 0.1, [-0.1, -0.05, 0, 0.05, 0.1]),
        (1850, 9990, [2000, 4000, 6000, 8000]),
    ],
)
def test_nice_steps_are_round_and_inside(low, high, steps):
    assert nice_steps(low, high, 3) == pytest.approx(steps)


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_nice_steps_are_neither_none_nor_many(low, span):
    assert 3 <= len(nice_steps(low, low + span, 3)) <= 9


def test_nice_steps_refuses_a_span_of_nothing():
    with pytest.raises(ValueError, match="not 3 and 3"):
        nice_steps(3, 3, 3)


def test_use_plot_says_what_it_is_to_who_cannot_see_it():
    root = ElementTree.fromstring(use_plot(DAYS, words=WORDS, unit="h", key="cart7"))

    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "cart7-title cart7-told"
    assert root.find(f"{SVG}title").text == "Use of cart <7>"
    assert root.find(f"{SVG}desc").text == 'Hours "now" & later'


def test_use_plot_marks_each_reading_and_names_unit_limit_and_days():
    svg = use_plot(DAYS, words=WORDS, unit="h", limits=[Limit("settle check", 437.0)])

    assert svg.count("<circle") - svg.count('r="0.9"') == 3
    assert texts(svg) == [
        "h",
        *["410", "420", "430", "440"],
        *["2026-03-02", "2026-03-16", "2026-03-30"],
        "settle check 437",
    ]


def test_use_plot_writes_days_as_it_is_told():
    svg = use_plot(DAYS, words=WORDS, unit="h", say_day=lambda day: f"{day:%m/%d/%Y}")

    assert texts(svg)[-3:] == ["03/02/2026", "03/16/2026", "03/30/2026"]


def test_use_plot_goes_on_from_the_last_reading_as_a_band():
    forecast = [
        Forecast(date(2026, 4, 13), 458, 463, 468),
        Forecast(date(2026, 4, 27), 470, 480, 490),
    ]

    svg = use_plot(DAYS, words=WORDS, unit="h", forecast=forecast)

    root = ElementTree.fromstring(svg)
    band = root.find(f"{SVG}polygon")
    corners = [tuple(map(float, pair.split(","))) for pair in band.get("points").split()]
    assert [x for x, _ in corners] == [222.0, 307.0, 392.0, 392.0, 307.0]
    _, low_near, low_far, high_far, high_near = (y for _, y in corners)
    assert low_near > high_near
    assert low_far > high_far
    lines = [(line.get("stroke"), line.get("stroke-dasharray")) for line in root.iter(LINE)]
    assert lines == [("#fff", "none"), ("currentColor", "5 3"), ("currentColor", "none")]
    assert band.get("fill") == "url(#use-band)"
    assert 'id="use-band"' in svg


def test_use_plot_of_one_reading_still_has_days_and_readings_around_it():
    svg = use_plot(DAYS[:1], words=WORDS, unit="h")

    assert texts(svg)[-3:] == ["2026-03-02", "2026-03-06", "2026-03-09"]


@pytest.mark.parametrize(("today", "drawn"), [(date(2026, 3, 20), 1), (date(2026, 5, 1), 0)])
def test_use_plot_draws_today_only_among_the_days_shown(today, drawn):
    svg = use_plot(DAYS, words=WORDS, unit="h", today=today)

    assert svg.count('stroke-dasharray="2 3"') == drawn


@pytest.mark.parametrize(
    ("readings", "message"),
    [
        ([], "at least one"),
        (DAYS[::-1], "not 2026-03-16 after 2026-03-30"),
        ([(date(2026, 3, 2), float("nan"))], "not nan"),
    ],
)
def test_use_plot_refuses_what_it_cannot_draw(readings, message):
    with pytest.raises(ValueError, match=message):
        use_plot(readings, words=WORDS, unit="h")


def test_work_by_week_gives_every_count_in_figures():
    svg = work_by_week(Week("6 Apr", {"late": 3, "due": 7, "open": 12, "ahead": 4}))

    assert texts(svg) == ["late", "due", "open", "ahead", "6 Apr", "3", "7", "12", "4"]


def test_work_by_week_shares_one_scale_and_stacks_in_order():
    svg = work_by_week(
        Week("6 Apr", {"ahead": 1, "late": 3}), Week("13 Apr", {"due": 2}), Week("20 Apr", {})
    )

    assert bars(svg) == [
        ("late", 254, 106.5),
        ("ahead", 360.5, 35.5),
        ("due", 254, 71.0),
    ]


def test_work_by_week_tells_states_apart_without_colour():
    svg = work_by_week(Week("6 Apr", {}))

    fills = re.findall(r'<pattern id="weeks-(\w+)"[^>]*>(.*?)</pattern>', svg)
    assert [state for state, _ in fills] == list(STATES)
    assert len({fill for _, fill in fills}) == 4
    assert not set(re.findall(r"#[0-9a-f]{3,6}\b", svg)) - {"#fff"}


@pytest.mark.parametrize(
    ("counts", "names", "message"),
    [
        ({"stopped": 1}, NAMES, "not 'stopped'"),
        ({"late": -1}, NAMES, "not -1"),
        ({"late": 1}, {"late": "late"}, "a word for 'due'"),
    ],
)
def test_work_by_week_refuses_what_it_cannot_draw(counts, names, message):
    with pytest.raises(ValueError, match=message):
        work_by_week(Week("6 Apr", counts), names=names)


def test_drawings_need_no_style_of_their_own():
    drawings = use_plot(DAYS, words=WORDS, unit="h") + work_by_week(Week("6 Apr", {"due": 1}))

    assert "style" not in drawings


def test_qr_svg_is_a_square_with_its_quiet_zone():
    svg = qr_svg("https://fleet.example/p/7fQ2kd93", title="Plate of cart <7>")

    root = ElementTree.fromstring(svg)
    _, _, width, height = map(int, root.get("viewBox").split())
    assert width == height
    # ISO/IEC 18004: 17 + 4 x version, a finder of 7 behind 4 light modules
    assert (width - 8 - 17) % 4 == 0
    assert re.search(r' d="M4 4\.5h7', svg)
    assert root.find("title").text == "Plate of cart <7>"
    assert "style" not in svg


def test_qr_svg_differs_by_what_it_holds():
    assert qr_svg("a", title="") != qr_svg("b", title="")


@pytest.mark.parametrize("content", ["", "x" * 401])
def test_qr_svg_refuses_what_no_plate_can_hold(content):
    with pytest.raises(ValueError, match=f"not {len(content)}"):
        qr_svg(content, title="")


def test_use_plot_keeps_the_names_of_close_limits_apart():
    limits = [Limit("Settle check", 1914), Limit("Second settle check", 1915)]
    readings = [(date(2026, 3, 2), 1000), (date(2026, 6, 2), 1900)]

    svg = use_plot(readings, words=Words("Use", "Use by day"), unit="h", limits=limits)

    heights = [float(y) for y in re.findall(r'y="([0-9.]+)"[^>]*>[^<]*check', svg)]
    assert len(heights) == 2
    assert abs(heights[0] - heights[1]) >= 13

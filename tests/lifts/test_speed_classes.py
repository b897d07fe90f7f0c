from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.speed_classes import (
    BOUNDARY,
    Limit,
    SpeedClass,
    as_json,
    classes_from_json,
    classify,
    default_classes,
    limits_of,
    read_classes,
)

D = Decimal
ROW = {"code": "slow", "name": "Slow", "source": "our own", "edition": "2026", "limit_kmh": 20}
SLOW = SpeedClass("slow", "Slow", "our own", "2026", limit_kmh=D(20))
BOTH = replace(SLOW, code="both", limit_kmh=D(32), limit_mph=D(20))


def fit(kmh, *classes, gross_kg="500", wheels=4, persons=2, payload_kg=None):
    return classify(
        D(kmh),
        gross_kg=D(gross_kg),
        wheels=wheels,
        persons=persons,
        classes=classes,
        payload_kg=payload_kg,
    )


def test_default_classes_are_narrowest_first():
    assert [(row.code, limits_of(row).text) for row in default_classes()] == [
        ("golf-car", "below 15 mph (24 km/h)"),
        ("personal-transport-vehicle", "below 20 mph (32 km/h)"),
        ("low-speed-vehicle", "at most 25 mph (40 km/h)"),
        ("golf-cart-florida", "at most 20 mph"),
    ]


def test_each_default_class_says_where_it_is_from():
    assert [row.code for row in default_classes() if not (row.source and row.edition)] == []
    assert [row.code for row in default_classes() if not row.note] == []


def test_limits_of_keeps_both_readings_exactly():
    assert limits_of(BOTH) == Limit(D(32), D("32.186880"), False, "at most 20 mph (32 km/h)")
    assert limits_of(BOTH).uppers_kmh == (D(32), D("32.18688"))


def test_limits_of_leaves_out_a_reading_that_is_not_printed():
    assert limits_of(SLOW) == Limit(D(20), None, False, "at most 20 km/h")
    assert limits_of(SLOW).uppers_kmh == (D(20),)


@pytest.mark.parametrize(("kmh", "said"), [("20", "slow"), ("20.01", None)])
def test_classify_at_a_limit(kmh, said):
    assert fit(kmh, SLOW) == said


@pytest.mark.parametrize(("kmh", "said"), [("19.99", "slow"), ("20", None)])
def test_classify_below_a_limit(kmh, said):
    assert fit(kmh, replace(SLOW, limit_is_below=True)) == said


@pytest.mark.parametrize(("kmh", "said"), [("10", None), ("10.01", "slow")])
def test_classify_asks_for_more_than_the_lower_bound(kmh, said):
    assert fit(kmh, replace(SLOW, over_kmh=D(10))) == said


def test_classify_takes_the_first_class_that_fits():
    fast = replace(SLOW, code="fast", limit_kmh=D(40))

    assert [fit(kmh, SLOW, fast) for kmh in ("15", "30", "50")] == ["slow", "fast", None]


def test_classify_leaves_to_a_person_what_the_readings_part():
    wide = replace(SLOW, code="wide", limit_kmh=D(60))

    assert [fit(kmh, BOTH, wide) for kmh in ("32", "32.1", "32.18688", "32.2")] == [
        "both",
        BOUNDARY,
        BOUNDARY,
        "wide",
    ]


def test_classify_leaves_nothing_open_where_another_bound_refuses():
    four = replace(BOTH, wheels=4)

    assert fit("32.1", four, wheels=3) is None


@pytest.mark.parametrize(
    ("bound", "kept", "broken"),
    [
        ({"most_gross_kg": D(500)}, {"gross_kg": "500"}, {"gross_kg": "500.1"}),
        (
            {"most_gross_kg": D(500), "gross_is_below": True},
            {"gross_kg": "499.9"},
            {"gross_kg": "500"},
        ),
        ({"most_payload_kg": D(200)}, {"payload_kg": D(200)}, {"payload_kg": D(201)}),
        ({"most_payload_kg": D(200)}, {"payload_kg": None}, {"payload_kg": D(201)}),
        ({"most_persons": 4}, {"persons": 4}, {"persons": 5}),
        ({"wheels": 4}, {"wheels": 4}, {"wheels": 6}),
        ({"wheels": 4, "wheels_or_more": True}, {"wheels": 6}, {"wheels": 3}),
    ],
)
def test_classify_asks_for_each_bound(bound, kept, broken):
    asking = replace(SLOW, **bound)

    assert (fit("15", asking, **kept), fit("15", asking, **broken)) == ("slow", None)


def test_classes_from_json_reads_figures_as_strings_or_whole_numbers():
    assert classes_from_json([ROW]) == (SLOW,)
    assert classes_from_json([{**ROW, "limit_kmh": "20"}]) == (SLOW,)
    assert classes_from_json([]) == ()


def test_as_json_leaves_out_what_a_class_leaves_open():
    assert as_json([BOTH]) == [
        {**ROW, "code": "both", "limit_kmh": "32", "limit_mph": "20"},
    ]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"code": None}, "class None: code is missing"),
        ({"source": ""}, "class slow: source is missing"),
        ({"speed": 3}, "class slow: speed is not one of code, name"),
        ({"limit_kmh": 20.5}, "limit_kmh must be a number above 0 and below 100000, not 20.5"),
        ({"limit_kmh": True}, "limit_kmh must be a number .*, not True"),
        ({"limit_kmh": "fast"}, "limit_kmh must be a number .*, not 'fast'"),
        ({"limit_kmh": "NaN"}, "limit_kmh must be a number .*, not 'NaN'"),
        ({"limit_kmh": "0"}, "limit_kmh must be a number .*, not '0'"),
        ({"limit_kmh": "1e9"}, "limit_kmh must be a number .*, not '1e9'"),
        ({"limit_is_below": 1}, "limit_is_below must be true or false, not 1"),
        ({"wheels": "4"}, "wheels must be a whole number above 0, not '4'"),
        ({"wheels": True}, "wheels must be a whole number above 0, not True"),
        ({"most_persons": 0}, "most_persons must be a whole number above 0, not 0"),
        ({"name": 7}, "class slow: name must be a text, not 7"),
        ({"code": "Slow one"}, "code must be small letters, digits and hyphens, not 'Slow one'"),
        ({"code": "boundary"}, "code must be .*, not 'boundary'"),
        ({"over_kmh": 20}, "class slow: over must be lower than limit"),
        ({"limit_mph": 20}, "class slow: limit_kmh and limit_mph are too far apart to be one"),
    ],
)
def test_classes_from_json_names_what_is_wrong(change, said):
    with pytest.raises(ValueError, match=said):
        classes_from_json([{**ROW, **change}])


@pytest.mark.parametrize("kmh", ["31.6", "32.8"])  # 20 mph is 32.187 km/h
def test_two_readings_two_percent_apart_are_roundings(kmh):
    assert classes_from_json([{**ROW, "limit_kmh": kmh, "limit_mph": 20}])[0].limit_kmh == D(kmh)


@pytest.mark.parametrize("kmh", ["31.5", "32.9"])
def test_two_readings_further_apart_are_a_slip(kmh):
    with pytest.raises(ValueError, match="are too far apart to be one limit"):
        classes_from_json([{**ROW, "limit_kmh": kmh, "limit_mph": 20}])


def test_classes_from_json_refuses_a_class_without_a_limit():
    without = {key: value for key, value in ROW.items() if key != "limit_kmh"}

    with pytest.raises(ValueError, match="class slow: needs limit_mph or limit_kmh"):
        classes_from_json([without])


def test_classes_from_json_refuses_a_code_twice():
    with pytest.raises(ValueError, match="class slow: stands there twice"):
        classes_from_json([ROW, {**ROW, "name": "Slower"}])


@pytest.mark.parametrize("rows", [None, "classes", {"class": []}, [["slow"]]])
def test_classes_from_json_refuses_what_is_no_list_of_tables(rows):
    with pytest.raises(ValueError, match="the speed classes are a list of tables"):
        classes_from_json(rows)


@pytest.mark.parametrize(
    ("text", "said"),
    [("[[class", "are not TOML"), ("[[klass]]\ncode = 'x'", r"are tables \[\[class\]\], not")],
)
def test_read_classes_refuses(text, said):
    with pytest.raises(ValueError, match=said):
        read_classes(text)


def test_read_classes_keeps_the_digits_of_a_figure():
    row = "\n".join(f"{key} = {value!r}" for key, value in {**ROW, "limit_kmh": 19.9}.items())

    assert read_classes(f"[[class]]\n{row}")[0].limit_kmh == D("19.9")


FIGURES = st.decimals("0.1", 90, places=1)
COUNTS = st.none() | st.integers(1, 9)
CLASSES = st.builds(
    SpeedClass,
    code=st.from_regex("[a-z]{1,8}(-[0-9]{1,3})?", fullmatch=True).filter(
        lambda code: code != BOUNDARY
    ),
    name=st.text(min_size=1),
    source=st.text(min_size=1),
    edition=st.text(min_size=1),
    limit_kmh=FIGURES,
    limit_is_below=st.booleans(),
    most_gross_lb=st.none() | FIGURES,
    gross_is_below=st.booleans(),
    most_persons=COUNTS,
    wheels=COUNTS,
    wheels_or_more=st.booleans(),
    note=st.text(),
)


@given(st.lists(CLASSES, unique_by=lambda row: row.code, max_size=4))
def test_a_table_stored_and_read_again_is_the_same(classes):
    assert classes_from_json(as_json(classes)) == tuple(classes)


def test_the_default_table_stored_and_read_again_is_the_same():
    assert classes_from_json(as_json(default_classes())) == default_classes()


SPEEDS = st.decimals(1, 60, places=3)


@given(SPEEDS, st.decimals(300, 1500, places=1), st.integers(3, 6), st.integers(1, 6))
def test_the_class_found_is_the_first_that_takes_the_vehicle_alone(kmh, gross, wheels, persons):
    vehicle = {"gross_kg": gross, "wheels": wheels, "persons": persons}
    alone = [fit(kmh, row, **vehicle) for row in default_classes()]

    found = fit(kmh, *default_classes(), **vehicle)

    assert found == next(filter(None, alone), None)


@given(SPEEDS, SPEEDS)
def test_slower_is_never_taken_for_less(one, other):
    """Without a lower bound, what a class takes at one speed it takes at every lower one."""
    slow, fast = sorted([one, other])

    if fit(fast, BOTH) == "both":
        assert fit(slow, BOTH) == "both"

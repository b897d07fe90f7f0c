"""Each of the twenty questions names tables and columns that are there, or what is missing."""

import re

import pytest

from fleet.bundle.paper.places import place_of
from fleet.bundle.questions import PRINTED, QUESTIONS, printed
from fleet.bundle.tables import all_tables

COLUMNS = {table.name: set(table.names) for table in all_tables()}


def test_there_are_twenty_questions_each_its_own():
    assert len({str(asked.words) for asked in QUESTIONS}) == len(QUESTIONS) == 20


@pytest.mark.parametrize("asked", QUESTIONS, ids=lambda asked: str(asked.words))
def test_question_is_answered_by_columns_that_are_there_or_says_what_is_missing(asked):
    named = {(file, column) for file, columns in asked.told.items() for column in columns}

    there = {(file, column) for file, columns in COLUMNS.items() for column in columns}
    assert named - there == set()
    assert all(asked.told.values())
    assert asked.told or asked.missing
    assert str(asked.words).endswith("?")


def test_a_figure_is_named_with_its_unit_and_a_start_with_what_it_is_found_by():
    units = {
        (table.name, column.name): str(column.unit)
        for table in all_tables()
        for column in table.columns
    }

    for asked in QUESTIONS:
        for file, columns in asked.told.items():
            if any(units[file, column] == "see unit" for column in columns):
                assert "unit" in columns, asked.words
            # what a started_by names is looked up beside it
            if "started_by" in columns:
                assert "wheel_off" in asked.told["wheels_off.csv"], asked.words


def test_where_it_is_printed_is_where_the_prints_have_it():
    files = {file for asked in QUESTIONS for file in asked.told}

    assert {file: str(printed(file)) for file in files} == {file: place_of(file) for file in files}
    assert PRINTED.keys() <= files
    assert printed("") == ""


def test_no_table_promises_what_it_cannot_know():
    texts = [str(text) for table in all_tables() for text in (table.about, *_meanings(table))]

    assert len(texts) > 300 and all(texts)
    said = [text for text in texts if re.search(r"\b(safe|compliant|certified)\b", text, re.I)]
    assert said == []


def _meanings(table):
    return [column.meaning for column in table.columns]


def test_keys_and_entries_are_columns_of_their_table():
    for table in all_tables():
        assert {*table.key, *filter(None, [table.entry])} <= set(table.names), table.name

"""Bundles that the site signed, and whose tables leave out what the entries tell."""

import json

from tests.fleet.checkers.building import (
    READING_COLUMNS,
    READINGS,
    Story,
    csv_of,
    draft_of,
    moment,
    reading_row,
)

META = f"{READINGS}-metadata.json"


def told_readings(story):
    return [entry.said for entry in story.entries if entry.said["kind"] == "fleet.reading"]


def without_the_last_row(draft, story):
    rows = [reading_row(body) for body in told_readings(story)]
    draft.files[READINGS] = csv_of(READING_COLUMNS, rows[:-1])


def without_the_table(draft, _story):
    del draft.files[READINGS], draft.files[META]


def without_saying_what_it_repeats(draft, _story):
    said = json.loads(draft.files[META])
    del said["tableSchema"]["aboutUrl"]
    draft.files[META] = json.dumps(said).encode()


WAYS = [without_the_last_row, without_the_table, without_saying_what_it_repeats]


def left_out(way):
    """Return a draft that leaves out its last entry, a reading, and how many entries it has."""
    story = Story()
    story.tell(7)
    story.reading()
    draft = draft_of(story)
    way(draft, story)
    return draft, len(story.entries)


def taken_back_or_later():
    """Return a draft in which no row tells of what was taken back, or was yet to happen."""
    story = Story()
    story.tell(3)
    target = story.reading()
    story.add("shared.strike", corrects=target, why_corrected="Wrong cart")
    later = story.reading(done_at="2036-01-01T00:00:00.000000+00:00")
    draft = draft_of(story, happened_by=moment(story.now))
    bodies = [body for body in told_readings(story) if body["id"] not in (target, later)]
    draft.files[READINGS] = csv_of(READING_COLUMNS, map(reading_row, bodies))
    return draft


def without_a_cart():
    """Return a draft whose register lacks the cart that its last entry brought."""
    story = Story()
    story.tell(7)
    story.add("shared.change", what="joined", cart_id=story.new_id(), value={"number": "77"})
    return draft_of(story), len(story.entries)

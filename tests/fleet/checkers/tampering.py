"""Ten kinds of tampering with a bundle, each by somebody who may sign or may not.

Each takes a story and a random source, and returns what a surveyor gets: the ZIP, the
checkpoints that he kept, and what must be named: (check, words in one of its lines).
"""

from copy import deepcopy
from dataclasses import dataclass

from fleet.checkers import check
from tests.fleet.checkers.building import (
    ENTRIES,
    KEY,
    OTHER_SITE,
    READINGS,
    THIEF,
    Entry,
    Story,
    canonical,
    draft_of,
    zipped,
)


@dataclass(frozen=True)
class Tampered:
    data: bytes
    named: list
    given: tuple = ()


def given(*statements):
    """Return checkpoints as check.py reads them from what was kept."""
    text = "\n".join(statement.text for statement in statements)
    return tuple(check.given_checkpoints("kept", text)) if statements else ()


def changed(entry, leaf=None, **values):
    """Return the entry with another body; its leaf is the old one unless computed anew."""
    anew = Entry.of(entry.seq, canonical(entry.said | values), entry.salt)
    return Entry(anew.seq, leaf or anew.leaf, anew.salt, anew.body)


def are(first, last):
    return f"entry {first} is" if first == last else f"entries {first} to {last} are"


def in_range(story, seq):
    """Return the range that a changed entry lies in, between what was signed around it."""
    sizes = [0, *(kept.size for kept in story.checkpoints), len(story.entries)]
    before = max(size for size in sizes if size < seq)
    return are(before + 1, min(size for size in sizes if size >= seq))


def unsigned(story, entries, random):
    """Return a ZIP of changed entries whose manifest nobody signed anew.

    At random the thief lets the manifest agree with what it is about.
    """
    draft = draft_of(story)
    files = draft.sealed()
    files[ENTRIES] = b"".join(entry.line() for entry in entries)
    if random.random() < 0.5:
        draft.files[ENTRIES] = files[ENTRIES]
        draft.list_files()
        files["manifest.json"] = canonical(draft.manifest)
    return zipped(files)


def tell_of(name, files, draft):
    """Let the manifest tell of a changed file, without a signature over it."""
    draft.files[name] = files[name]
    draft.list_files()
    files["manifest.json"] = canonical(draft.manifest)


def edit(story, random):
    place = random.randrange(len(story.entries))
    entries, seq = list(story.entries), place + 1
    is_leaf_anew = random.random() < 0.5
    leaf = None if is_leaf_anew else entries[place].leaf
    entries[place] = changed(entries[place], leaf, by=story.new_id())
    named = (
        ("root", in_range(story, seq))
        if is_leaf_anew
        else ("entries", f"entry {seq} does not give its hash")
    )
    return Tampered(unsigned(story, entries, random), [named])


def drop(story, random):
    place = random.randrange(len(story.entries) - 1)
    entries = story.entries[:place] + story.entries[place + 1 :]
    named = ("entries", f"entry {place + 1} is missing or out of place: next is {place + 2}")
    return Tampered(unsigned(story, entries, random), [named])


def insert(story, random):
    place = random.randrange(1, len(story.entries))
    forged = changed(story.entries[place], id=story.new_id())
    entries = [*story.entries[:place], forged, *story.entries[place:]]
    named = ("entries", f"entry {place + 1} stands after entry {place + 1}")
    return Tampered(unsigned(story, entries, random), [named])


def swap(story, random):
    place = random.randrange(len(story.entries) - 1)
    entries = list(story.entries)
    entries[place : place + 2] = reversed(entries[place : place + 2])
    named = ("entries", f"entry {place + 1} is missing or out of place: next is {place + 2}")
    return Tampered(unsigned(story, entries, random), [named])


def cut_tail(story, random):
    size = len(story.entries)
    left = random.randrange(1, size)
    named = ("entries", f"{are(left + 1, size)} missing at the end")
    return Tampered(unsigned(story, story.entries[:left], random), [named])


def recompute(story, random):
    """Everything is made anew over changed entries: by a thief's key, or the site's own."""
    kept = story.checkpoints[0]
    place = random.randrange(kept.size)
    forged = deepcopy(story)
    forged.entries[place] = changed(forged.entries[place], by=story.new_id())
    forged.key = random.choice([KEY, THIEF])
    forged.checkpoints = []
    named = [("given-checkpoint", f"{are(1, kept.size)} not those that it was signed over")]
    if forged.key is THIEF:
        named = [
            ("key", "Somebody else may have made it"),
            ("given-checkpoint", "leads from its key"),
        ]
    return Tampered(zipped(draft_of(forged).sealed()), named, given(kept))


def roll_back(story, random):
    """An earlier state is given out as today's, signed by the site itself."""
    newest, older = story.sign(), deepcopy(story)
    left = random.randrange(1, len(story.entries))
    older.entries = story.entries[:left]
    older.checkpoints = [kept for kept in story.checkpoints if kept.size <= left]
    named = [("given-checkpoint", f"{are(left + 1, newest.size)} not here")]
    return Tampered(zipped(draft_of(older).sealed()), named, given(newest))


def two_epochs(story, random):
    """A restore that no entry tells of, or one that does and lost what somebody kept."""
    newest, forked = story.sign(), deepcopy(story)
    left = random.randrange(story.checkpoints[0].size + 1, newest.size)
    forked.put_back(left, newest.size)
    if random.random() < 0.5:
        forked.entries.pop()
        named = [
            ("entries", "the checkpoint is of epoch 2, the entries tell of restores up to epoch 1")
        ]
        return Tampered(zipped(draft_of(forked).sealed()), named, given(newest))
    lost = are(left + 1, newest.size)
    words = f"{lost} not here. Entry {left + 1} records that an older database was put back: {lost}"
    named = [("given-checkpoint", words)]
    return Tampered(zipped(draft_of(forked).sealed()), named, given(newest))


def foreign_row(story, random):
    """An entry of another site among the site's own, or a row that no entry stands behind."""
    draft = draft_of(story)
    files = draft.sealed()
    if random.random() < 0.5:
        place = random.randrange(len(story.entries))
        entries = list(story.entries)
        entries[place] = changed(entries[place], site=OTHER_SITE)
        words = f"entry {place + 1} is of another site"
        return Tampered(unsigned(story, entries, random), [("entries", words)])
    lines = files[READINGS].split(b"\r\n")
    rows = [n for n, line in enumerate(lines) if line[8:9] == b"-" and b"," in line]
    row = random.choice(rows)
    foreign = story.new_id().encode()
    lines[row] = foreign + lines[row][36:]
    files[READINGS] = b"\r\n".join(lines)
    tell_of(READINGS, files, draft)
    words = f'row {rows.index(row) + 1}: its entry "{foreign.decode()}" is not in the bundle'
    return Tampered(zipped(files), [("tables", words)])


def photo_swapped(story, random):
    draft = draft_of(story)
    files = draft.sealed()
    name = random.choice([name for name in files if name.startswith("photos/")])
    files[name] = files[name][:-1] + random.randbytes(3)
    if random.random() < 0.5:
        tell_of(name, files, draft)
    return Tampered(zipped(files), [("photos", f"{name} is not the photo")])


KINDS = {
    "edit": edit,
    "drop": drop,
    "insert": insert,
    "swap": swap,
    "cut tail": cut_tail,
    "recompute": recompute,
    "roll back": roll_back,
    "two epochs": two_epochs,
    "foreign row": foreign_row,
    "photo swapped": photo_swapped,
}


def small_story(seed):
    """A story of two dozen entries with one checkpoint on the way."""
    story = Story(seed)
    story.tell(12)
    story.keep_checkpoint()
    story.tell(12)
    return story

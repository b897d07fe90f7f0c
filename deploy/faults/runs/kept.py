"""Backups made bad, taken while people write, and put back too old."""

import threading
from pathlib import Path
from uuid import UUID

from django.core.management import call_command
from django.db import connection, connections

from deploy.faults import yard
from deploy.faults.damage import DAMAGES
from deploy.faults.listed import fault
from deploy.faults.place import POSTGRESQL, SQLITE
from deploy.faults.visiting import photo
from deploy.keeping import key, opening, parcel, places, programs, snapshots, taking
from deploy.keeping.refused import Refused
from fleet.actions import reminders, tags
from shared import clock, photos
from shared.facts import record
from shared.models import Checkpoint, Entry, JournalHead, Restore
from shared.outside import BehindOutside
from shared.sealing import make_checkpoint, record_restore

WRITERS = 2
MOST_LOST = 9
BOTH = (SQLITE, POSTGRESQL)


@fault("F18", "OLDRESTORE", "an older backup is put back", short=2, long=50, on=BOTH)
def old_restore(world, count, tally):
    """Lose some entries that were signed, each time; look what is said, refused and mailed."""
    place = yard.make(clock.now(), carts=2)
    world.sink.start()
    begun_sent = named = refused = 0
    for number in range(count):
        sound = _backup(world, f"old-{number}")
        head = JournalHead.objects.get(pk=place.site.pk)
        reminders.sweep(clock.now())
        lost = world.random.randint(1, MOST_LOST)
        _write_on(place, lost)
        make_checkpoint(place.site, at=clock.now(), cause=Checkpoint.Cause.DAILY)
        begun_sent = max(begun_sent, len(world.sink.taken()))
        signed = JournalHead.objects.get(pk=place.site.pk).size
        call_command("restore", str(sound), replace=True, stdout=_Silent())
        refused += _is_refused(place)
        named += _is_named(place, head.size + 1, signed)
        reminders.sweep(clock.now())
    ids = [mail["id"] for mail in world.sink.taken()]
    tally.say(drills=count, mails=len(ids))
    tally.exactly(
        silent_forks=(count - refused, 0),
        gap_named_exactly=(named, count),
        notices_sent_again=(len(ids) - len(set(ids)), 0),
    )
    tally.want(begun_sent > 0, "no mail went out before a loss")


class _Silent:
    def write(self, text):
        """Say nothing: figures go to standard output."""


def _backup(world, name, with_key=None) -> Path:
    """Take a backup into a folder of its own: two may be taken within a second."""
    folder = world.place.base / "backups" / name
    return taking.take(places.here(), folder, with_key, at=clock.now()).file


def _write_on(place, count):
    for number in range(count):
        cart = place.carts[number % len(place.carts)]
        tags.report(cart, "noise", by=place.mechanics[0], at=clock.now())


def _is_refused(place) -> bool:
    before = Entry.objects.count()
    try:
        _write_on(place, 1)
    except BehindOutside:
        return Entry.objects.count() == before
    return False


def _is_named(place, first, last) -> bool:
    """Record the restore, and say whether it names what is missing and no more."""
    record_restore(place.site, reason="a trial", by=place.manager, at=clock.now())
    told = Restore.objects.filter(site=place.site).latest("received_at")
    return (told.missing_from, told.missing_to) == (first, last)


@fault("F19", "BADBACKUP", "bad backups, and ones taken under writes", short=3, long=40, on=BOTH)
def bad_backups(world, count, tally):
    """Restore each kind of bad backup; then take so many while people write."""
    place = yard.make(clock.now(), carts=2)
    _keep_photo(world, place)
    key.make(world.place.base / "key")
    with_key = key.read(world.place.base / "key")
    sound = {sealed: _backup(world, f"{sealed}", with_key if sealed else None) for sealed in (0, 1)}
    refused = sum(
        _is_refused_with_reason(world, damage, sound[damage.is_sealed], with_key)
        for damage in DAMAGES
    )
    tally.exactly(kinds=(len(DAMAGES), len(DAMAGES)), refused_with_reason=(refused, len(DAMAGES)))
    _live(world, place, count, tally)


def _keep_photo(world, place):
    folder = world.place.base / "photo.jpg"
    folder.write_bytes(photo(world.random))
    at = clock.now()
    with folder.open("rb") as file:
        record(photos.take(file, site=place.site, by=place.manager, done_at=at), at=at)


def _is_refused_with_reason(world, damage, sound, with_key) -> bool:
    bad, there = world.place.base / f"bad-{damage.name}", world.place.base / "there"
    given = damage.make(sound, with_key if damage.is_sealed else None, bad)
    kind = places.in_folder(there) if world.place.database == SQLITE else places.here()
    try:
        with opening.opened(bad, given, kind):
            return False
    except Refused as error:
        return damage.reason in str(error)


def _live(world, place, count, tally):
    stop, acked = threading.Event(), []
    writers = [
        threading.Thread(target=_write_until, args=(place, one, stop, acked))
        for one in range(WRITERS)
    ]
    for writer in writers:
        writer.start()
    missing = torn = 0
    try:
        for number in range(count):
            known = list(acked)
            one = _backup(world, f"live-{number}")
            held, is_whole = _entries_in(world, one)
            missing += len({fact for fact in known if str(fact) not in held})
            torn += not is_whole
    finally:
        stop.set()
        for writer in writers:
            writer.join()
    tally.say(live_rounds=count, acked=len(acked))
    tally.exactly(missing_acked=(missing, 0), torn=(torn, 0))
    tally.want(len(acked) > count, "hardly anything was written meanwhile")


def _write_until(place, number, stop, acked):
    cart, by = place.carts[number], place.mechanics[0]
    try:
        while not stop.is_set():
            acked.append(tags.report(cart, "noise", by=by, at=clock.now()).pk)
            stop.wait(0.005)
    finally:
        connections.close_all()


def _entries_in(world, file: Path) -> tuple[set[str], bool]:
    """Return the ids of the entries in a backup, and whether it holds what it lists."""
    folder = file.parent / "parts"
    said = parcel.read(file, None, lambda name, size: folder / name).manifest
    ids = _sqlite_ids if connection.vendor == "sqlite" else _postgresql_ids
    try:
        found = ids(folder / parcel.DATABASE, said)
    except Refused:
        return set(), False
    return found, len(found) == said.tables["shared_entry"]


def _sqlite_ids(database, said):
    with places.connected(snapshots.sqlite_file(database)) as found:
        opening.compare(found, said)
        with found.cursor() as cursor:
            cursor.execute("SELECT fact_id FROM shared_entry")
            return {str(UUID(one)) for (one,) in cursor.fetchall()}


def _postgresql_ids(database, said):
    """Read the rows of the entries as the dump holds them."""
    script = database.with_suffix(".sql")
    words = ["--data-only", "--table=shared_entry", f"--file={script}", str(database)]
    programs.run(places.here(), "pg_restore", *words)
    lines = script.read_text().split("FROM stdin;\n")[1].split("\n\\.\n")[0].splitlines()
    columns = script.read_text().split("COPY ")[1].split("(")[1].split(")")[0].split(", ")
    return {line.split("\t")[columns.index("fact_id")] for line in lines}

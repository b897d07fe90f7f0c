"""The disk full while something is saved: nothing half is there, and it is said."""

import shutil
from functools import partial

from deploy.faults import yard
from deploy.faults.listed import fault
from deploy.faults.phone import Phone
from deploy.faults.place import SQLITE, WEB
from deploy.faults.small_disk import CannotMount, small_disk
from deploy.faults.visiting import open_round, photo, round_of
from fleet.actions import tags
from fleet.models import Cart, Report, Round
from shared import clock
from shared.disk import FULL, INSUFFICIENT_STORAGE, is_full
from shared.models import Entry, JournalHead, Photo

SAVED, TOLD = "saved", "told that the disk is full"
SAYS = "Nothing was saved: the disk is full"
SHEET = "Cart number,Serial\n" + "".join(f"{n},S-{n:06}\n" for n in range(2000, 2010))


@fault(
    "F10", "DISKFULL", "the disk is full while something is saved", short=1, long=20, on=(SQLITE,)
)
def disk_full(world, count, tally):
    try:
        with small_disk(world.place.base / "var") as disk:
            _try_each(world, disk, count, tally)
    except CannotMount:
        tally.say(left_out="only root may mount a small disk")


def _try_each(world, disk, count, tally):
    place = yard.make(clock.now(), carts=2 * count)
    web = world.start("web server")
    phone = Phone(f"http://127.0.0.1:{world.place.ports[WEB]}")
    phone.sign_in(place.mechanics[0].email, yard.PASSWORD)
    half = told = recovered = 0
    for number in range(count):
        ops = _ops(world, place, phone, number)
        for op in ops:
            before = _held()
            disk.fill()
            told += op() == TOLD
            half += _held() != before
            disk.free()
            recovered += op() == SAVED
        # else the backups of many rounds fill it by themselves
        shutil.rmtree(world.place.base / "var" / "backups")
    web.finish(0)
    tally.say(ops=len(ops), rounds=count)
    tried = len(ops) * count
    tally.exactly(half=(half, 0), told=(told, tried), recovered_after_free=(recovered, tried))


def _held():
    """Count what a save adds to, none of which a failed one may."""
    size = JournalHead.objects.get().size
    models = (Round, Report, Photo, Cart, Entry)
    return (size, *(model.objects.count() for model in models))


def _ops(world, place, phone, number):
    """Return what is tried; each returns SAVED, TOLD or what else came."""
    plain, with_photo = place.carts[2 * number : 2 * number + 2]
    one = open_round(phone, plain, place.site)
    other = open_round(phone, with_photo, place.site, photo=photo(world.random))
    sheet = world.place.base / "sheet.csv"
    sheet.write_text(SHEET.replace("\n2", f"\n{3 + number}2").replace("S-", f"S{number}-"))
    words = ("import_carts", str(sheet), "--site", place.site.slug)
    return [
        partial(_sent, one),
        partial(_sent, other),
        partial(_appended, place, plain),
        partial(_commanded, world, *words),
        partial(_commanded, world, "backup"),
    ]


def _sent(intent):
    answer = intent.send()
    if round_of(answer):
        return SAVED
    is_told = answer.status == INSUFFICIENT_STORAGE and SAYS in answer.text
    return TOLD if is_told else answer.status


def _appended(place, cart):
    try:
        tags.report(cart, "noise", by=place.mechanics[0], at=clock.now())
    except Exception as error:
        return TOLD if is_full(error) else error
    return SAVED


def _commanded(world, *words):
    done = world.manage(*words)
    if done.returncode == 0:
        return SAVED
    return TOLD if FULL in done.stderr and "Traceback" not in done.stderr else done.stderr

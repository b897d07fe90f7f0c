"""The web server killed while it saves a round."""

from django.conf import settings

from deploy.faults import yard
from deploy.faults.listed import fault
from deploy.faults.phone import Phone
from deploy.faults.visiting import open_round, photo
from fleet.models import Round
from shared import clock
from shared.models import Entry, Photo

AFTER_FILE = "after-file"
POINTS = (
    "before-lock",
    "after-key-check",
    "after-entry",
    "after-update",
    "before-commit",
    "after-commit",
    AFTER_FILE,
)


@fault("F1", "WEBKILL", "the web server killed at each step of a round's save", short=1, long=30)
def web_killed(world, count, tally):
    """Kill at each point so often; a phone sends the page again until it is answered."""
    place = yard.make(clock.now(), carts=count * len(POINTS))
    world.start("web server")
    phone = Phone(world.place.address)
    phone.sign_in(place.mechanics[0].email, yard.PASSWORD)
    points = [point for point in POINTS for _ in range(count)]
    world.random.shuffle(points)
    fired, intents = 0, []
    for cart, point in zip(place.carts, points, strict=True):
        picture = photo(world.random) if point == AFTER_FILE else None
        intent = open_round(phone, cart, place.site, photo=picture)
        world.arm(point)
        intents.append(intent.send_until_saved())
        fired += world.has_fired(point)
    take_down(tally, intents)
    tally.exactly(points=(len(set(points)), len(POINTS)), kills=(fired, len(points)))


def take_down(tally, intents):
    """Count the rounds that were meant, those there are, and what they lack or left behind."""
    ids = {intent.saved_id for intent in intents}
    rounds = Round.objects.filter(pk__in=ids).count()
    entries = Entry.objects.filter(fact_id__in=ids).count()
    tally.exactly(
        done=(rounds, len(intents)),
        double=(Round.objects.count() - rounds, 0),
        history_missing=(rounds - entries, 0),
        files_without_row=(len(_files() - _named()), 0),
    )


def _files() -> set[str]:
    return {path.name for path in (settings.MEDIA_ROOT / "photos").rglob("*") if path.is_file()}


def _named() -> set[str]:
    pairs = Photo.objects.values_list("original_sha256", "copy_sha256")
    return {name for pair in pairs for name in pair}

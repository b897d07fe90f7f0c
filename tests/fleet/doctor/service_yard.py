"""A small service on which all is in order at AT, for tests that break one thing of it."""

from datetime import UTC, datetime, timedelta

from django.db.migrations.recorder import MigrationRecorder

from fleet.models import Notice
from lifts.actions import fit
from shared import photos
from shared.actions import note_done
from shared.facts import record
from shared.models import Checkpoint, LastDone, Photo
from shared.sealing import make_checkpoint
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role

What = LastDone.What
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
# ten days after the site was founded, noon in New York
AT = datetime(2026, 3, 12, 16, 0, tzinfo=UTC)
AGES = {
    What.SWEEP: MINUTE,
    What.SWEEP_BY_BEAT: MINUTE,
    What.SWEEP_BY_LOOP: MINUTE,
    What.MAIL_REACHED: HOUR,
    What.BACKUP: 13 * HOUR,
    What.RESTORE_PROVED: 3 * DAY,
}


class Yard:
    """One site with its people, a lifted cart, a photo, and a checkpoint of this morning."""

    def __init__(self, slug="harbour"):
        self.site, self.manager = a_site(slug)
        # a person built by the founding has no home yet
        self.mechanic = with_role(self.site, self.manager)
        self.cart = a_cart(self.site, self.manager)
        fit(self.cart, a_kit(self.site, self.manager), by=self.manager, at=MORNING)
        self.photo = self.a_photo()
        self.checkpoint = make_checkpoint(self.site, at=AT - 5 * HOUR, cause=Checkpoint.Cause.DAILY)
        MigrationRecorder.Migration.objects.update(applied=MORNING - HOUR)
        all_done(AT)

    def a_photo(self):
        hashes = {"original_sha256": "a" * 64, "copy_sha256": "b" * 64}
        about = {"site": self.site, "shows": Photo.Shows.OTHER, "by": self.manager}
        photo = record(Photo(**about, **hashes, width=40, height=30), at=MORNING).fact
        for path in (photos.copy_path(photo), photos.original_path(photo)):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(b"a picture")
        return photo

    def a_notice(self, made_at, **values):
        about = {"site": self.site, "person": self.mechanic, "cart": self.cart, "day": AT.date()}
        values = {"at_once": True, "stage": Notice.Stage.TAGGED, "about": self.cart.pk} | values
        return Notice.objects.create(**about, made_at=made_at, **values)


def all_done(at):
    """Note that all that must go on was done as lately as it should be."""
    for what, age in AGES.items():
        note_done(what, at=at - age)


def done_before(what, age, at=AT, **said):
    note_done(what, at=at - age, **said)

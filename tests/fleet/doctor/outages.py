"""What may go wrong with a service, one function each: it breaks one thing of a yard in order.

Each is named after the sign that must tell it. One that returns a moment is looked at then.
"""

import errno
import shutil
import tempfile
from collections import namedtuple
from datetime import timedelta
from pathlib import Path

import redis
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import F

from fleet.actions.jobs import LEASE
from fleet.actions.tags import tag_cart
from fleet.doctor import broker, database
from fleet.models import Bundle, Cart, CheckpointMail, Digest
from shared import keys, photos
from shared.models import Checkpoint, JournalHead, LastDone, SignInTry
from shared.sealing import make_checkpoint
from tests.fleet.doctor.service_yard import AT, DAY, HOUR, MINUTE, What, all_done, done_before

Usage = namedtuple("Usage", "total used free")
GIB = 2**30


def no_sweep(yard, patch, settings):
    done_before(What.SWEEP, 6 * MINUTE)


def no_sweep_ever(yard, patch, settings):
    LastDone.objects.filter(what__startswith="sweep").delete()


def beat_is_stuck(yard, patch, settings):
    done_before(What.SWEEP_BY_BEAT, 11 * MINUTE)


def loop_is_gone(yard, patch, settings):
    done_before(What.SWEEP_BY_LOOP, 11 * MINUTE)


def notice_waits(yard, patch, settings):
    yard.a_notice(AT - 31 * MINUTE)


def tried_notice_waits(yard, patch, settings):
    yard.a_notice(AT - 3 * HOUR, next_try_at=AT - 31 * MINUTE)


def checkpoint_mail_waits(yard, patch, settings):
    CheckpointMail.objects.create(checkpoint=yard.checkpoint, person=yard.manager)


def digest_is_late(yard, patch, settings):
    planned = AT - 2 * HOUR - MINUTE
    Digest.objects.create(person=yard.mechanic, day=AT.date(), planned_at=planned)


def mail_is_dead(yard, patch, settings):
    yard.a_notice(AT - HOUR, is_dead=True, dropped="550 no such user")


def mail_server_is_away(yard, patch, settings):
    done_before(What.MAIL_NOT_REACHED, MINUTE, fault="connection refused")


def mails_break_off(yard, patch, settings):
    stages = ("open", "due", "late", "stopped")
    for stage in stages:
        yard.a_notice(AT - HOUR, stage=stage, sent_at=AT - HOUR, doubtful=1)


def redis_is_away(yard, patch, settings):
    settings.CELERY_BROKER_URL = "redis://127.0.0.1:1/0"


def redis_throws_away(yard, patch, settings):
    class Full:
        def ping(self):
            return True

        def config_get(self, name):
            return {name: "allkeys-lru"}

    settings.CELERY_BROKER_URL = "redis://127.0.0.1:1/0"
    patch.setattr(broker, "_client", Full)


def nobody_takes_messages(yard, patch, settings):
    folder = Path(settings.MEDIA_ROOT).parent / "messages"
    folder.mkdir()
    for number in range(31):
        (folder / f"{number}.msg").touch()
    settings.CELERY_BROKER_URL = "filesystem://localhost/"
    settings.CELERY_BROKER_TRANSPORT_OPTIONS = {"data_folder_in": str(folder)}


def a_job(yard, **values):
    about = {"site": yard.site, "asked_by": yard.manager, "happened_by": AT, "known_by": AT}
    return Bundle.objects.create(**about | {"asked_at": AT - 11 * MINUTE} | values)


def job_waits(yard, patch, settings):
    a_job(yard)


def job_has_died(yard, patch, settings):
    a_job(yard, state="running", leased_at=AT - LEASE - timedelta(minutes=4))


def backup_is_old(yard, patch, settings):
    done_before(What.BACKUP, 27 * HOUR)


def no_backup_ever(yard, patch, settings):
    LastDone.objects.filter(what__in=(What.BACKUP, What.RESTORE_PROVED)).delete()


def backup_failed(yard, patch, settings):
    done_before(What.BACKUP_FAILED, HOUR, fault="no space left")


def proof_is_old(yard, patch, settings):
    done_before(What.RESTORE_PROVED, 8 * DAY + HOUR)


def never_proved(yard, patch, settings):
    LastDone.objects.filter(what=What.RESTORE_PROVED).delete()


def drill_failed(yard, patch, settings):
    done_before(What.RESTORE_NOT_PROVED, HOUR, fault="photo 3 differs")


def not_signed(yard, patch, settings):
    later = AT + 22 * HOUR
    all_done(later)
    return later


def signed_by_a_clock_that_was_ahead(yard, patch, settings):
    make_checkpoint(yard.site, at=AT + 900 * DAY, cause=Checkpoint.Cause.DAILY)
    return not_signed(yard, patch, settings)


def journal_is_older(yard, patch, settings):
    JournalHead.objects.update(size=F("size") - 1)


def outside_is_spoilt(yard, patch, settings):
    (Path(settings.CHECKPOINTS) / f"{yard.site.pk}.txt").write_text("spilt")


def outside_is_gone(yard, patch, settings):
    shutil.rmtree(settings.CHECKPOINTS)


def others_read_the_key(yard, patch, settings):
    (Path(settings.KEYS) / keys.SIGNING).chmod(0o644)


def key_is_gone(yard, patch, settings):
    shutil.rmtree(settings.KEYS)


def another_key(yard, patch, settings):
    shutil.rmtree(settings.KEYS)
    keys.private_key()


def disk_is_at_95_percent(yard, patch, settings):
    patch.setattr(shutil, "disk_usage", lambda _folder: Usage(100 * GIB, 96 * GIB, 4 * GIB))


def small_disk_is_full(yard, patch, settings):
    patch.setattr(shutil, "disk_usage", lambda _folder: Usage(8 * GIB, 7.2 * GIB, 0.8 * GIB))


def media_is_read_only(yard, patch, settings):
    made = tempfile.TemporaryFile

    def refuse(dir):
        if str(dir) == str(settings.MEDIA_ROOT):
            raise OSError(errno.EROFS, "read-only file system")
        return made(dir=dir)

    patch.setattr(tempfile, "TemporaryFile", refuse)


def photo_is_gone(yard, patch, settings):
    photos.copy_path(yard.photo).unlink()


def original_is_gone(yard, patch, settings):
    photos.original_path(yard.photo).unlink()


def clock_stepped(yard, patch, settings):
    done_before(What.CLOCK_STEPPED, 23 * HOUR, by_s=-3600)


def clock_stepped_back(yard, patch, settings):
    done_before(What.CLOCK_STEPPED, -HOUR, by_s=-7200)


def clock_is_behind(yard, patch, settings):
    tag_cart(yard.cart, "Rim bent", by=yard.manager, at=AT + 6 * MINUTE)


def answered(patch, **answers):
    """Let the database answer questions that hold these words otherwise."""
    ask = database._value

    def answer(question):
        found = [value for word, value in answers.items() if word in question]
        return found[0] if found else ask(question)

    patch.setattr(database, "_value", answer)


def wal_on_an_old_library(yard, patch, settings):
    settings.SQLITE_WAL_IS_SOUND = False
    patch.setattr(connection, "vendor", "sqlite")
    answered(patch, journal_mode="wal", synchronous=2)


def commits_may_be_lost(yard, patch, settings):
    answered(patch, synchronous=1 if connection.vendor == "sqlite" else "off")


def trigger_is_gone(yard, patch, settings):
    on = " ON shared_entry" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER shared_entry_no_update{on}")


def tables_are_older(yard, patch, settings):
    MigrationRecorder.Migration.objects.filter(app="alignment").delete()


def database_is_away(yard, patch, settings):
    def refuse(question):
        raise OperationalError("connection refused")

    patch.setattr(database, "_value", refuse)


def rows_differ(yard, patch, settings):
    Cart.objects.update(bay="Z9")


def passwords_are_guessed(yard, patch, settings):
    about = {"wanted": "sign-in", "account": "x", "address": "192.0.2.1"}
    tries = [SignInTry(**about, tried_at=AT - MINUTE) for _each in range(501)]
    SignInTry.objects.bulk_create(tries)


def errors_are_shown(yard, patch, settings):
    settings.DEBUG = True


def redis_talks_nonsense(yard, patch, settings):
    class Odd:
        def ping(self):
            raise redis.ResponseError("NOAUTH")

        def config_get(self, name):
            raise redis.ResponseError("NOAUTH")

    settings.CELERY_BROKER_URL = "redis://127.0.0.1:1/0"
    patch.setattr(broker, "_client", Odd)


OUTAGES = {
    no_sweep: "sweep",
    no_sweep_ever: "sweep",
    beat_is_stuck: "sweep-by-beat",
    loop_is_gone: "sweep-by-loop",
    notice_waits: "notices-waiting",
    tried_notice_waits: "notices-waiting",
    checkpoint_mail_waits: "notices-waiting",
    digest_is_late: "digests-late",
    mail_is_dead: "mails-dead",
    mail_server_is_away: "mail-server",
    mails_break_off: "mails-doubtful",
    redis_is_away: "broker",
    redis_talks_nonsense: "broker",
    nobody_takes_messages: "broker",
    redis_throws_away: "broker-policy",
    job_waits: "jobs",
    job_has_died: "jobs",
    backup_is_old: "backup",
    no_backup_ever: "backup",
    backup_failed: "backup-failed",
    proof_is_old: "restore",
    never_proved: "restore",
    drill_failed: "restore-failed",
    not_signed: "checkpoint",
    signed_by_a_clock_that_was_ahead: "checkpoint",
    journal_is_older: "behind",
    outside_is_spoilt: "outside",
    outside_is_gone: "outside",
    others_read_the_key: "signing-key",
    key_is_gone: "signing-key",
    another_key: "signing-key",
    disk_is_at_95_percent: "disk",
    small_disk_is_full: "disk",
    media_is_read_only: "media",
    photo_is_gone: "photos",
    original_is_gone: "photos",
    clock_stepped: "clock-stepped",
    clock_stepped_back: "clock-stepped",
    clock_is_behind: "clock-behind",
    wal_on_an_old_library: "journal-mode",
    commits_may_be_lost: "commits",
    trigger_is_gone: "triggers",
    tables_are_older: "migrations",
    database_is_away: "database",
    rows_differ: "rechecks",
    passwords_are_guessed: "sign-in-tries",
    errors_are_shown: "debug",
}

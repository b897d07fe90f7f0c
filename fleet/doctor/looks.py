"""Everything that is looked at, in the order it is shown: one line each."""

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from fleet.doctor import (
    broker,
    clocks,
    database,
    files,
    jobs,
    kept,
    mails,
    records,
    seal,
    sweeps,
)


@dataclass(frozen=True)
class Look:
    """``ask(at)`` returns an Answer, or None where it has no bearing.

    ``is_slow``: not asked anew each time that a monitor comes by.
    """

    code: str
    title: str
    ask: Callable
    needs_database: bool = True
    is_slow: bool = False


DATABASE = Look("database", _("Database"), database.answers)
LOOKS = (
    Look("sweep", _("Sweep"), sweeps.newest),
    Look("sweep-by-beat", _("Sweep by beat"), sweeps.by_beat),
    Look("sweep-by-loop", _("Sweep by the loop"), sweeps.by_loop),
    Look("notices-waiting", _("Mails that wait"), mails.waiting),
    Look("digests-late", _("Daily mails"), mails.digests),
    Look("mails-dead", _("Mails given up"), mails.dead),
    Look("mails-doubtful", _("Mails that may have come twice"), mails.doubtful),
    Look("mail-server", _("Mail server"), mails.server),
    Look("broker", _("Broker"), broker.answers, needs_database=False),
    Look("broker-policy", _("Broker when full"), broker.keeps, needs_database=False),
    Look("jobs", _("Imports and bundles"), jobs.stuck),
    Look("backup", _("Backup"), kept.backup),
    Look("backup-failed", _("Last backup"), kept.backup_ended),
    Look("restore", _("Backup brought back"), kept.proof),
    Look("restore-failed", _("Last drill"), kept.proof_ended),
    Look("checkpoint", _("Checkpoints"), seal.checkpoints),
    Look("behind", _("Journal and checkpoint"), seal.behind),
    Look("outside", _("Checkpoints outside"), seal.kept_outside),
    Look("signing-key", _("Signing key"), seal.signing_key),
    Look("disk", _("Room on the disk"), files.disks, needs_database=False),
    Look("media", _("Folder of photos and sheets"), files.media, needs_database=False),
    Look("photos", _("Photos"), files.newest_photos, is_slow=True),
    Look("clock-stepped", _("Clock steps"), clocks.stepped),
    Look("clock-behind", _("Clock"), clocks.behind),
    Look("journal-mode", _("Journal of SQLite"), database.journal_mode),
    Look("commits", _("Settings of the database"), database.keeps_commits),
    Look("triggers", _("Records insert only"), database.insert_only),
    Look("rights", _("Rights of the app"), database.rights),
    Look("migrations", _("Tables"), database.migrations),
    Look("rechecks", _("Rechecks and facts"), records.rechecks, is_slow=True),
    Look("sign-in-tries", _("Tries to sign in"), records.tries),
    Look("debug", _("Debug"), records.debug, needs_database=False),
)

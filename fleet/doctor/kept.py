"""Whether copies are made, and whether one was shown to come back."""

from datetime import timedelta

from django.utils.translation import gettext as _

from fleet.doctor import ages
from fleet.doctor.sign import trouble, well
from shared.models import LastDone

What = LastDone.What
# a daily copy, and two hours for the night that is an hour longer
BACKUP_IS_OLD = timedelta(hours=26)
# somebody who tries the tool out owes no backup on the first day
NONE_YET_WITHIN = timedelta(days=2)
# a weekly drill, and a day for a Sunday
PROOF_IS_OLD = timedelta(days=8)


def backup(at):
    age = ages.age_of(What.BACKUP, at)
    if age is None:
        return _never(at)
    said = _("The last backup was made %(ago)s.") % {"ago": ages.ago(age)}
    if age > BACKUP_IS_OLD:
        todo = _("Run manage.py backup, and see why its timer does not.")
        return trouble(said, todo)
    return well(said)


def _never(at):
    if ages.is_older(ages.service_age(at), NONE_YET_WITHIN):
        todo = _("Run manage.py backup each day, and keep the file on another machine.")
        return trouble(_("No backup was ever made."), todo)
    return well(_("None yet."))


def backup_ended(at):
    if ages.is_newer(What.BACKUP_FAILED, What.BACKUP):
        return _fault(
            What.BACKUP_FAILED,
            _("The last backup failed: %(fault)s"),
            _("Put right what is named there, and run manage.py backup."),
        )
    return None


def proof(at):
    """A copy counts only once it has come back; asked from the first backup on."""
    if ages.last(What.BACKUP) is None:
        return None
    age = ages.age_of(What.RESTORE_PROVED, at)
    todo = _("Run manage.py drill: it brings the newest backup back in a scratch place.")
    if age is None:
        said = _("No backup was ever brought back to see that it holds.")
        waits = ages.is_older(ages.service_age(at), PROOF_IS_OLD)
        return trouble(said, todo) if waits else well(said)
    said = _("A backup was last brought back whole %(ago)s.") % {"ago": ages.ago(age)}
    return trouble(said, todo) if age > PROOF_IS_OLD else well(said)


def proof_ended(at):
    if ages.is_newer(What.RESTORE_NOT_PROVED, What.RESTORE_PROVED):
        return _fault(
            What.RESTORE_NOT_PROVED,
            _("The last drill could not bring the backup back: %(fault)s"),
            _("Run manage.py backup and then manage.py drill; keep the older backups."),
        )
    return None


def _fault(what, words, todo):
    return trouble(words % {"fault": ages.last(what).said.get("fault", "")}, todo)

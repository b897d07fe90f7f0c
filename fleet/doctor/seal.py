"""Whether journals are signed, and what lies outside still fits them."""

from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.db.models import Max, Min
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.doctor import ages
from fleet.doctor.files import is_writable
from fleet.doctor.sign import trouble, well
from shared import keys, outside
from shared.keys import KeyUnusable
from shared.models import Checkpoint, Entry, JournalHead
from shared.outside import OutsideSpoilt
from shared.sealing import named_key

# once a day, and two hours for the day that has 25
CHECKPOINT_IS_OLD = timedelta(hours=26)


def checkpoints(at):
    late = [head.site.slug for head in _heads() if _is_unsigned(head, at)]
    if late:
        said = ngettext(
            "The journal of %(count)s site was not signed for 26 hours.",
            "The journals of %(count)s sites were not signed for 26 hours.",
            len(late),
        )
        return trouble(said % {"count": len(late)}, _("The page Seal of the site says why."), late)
    return well(_("Each journal was signed within the last 26 hours, or is not due yet."))


def _heads():
    return JournalHead.objects.filter(size__gt=0).select_related("site").order_by("site__slug")


def _is_unsigned(head, at):
    # a wrong clock may have dated a checkpoint after this moment
    made = Checkpoint.objects.filter(site=head.site_id, made_at__lte=at)
    newest = made.aggregate(at=Max("made_at"))["at"]
    if newest is not None:
        return at - newest > CHECKPOINT_IS_OLD
    first = Entry.objects.filter(site=head.site_id).aggregate(at=Min("received_at"))["at"]
    # brought-in history is older than the tool
    return min(at - first, ages.service_age(at)) > CHECKPOINT_IS_OLD


def behind(at):
    older = sorted(head.site.slug for head in _heads_behind())
    if older:
        said = ngettext(
            "The journal of %(count)s site is older than what was signed: nothing is recorded.",
            "The journals of %(count)s sites are older than what was signed: nothing is recorded.",
            len(older),
        )
        todo = _("Put the newest backup back, or record the restore on the page Seal.")
        return trouble(said % {"count": len(older)}, todo, older)
    return well(_("No journal is older than what was signed of it."))


def sites_behind():
    """Return the ids of the sites where nothing is recorded or mailed meanwhile."""
    return [head.site_id for head in _heads_behind()]


def _heads_behind():
    return [head for head in _all_heads() if _is_behind(head)]


def _all_heads():
    return JournalHead.objects.select_related("site").order_by("site__slug")


def _is_behind(head):
    try:
        return outside.is_behind(head) is not None
    except OutsideSpoilt:
        return False  # a sign of its own


def kept_outside(at):
    if not is_writable(settings.CHECKPOINTS) and _any_signed():
        said = _("The folder of the checkpoints outside cannot be written into.")
        return trouble(said, _("Is its volume mounted? See FLEET_CHECKPOINTS."))
    spoilt = [head.site.slug for head in _all_heads() if _is_spoilt(head)]
    if spoilt:
        said = ngettext(
            "The checkpoint outside of %(count)s site is gone or cannot be read.",
            "The checkpoints outside of %(count)s sites are gone or cannot be read.",
            len(spoilt),
        )
        todo = _("Put back a copy of the folder of FLEET_CHECKPOINTS that is not older.")
        return trouble(said % {"count": len(spoilt)}, todo, spoilt)
    return well(_("What was signed is kept outside the database too."))


def _any_signed():
    return Checkpoint.objects.exists()


def _is_spoilt(head):
    try:
        kept = outside.newest(head.site_id)
    except OutsideSpoilt:
        return True
    return kept is None and Checkpoint.objects.filter(site=head.site_id).exists()


def signing_key(at):
    """Looks only: the key is made where it is first needed."""
    if not (Path(settings.KEYS) / keys.SIGNING).exists():
        return _no_key(at)
    try:
        public = keys.public_hex()
    except KeyUnusable as error:
        return trouble(error, _("The key is for the tool's own user alone."))
    others = [h.site.slug for h in _all_heads() if named_key(h.site_id) not in ("", public)]
    if others:
        said = _("This is not the key that signed the journals so far.")
        return trouble(said, _("Put the signing.key of FLEET_KEYS back from its copy."), others)
    return well(_("The key that signs is there, and no other user may read it."))


def _no_key(at):
    if _any_signed():
        said = _("The key that signed the checkpoints is gone.")
        todo = _("Put it back from its copy, or run manage.py rotate_key --lost.")
        return trouble(said, todo)
    return well(_("None yet: it is made when it is first needed."))

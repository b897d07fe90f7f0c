"""What is said once a fitting is recorded: which work is due at its cart now."""

from django.contrib.messages import SUCCESS, WARNING
from django.utils.translation import gettext as _

from fleet.due import STOPPED, state_on
from fleet.importing.starting import BASELINE, SHORT_CHECK
from fleet.models import Recheck, Tag
from lifts.actions.fitting_tyres import before_id
from lifts.old_lifts import tag_id
from shared.dates import shown_day
from shared.models import Change, Site

CLOSE_OUT = "fitting-close-out"


def recorded(fitting, today):
    """Yield (level, words) on a fitting just recorded."""
    yield (SUCCESS, _old(fitting)) if fitting.brought_in else _close_out(fitting, today)
    if Change.objects.filter(pk=before_id(fitting)).exists():
        yield WARNING, _("The register said other tyres of before: it says those told here now.")
    if Tag.objects.filter(pk=tag_id(fitting)).exists():
        yield WARNING, _("The cart is tagged: its lift was found late, without paperwork.")


def _close_out(fitting, today):
    work = _active(fitting).filter(kind_code=CLOSE_OUT).first()
    if work is None:
        return SUCCESS, _("Recorded.")
    if state_on(work, today) == STOPPED:
        stopped = _("Recorded. The fitting close-out is past its limit: the cart must not run.")
        return WARNING, stopped
    return SUCCESS, _("Recorded. The fitting close-out is due now.")


def _old(fitting):
    site = Site.objects.get(pk=fitting.site_id)
    first = _active(fitting).filter(kind_code__in=(SHORT_CHECK, BASELINE))
    due = {work.kind_code: shown_day(work.due_on, site.date_order) for work in first}
    if len(due) < 2:
        return _("Recorded as an old lift: no clock runs backwards.")
    said = {"short": due[SHORT_CHECK], "baseline": due[BASELINE]}
    words = _(
        "Recorded as an old lift, no clock runs backwards: short check by %(short)s, "
        "baseline by %(baseline)s."
    )
    return words % said


def _active(fitting):
    return Recheck.objects.active().filter(cart=fitting.cart_id, chapter=fitting.pk)

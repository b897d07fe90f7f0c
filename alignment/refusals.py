"""What keeps a sheet from being saved, or from its next step: order, odd figures, can't tell."""

from dataclasses import replace

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import order, words
from alignment.buttons import FURTHER, LOOK
from alignment.more_readings import wanted
from alignment.odd import odd_readings
from alignment.reading_fields import DRIVE, ROD, SLEEVE
from alignment.readings import SIDES, Turn

ODD = _("Read it again, then tick if it stands: the question is beside it.")
JAM_NUTS = _("Something was turned: say whether the jam nuts are tight again.")
ODD_PHOTO = _("An odd reading is kept only with a photo of it.")
# told by a later reading in the same pass
AT_LAST_PASS = {
    order.CAMBER_AGAIN,
    order.TOE_AFTER_SLEEVE,
    order.TOE_AFTER_ROD,
    order.CAMBER_AFTER_DRIVE,
    order.TOE_AFTER_DRIVE,
    order.NOTHING_DONE,
}
# told by a reading in any later pass
STILL_TO_COME = {order.TOE_AFTER_SLEEVE, order.CAMBER_AFTER_DRIVE, order.TOE_AFTER_DRIVE}


def refuse(form, sheet, judged):
    """Put an error beside all that must be otherwise; on a finished sheet, all of it."""
    _refuse_slips(form, _slips(form, sheet))
    _refuse_odd(form)
    if not form.asked and sheet.turns and not form.cleaned_data.get("jam_nuts"):
        form.add_error("jam_nuts", JAM_NUTS)
    if not (form.asked or form.errors):
        _ask_for_more(form, sheet, judged)


def _slips(form, sheet):
    """Return what is out of order for good, or by now where the sheet is to be saved."""
    adjusts, passes = form.cleaned_data.get("camber_adjusts") or "", form.pass_count
    if form.asked in FURTHER:
        passes += 1
        sheet = _with_step(sheet, form.asked, passes)
    found = order.slips(sheet, camber_adjusts=adjusts, passes=passes)
    if not form.asked:
        return found
    return [slip for slip in found if not _may_still_come(slip, passes)]


def _may_still_come(slip, passes):
    return slip.code in (AT_LAST_PASS if slip.pass_no == passes else STILL_TO_COME)


def _with_step(sheet, step, n):
    """Return the sheet as it will be once the step that is asked for was done."""
    if step == DRIVE:
        return replace(sheet, drive_pass=n)
    turned = {SLEEVE: [Turn(SLEEVE, side, n) for side in SIDES], ROD: [Turn(ROD, SIDES[0], n)]}
    return replace(sheet, turns=[*sheet.turns, *turned[step]])


def _refuse_slips(form, slips):
    said = set()
    for slip in slips:
        place, why = _place(form, slip), words.begun(words.slip(slip))
        if (place, why) not in said:
            said.add((place, why))
            form.add_error(place, why)


def _place(form, slip):
    """Return the field where a slip is put right; None where its pass is not there yet."""
    n, side = slip.pass_no, slip.side or SIDES[0]
    by_code = {
        order.TOE_AFTER_SLEEVE: f"p{n}_front_1",
        order.TOE_AFTER_ROD: f"p{n}_front_1",
        order.TOE_AFTER_DRIVE: f"p{n}_front_1",
        order.NOTHING_DONE: f"p{n}_left_top_1",
        order.TOE_BEFORE_CAMBER: f"p{n}_{side}_top_1",
        order.CAMBER_AGAIN: f"p{n}_{side}_top_1",
        order.CAMBER_AFTER_DRIVE: f"p{n}_{side}_top_1",
    }
    name = by_code.get(slip.code, f"p{n}_{side}_turn")
    return name if name in form.fields else None


def _refuse_odd(form):
    form.odd = odd_readings(form.lines(), form.wording)
    if not form.odd or form.asked == LOOK:
        return
    if not form.cleaned_data.get("confirmed"):
        form.add_error("confirmed", ODD)
    # a photo is sent once, with the whole round
    if not (form.asked or form.cleaned_data.get("odd_photo")):
        form.add_error("odd_photo", ODD_PHOTO)


def _ask_for_more(form, sheet, judged):
    """Ask once for what would settle a "can't tell"; more readings or the tick answer it."""
    asks = wanted(sheet, judged)
    form.asks_for_more = bool(asks)
    asked_at = form.cleaned_data.get("more_asked")
    read = len(sheet.cambers) + len(sheet.toes)
    if not asks or form.cleaned_data["enough"] or (asked_at and read > asked_at):
        return
    form.remember("more_asked", read)
    why = gettext("Can’t tell yet. %(what)s Or tick, and it is closed as measured, can’t tell.")
    form.add_error("enough", why % {"what": " ".join(asks)})

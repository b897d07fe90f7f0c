"""The acts at a cart that its page offers: who may do them, what they ask, what they do."""

from collections.abc import Callable
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from fleet.actions import meters, register, tags
from fleet.forms import cart as forms
from fleet.forms.joining import JoinAgainForm
from fleet.forms.register import RegisterForm
from fleet.gather import LAID_UP, LEFT_FLEET, WOKEN
from shared.models import Role

IN_USE, RESTS = ("in use", "on stands"), ("laid up",)
ANY = (*IN_USE, *RESTS)


@dataclass(frozen=True)
class Act:
    """One act. ``does`` takes (cart, form, by, at); ``when`` are the conditions it fits."""

    name: str
    title: str
    done: str
    form_class: type
    does: Callable
    roles: tuple[str, ...] = (Role.MANAGER,)
    when: tuple[str, ...] = ANY
    hint: str = ""

    @property
    def url_name(self):
        return f"cart-{self.name}"


def _note(cart, form, who):
    said = form.cleaned_data
    tags.add_note(cart, said["text"], id=said["act"], **who)


def _lay_up(cart, form, who):
    _change(cart, form, LAID_UP, {}, who, form.cleaned_data["reason"], form.done_at)


def _wake(cart, form, who):
    _change(cart, form, WOKEN, {}, who, "", form.done_at)


def _leave(cart, form, who):
    _change(cart, form, LEFT_FLEET, {}, who, form.cleaned_data["reason"], form.done_at)


def _tyres(cart, form, who):
    _change(cart, form, "tyre size", form.tyre_value(), who, "", form.done_at)


def _joining(cart, form, who):
    said = form.cleaned_data
    told = {"reason": said["reason"], "id": said["act"], **form.when(), **who}
    register.tell_joining_again(cart, form.joining, form.value(), **told)


def _register(cart, form, who):
    changed = form.changed_values()
    if changed:
        named = next(iter(changed)).replace("_", " ") if len(changed) == 1 else "register"
        _change(cart, form, named, changed, who)


def _change(cart, form, what, value, who, reason="", done_at=None):
    act = form.cleaned_data["act"]
    register.change_cart(cart, what, value, reason=reason, done_at=done_at, id=act, **who)


def _move(cart, form, who):
    register.move_cart(
        cart, form.cleaned_data["to_site"], reason=form.cleaned_data["reason"], **who
    )


def _order(cart, form, who):
    said = form.cleaned_data
    tags.order_recheck(
        cart,
        said["kind_code"],
        said["due_on"],
        reason=said["reason"],
        stops=said["stops"],
        id=said["act"],
        **who,
    )


def _meter(cart, form, who):
    values = form.values()
    measure, start = values.pop("measure"), values.pop("start_shown")
    meters.fit_meter(cart, measure, start, done_at=form.done_at, **values, **who)


SHOP = (Role.MANAGER, Role.MECHANIC)
ACTS = (
    Act("note", _("Add a note"), _("Noted."), forms.NoteForm, _note, SHOP),
    Act(
        "meter",
        _("A meter was fitted or changed"),
        _("Recorded. Limits are counted on over both meters."),
        forms.MeterForm,
        _meter,
        SHOP,
    ),
    Act(
        "tyres",
        _("Another tyre size"),
        _(
            "Recorded. Lugs, speed and stop are to be checked again, and the meter counts anew. "
            "No clock runs for the rest: look for rub at full lock and full bump, measure the "
            "ride height, and see whether what the label says is still true."
        ),
        forms.TyreForm,
        _tyres,
        SHOP,
    ),
    Act(
        "lay-up",
        _("Lay the cart up"),
        _("Laid up. Calendar limits rest; the meters go on counting."),
        forms.RestForm,
        _lay_up,
        when=IN_USE,
    ),
    Act(
        "wake",
        _("Wake the cart"),
        _("Woken. Short check, pressures, brake and label come before first use."),
        forms.WakeForm,
        _wake,
        SHOP,
        RESTS,
    ),
    Act("register", _("Change the register"), _("Kept."), RegisterForm, _register),
    Act(
        "joining",
        _("Tell again how it joined"),
        _("Recorded. What was told first stays readable."),
        JoinAgainForm,
        _joining,
        hint=_(
            "Where the number, the day, the use or the tyres were told wrongly when the cart was "
            "added. What has changed since is told as a change instead: that starts the checks "
            "that it calls for."
        ),
    ),
    Act(
        "order",
        _("Order a recheck"),
        _("Ordered. It stands on the board."),
        forms.OrderForm,
        _order,
        when=IN_USE,
    ),
    Act(
        "move",
        _("Move to another site"),
        _("Moved. The rules of the other site hold from now on."),
        forms.MoveForm,
        _move,
        hint=_("Only to a site where you are a manager too."),
    ),
    Act(
        "leave",
        _("The cart left the fleet"),
        _("Recorded. Its history stays."),
        forms.LeaveForm,
        _leave,
    ),
)


def offered(cart, role):
    """Return the acts that the role may do at the cart as it is now."""
    return [act for act in ACTS if role in act.roles and cart.condition in act.when]

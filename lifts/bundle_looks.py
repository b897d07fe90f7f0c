"""The bundle's table of looks at joints: what was found at each, with what, and what it lacks."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at
from fleet.bundle.columns import CART, MOMENT, YES_NO, Column, Table, number
from fleet.bundle.shapes import read_off, said
from lifts.bundle_joints import joint_parts
from lifts.joint_card import clamp_lost
from lifts.models import Look


def look_rows(batch):
    parts = list(joint_parts(batch))
    looks = {fact.pk: [] for _cart, fact in parts}
    found = Look.objects.filter(fact__in=list(looks)).select_related("wrench")
    for look in found.order_by("fact", "place"):
        looks[look.fact_id].append(look)
    for cart, fact in parts:
        about = {
            **cart.named(fact.done_at),
            "joints": fact.pk,
            "round": fact.round_id,
            "done_at": done_at(fact, batch.scope.zone),
            "stage": fact.stage,
        }
        yield from ({**about, **_of(look)} for look in looks[fact.pk])


def _of(look):
    return {
        **read_off(look, OF_LOOK),
        "wrench": look.wrench_id,
        "wrench_name": look.wrench.name if look.wrench else "",
        "clamp_lost": clamp_lost(look.moved_twelfths, look.full_loss_deg),
    }


OF_LOOK = (
    number("place", _("its place among the looks of the round")),
    Column("name", _("the joint")),
    Column("family", _("family of joints")),
    Column("wheel", _("wheel that it is at")),
    Column("is_critical", _("could cost a wheel, the steering or the brakes"), YES_NO),
    Column("is_thread_locked", _("held by thread-locker"), YES_NO),
    Column("found", _("firm, took up, slack, gone or not reached")),
    number("moved_twelfths", _("how far it moved, in twelfths of a turn")),
    Column("action", _("what was done; empty: nothing")),
    Column("right_after", _("right when it was left"), YES_NO),
    Column("pin", _("its pin; empty: none asked")),
    Column("backed_off", _("its castle nut was backed off"), YES_NO),
    Column("stud_damaged", _("a stud was damaged"), YES_NO),
    number("target_nm", _("torque that was asked for; empty: none known, or not asked yet"), "N.m"),
    Column("wrench_state", _("how far its wrench could be believed then; unnamed: none said")),
    Column("lacks", _("what was not known of the joint, so that no look could close")),
    Column("hub_bearing", _("type of hub bearing, sealed or taper")),
    number("adapter_deg", _("angle of the adapter on the wrench"), "°"),
    Column("nut_off", _("its nut was taken off"), YES_NO),
    number("removals", _("how often its nut was off since it was new, this time too")),
    number("removals_allowed", _("how often that may be")),
    Column("is_always_new", _("its nut is replaced each time"), YES_NO),
    number("loose_before", _("looks in a row before this one that found it loose")),
    number("clean_since", _("looks in a row that found it firm since; empty: never loose")),
    number("full_loss_deg", _("turn from its target to no clamp at all"), "°"),
)
LOOKS = Table(
    "joint_looks.csv",
    _("each look at each joint; empty where it was not asked at that time"),
    (
        *CART,
        said("joints", _("the joints part of a round; see joint_rounds.csv"), field="id"),
        said("round", _("the round; see rounds.csv")),
        said("done_at", _("when it happened"), MOMENT),
        said("stage", _("settling: after a fitting; recurring: later")),
        *OF_LOOK,
        Column("wrench", _("the wrench that turned its nut; see wrenches.csv")),
        Column("wrench_name", _("its name on the rack")),
        Column("clamp_lost", _("computed: the most clamp that the joint can have lost")),
    ),
    look_rows,
    entry="joints",
    key=("joints", "place"),
)

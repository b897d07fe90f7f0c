"""The bundle's table of looks at joints: what was found at each, with what, and what it lacks."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at
from fleet.bundle.columns import CART, MOMENT, YES_NO, Column, Table
from fleet.bundle.shapes import OF_LINE, said, said_by_line, said_in_line
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
        **said_by_line(look, OF_LOOK),
        "wrench": look.wrench_id,
        "wrench_name": look.wrench.name if look.wrench else "",
        "clamp_lost": clamp_lost(look.moved_twelfths, look.full_loss_deg),
    }


OF_LOOK = (
    *OF_LINE,
    said_in_line("name", _("the joint")),
    said_in_line("family", _("family of joints")),
    said_in_line("wheel", _("wheel that it is at")),
    said_in_line("is_critical", _("could cost a wheel, the steering or the brakes"), YES_NO),
    said_in_line("is_thread_locked", _("held by thread-locker"), YES_NO),
    said_in_line("found", _("firm, took up, slack, gone or not reached")),
    said_in_line("moved_twelfths", _("how far it moved, in twelfths of a turn"), numeric=True),
    said_in_line("action", _("what was done; empty: nothing")),
    said_in_line("right_after", _("right when it was left"), YES_NO),
    said_in_line("pin", _("its pin; empty: none asked")),
    said_in_line("backed_off", _("its castle nut was backed off"), YES_NO),
    said_in_line("stud_damaged", _("a stud was damaged"), YES_NO),
    said_in_line(
        "target_nm",
        _("torque that was asked for; empty: none known, or not asked yet"),
        "N.m",
        numeric=True,
    ),
    said_in_line(
        "wrench_state", _("how far its wrench could be believed then; unnamed: none said")
    ),
    said_in_line("lacks", _("what was not known of the joint, so that no look could close")),
    said_in_line("hub_bearing", _("type of hub bearing, sealed or taper")),
    said_in_line("adapter_deg", _("angle of the adapter on the wrench"), "°", numeric=True),
    said_in_line("nut_off", _("its nut was taken off"), YES_NO),
    said_in_line(
        "removals", _("how often its nut was off since it was new, this time too"), numeric=True
    ),
    said_in_line("removals_allowed", _("how often that may be"), numeric=True),
    said_in_line("is_always_new", _("its nut is replaced each time"), YES_NO),
    said_in_line(
        "loose_before", _("looks in a row before this one that found it loose"), numeric=True
    ),
    said_in_line(
        "clean_since",
        _("looks in a row that found it firm since; empty: never loose"),
        numeric=True,
    ),
    said_in_line("full_loss_deg", _("turn from its target to no clamp at all"), "°", numeric=True),
    said_in_line("wrench", _("the wrench that turned its nut; see wrenches.csv")),
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
        Column("wrench_name", _("its name on the rack")),
        Column("clamp_lost", _("computed: the most clamp that the joint can have lost")),
    ),
    look_rows,
    entry="joints",
    key=("joints", "of", "place"),
)

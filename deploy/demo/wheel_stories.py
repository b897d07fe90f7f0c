"""Single carts of the demo whose camber and toe tell something."""

from PIL import Image, ImageDraw

from deploy.demo.axles import Blow
from deploy.demo.label_photos import SIZE, WHITE, YELLOW, card, font, photo_of
from deploy.demo.tapes import Tools
from deploy.demo.visits import Call
from fleet.actions import tags
from fleet.models import Tag
from shared.models import Photo

BENT, TOE_OUT, KERB_HIT = "102", "139", "147"
NOT_ADJUSTABLE, ODD, BENT_RIM, SLOPING = "127", "129", "133", "128"
CANNOT_TELL = {"107": 3, "120": 2, "137": 3}
BENT_AGO = (172, 77, 6)
COARSE = Tools(mark="1/16 in", toes=1)


def plan(story):
    """Plan all of it, before the carts' own visits are planned."""
    _bent(story)
    _toe_out(story)
    _kerb_hit(story)
    _not_adjustable(story)
    _cannot_tell(story)
    _odd(story)
    note = "Left rim read again after half a turn of the wheel."
    _measure(story, BENT_RIM, 12, Tools(by_square=True, rim_deg=0.4), note=note)
    floor = ("left", "1/4 in", "36 in")
    note = "Wheels on plates, level; square on the yard, which falls to the left."
    _measure(story, SLOPING, 15, Tools(by_square=True, floor=floor), note=note)


def _measure(story, number, ago, tools=None, hour=13, *, photo=None, **more):
    """Plan a sheet alone at a cart."""
    cart = story.cart(number)
    call = Call(story.ago(ago), "camber and toe")

    def visit(row, at):
        answer = story.alignments.sheet(cart, call.day, tools, **more)
        photos = [(answer, photo())] if photo else []
        story.visit(cart, call, at, parts=[answer], photos=photos)

    story.act(cart, ago, hour, visit)


def _strike(story, number, ago, **moved):
    cart = story.cart(number)
    story.alignments.strike(cart, Blow(story.ago(ago), **moved))


def _bent(story):
    """A right spindle that gives way again and again: camber set, and in once more."""
    for ago in BENT_AGO:
        _strike(story, BENT, ago, right_deg=-0.8)
        _measure(story, BENT, ago - 2)


def _toe_out(story):
    cart = story.cart(TOE_OUT)
    by = story.people["brindlewick", "mechanic"][1]
    _strike(story, TOE_OUT, 32, toe_deg=-1.2)
    _measure(story, TOE_OUT, 30, turns=False, enough=True, note="Wanders; tyres feather inside.")
    _measure(story, TOE_OUT, 29, hour=9)

    def hand_back(row, at):
        tags.hand_back(
            Tag.objects.filter(cart=row).latest("done_at"),
            done="Tie rods turned alike on both sides until toe read inside, jam nuts tight.",
            repaired_by=by,
            drive_note="One mile, held straight.",
            by=story.people["brindlewick", "manager"][0],
            at=at,
        )

    story.act(cart, 29, 12, hand_back)


def _kerb_hit(story):
    cart = story.cart(KERB_HIT)
    cart.visits_until = story.ago(7)

    def tell(row, at):
        by = story.people["brindlewick", "desk"][0]
        note = "Driver slid into the kerb at the bus stop, left front."
        tags.report(row, "kerb hit", by=by, at=at, note=note)

    story.act(cart, 6, 16, tell)
    _strike(story, KERB_HIT, 6, left_deg=-1.3, toe_deg=0.5)
    _measure(story, KERB_HIT, 5, turns=False, enough=True, after_kerb_hit=True)


def _not_adjustable(story):
    story.cart(NOT_ADJUSTABLE).visits_until = story.ago(9)
    _strike(story, NOT_ADJUSTABLE, 9, right_deg=-1.0)
    _measure(story, NOT_ADJUSTABLE, 8)


def _cannot_tell(story):
    for number, ago in CANNOT_TELL.items():
        story.cart(number).visits_until = story.ago(ago + 1)
        _measure(story, number, ago, COARSE, 14, turns=False, enough=True)


def _odd(story):
    """Toe of more than half an inch: read twice, photographed, then put right."""
    _strike(story, ODD, 20, toe_deg=1.4)
    note = "Backed into a stump; both rods looked at, straight."
    _measure(story, ODD, 19, photo=_tape_photo, note=note)


def _tape_photo():
    return photo_of(Photo.Shows.TAPE, _tape())


def _tape():
    """Draw a tape over a tread, its hook off the picture."""
    picture = Image.new("RGB", SIZE, "#2b2b2b")
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 260, 960, 430), fill=YELLOW)
    for mark in range(0, 97):
        long = 120 if mark % 32 == 0 else 80 if mark % 16 == 0 else 44 if mark % 4 == 0 else 24
        draw.line((mark * 10, 260, mark * 10, 260 + long), fill="#1b1b1b", width=3)
    for inch in range(3):
        draw.text((inch * 320 + 12, 370), str(35 + inch), fill="#1b1b1b", font=font(56))
    draw.line((430, 200, 430, 470), fill=WHITE, width=6)
    card(draw, (340, 560, 620, 690), ODD)
    return picture

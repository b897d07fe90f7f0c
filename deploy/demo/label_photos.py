"""Photos of the demo's warning labels: drawn, then taken in like any mechanic's."""

from io import BytesIO

from PIL import Image, ImageDraw, ImageFont

from deploy.demo import answers
from deploy.demo.visits import Call
from shared.models import Photo
from shared.photos import take

NUMBERS = ("102", "107", "111", "119", "133", "142")
# smaller than asked for at that distance
SMALL_AT, SMALL = "119", ("3/32 in", "3/16 in", "29 in")
SIZE = (960, 720)
LABEL = """\
LIFTED CART
Tips sooner, stops longer.
Slow down before you turn.
Belts on. Nobody stands."""
YELLOW, BLACK, WHITE, DASH, GRASS = "#f2c84b", "#1b1b1b", "#fbfaf5", "#55584f", "#9bb07c"
DRAWN_NOTE = "drawn for the demo"


def plan(story):
    """Plan the day on which the labels of some carts were photographed, after all visits."""
    for place, number in enumerate(NUMBERS):
        _photograph(story, story.cart(number), mechanic=place % 2)


def _photograph(story, cart, mechanic):
    by = story.people[cart.place.values["slug"], "mechanic"][mechanic]
    call = Call(story.ago(1), "label")

    def visit(row, at):
        letters = SMALL if cart.number == SMALL_AT else answers.LETTERS["inch"]
        said = answers.label(photo=True, letters=letters)
        photos = [(said, photo_of(shows, draw(cart.number))) for shows, draw in DRAWN.items()]
        story.visit(cart, call, at, parts=[said], photos=photos, by=by)

    story.act(cart, 1, 17, visit)


def photo_of(shows, picture):
    file = BytesIO()
    picture.save(file, "JPEG", quality=80)
    file.seek(0)
    return take(file, shows=shows)


def seen_from_seat(number):
    """Draw a dash with its wheel, the label right of the column, the cart's number on a card."""
    picture = Image.new("RGB", SIZE, GRASS)
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 300, 960, 720), fill=DASH)
    draw.ellipse((90, 260, 490, 660), outline=BLACK, width=34)
    draw.line((290, 460, 290, 720), fill=BLACK, width=40)
    _label(draw, (540, 340, 900, 540), size=24)
    card(draw, (600, 580, 840, 690), number)
    return picture


def close_up(number):
    """Draw the label over most of the picture, the cart's number on a card below it."""
    picture = Image.new("RGB", SIZE, DASH)
    draw = ImageDraw.Draw(picture)
    _label(draw, (60, 50, 900, 510), size=54)
    card(draw, (340, 560, 620, 690), number)
    return picture


def _label(draw, box, *, size):
    draw.rectangle(box, fill=YELLOW, outline=BLACK, width=max(3, size // 8))
    where = (box[0] + size * 0.8, box[1] + size * 0.7)
    draw.multiline_text(where, LABEL, fill=BLACK, font=font(size), spacing=size * 0.6)


def card(draw, box, number):
    draw.rectangle(box, fill=WHITE, outline=BLACK, width=3)
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    draw.text(middle, number, fill=BLACK, font=font(72), anchor="mm")
    draw.text((12, 8), DRAWN_NOTE, fill=WHITE, font=font(24))


def font(size):
    return ImageFont.load_default(size)


DRAWN = {Photo.Shows.LABEL_SEAT: seen_from_seat, Photo.Shows.LABEL_CLOSE: close_up}

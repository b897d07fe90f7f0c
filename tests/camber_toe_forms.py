"""The sheet's form as sent with what a mechanic typed."""

from django.core.files.uploadedfile import SimpleUploadedFile

from alignment.parts import CamberToePart
from tests.alignment_factories import FOUND_INSIDE, a_visit, typed

PHOTO = {"camber-toe-odd_photo": SimpleUploadedFile("tape.jpg", b"picture")}
ROD_TURNED = {
    "jam_nuts": "tight",
    "passes": "2",
    "p2_step": "rod",
    "p2_left_turn": "4",
    "p2_left_way": "longer",
    "p2_right_turn": "4",
    "p2_right_way": "longer",
    **{name.replace("p1", "p2"): FOUND_INSIDE[name] for name in FOUND_INSIDE if "_front_" in name},
    **{name.replace("p1", "p2"): FOUND_INSIDE[name] for name in FOUND_INSIDE if "_rear_" in name},
}


def the_form(visit=None, files=None, **fields):
    form = CamberToePart().form(visit or a_visit(), typed(**fields), files)
    form.is_valid()
    return form


def lines_of(form, kind):
    return [line for line in form.lines() if isinstance(line, kind)]

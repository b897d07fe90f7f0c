"""Rounds sent from phones: a page opened once, and sent until it is answered."""

import io
import re
import time
from dataclasses import dataclass, field
from uuid import UUID

from PIL import Image

from deploy.faults.phone import Answer, Phone, filled

PHOTO_SIZE = (32, 24)
PATIENCE_S = 90
WAIT_S = 0.2
SAVED_BEFORE = "This round was saved already."


class NotTaken(Exception):
    """A page was answered, but neither saved nor refused for a fault: the run is wrong."""


@dataclass
class Intent:
    """One round that a mechanic means to record: its page as filled in, and what came of it."""

    phone: Phone
    path: str
    fields: dict[str, str | list[str]]
    files: dict[str, bytes] = field(default_factory=dict)
    answers: list[Answer] = field(default_factory=list)

    @property
    def saved_id(self) -> UUID | None:
        return round_of(self.answers[-1]) if self.answers else None

    @property
    def was_kept_unsaid(self) -> bool:
        """Whether it was in the records though its sender was told that it had failed."""
        return len(self.answers) > 1 and SAVED_BEFORE in self.answers[-1].text

    def send(self) -> Answer:
        self.answers.append(self.phone.post(self.path, self.fields, self.files))
        return self.answers[-1]

    def send_until_saved(self) -> "Intent":
        """Send the same page again and again, as a person does; raises NotTaken, TimeoutError."""
        began_s = time.monotonic()
        while round_of(answer := self.send()) is None:
            if answer.is_done or 400 <= answer.status < 500:
                raise NotTaken(f"{answer.status} at {answer.url}: {mistakes_of(answer)}")
            if time.monotonic() - began_s > PATIENCE_S:
                raise TimeoutError(f"{self.path} was not saved within {PATIENCE_S} s")
            time.sleep(WAIT_S)
        return self


def open_round(phone: Phone, cart, site, *, note="", photo: bytes | None = None) -> Intent:
    """Open the page of a cart's round and fill it in: greased, nothing else done this time."""
    path = f"/{site.slug}/carts/{cart.pk}/round/?whole"
    page = open_page(phone, path)
    parts = re.findall(r'id="part-([a-z-]+)"', page.text)
    fields = filled(page) | {"cautions": "on", "note": note}
    fields |= {f"{code}-not_done": "on" for code in parts if code not in ("grease", "label")}
    fields |= {"grease-all_greased": "on", "label-as_it_should_be": "on"}
    return Intent(phone, path, fields, {"label-photo_seat": photo} if photo else {})


def open_page(phone: Phone, path: str) -> Answer:
    """Get a page, however often that takes."""
    began_s = time.monotonic()
    while not (page := phone.get(path)).is_done:
        if time.monotonic() - began_s > PATIENCE_S:
            raise TimeoutError(f"{path} did not come within {PATIENCE_S} s: {page.status}")
        time.sleep(WAIT_S)
    return page


def round_of(answer: Answer) -> UUID | None:
    """Return the round that the answer shows as saved."""
    found = re.search(r"/rounds/([0-9a-f-]{36})/$", answer.url)
    return UUID(found.group(1)) if found and answer.is_done else None


def mistakes_of(answer: Answer) -> list[str]:
    return re.findall(r'href="#[^"]+">([^<]+)', answer.text)[:5]


def photo(random) -> bytes:
    """Return a picture unlike every other."""
    width, height = PHOTO_SIZE
    made = io.BytesIO()
    Image.frombytes("RGB", PHOTO_SIZE, random.randbytes(3 * width * height)).save(made, "JPEG")
    return made.getvalue()

"""A fleet with something of everything, and a bundle of it read back."""

import csv
import io
import json
import re
import zipfile
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

from fleet.actions import bundles, register
from fleet.actions.corrections import strike_round
from fleet.actions.meters import add_reading
from fleet.actions.tags import add_note, hand_back, report, tag_cart
from fleet.bundle.archive import README
from fleet.bundle.scope import Scope
from fleet.kinds import Cut
from fleet.past_sites import site_at
from lifts.actions import fit
from shared.models import Role
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import a_round

ZONE = ZoneInfo("America/New_York")


def on(month, day, hour=9, minute=0):
    return datetime(2026, month, day, hour, minute, tzinfo=ZONE)


FOUNDED = on(2, 2)


@dataclass
class Fleet:
    """A site with a plain cart, two lifted ones and one that left; ``name`` is in all it says."""

    name: str

    def __post_init__(self):
        self.site, self.manager = a_site(self.name, at=FOUNDED)
        self.mechanic = with_role(self.site, self.manager, at=FOUNDED)
        self.surveyor = with_role(self.site, self.manager, Role.SURVEYOR, at=FOUNDED)
        self.kit = a_kit(self.site, self.manager, at=FOUNDED, name=f"Kit of {self.name}")

    def cart(self, number, at=FOUNDED, **values):
        return a_cart(self.site, self.manager, f"{number}", at, **values)

    def lifted(self, number, at, hours="412"):
        """A cart with a lift fitted at a moment, the fitting closed an hour later."""
        cart = self.cart(number)
        add_reading(cart, hours=Decimal(hours), by=self.mechanic, at=at)
        fit(cart, self.kit, by=self.mechanic, at=at, fitted_by=f"Fitter of {self.name}")
        a_round(cart, by=self.mechanic, at=at + timedelta(hours=1), note=f"Closed at {self.name}")
        return cart

    def tell_everything(self):
        """Let something of every kind happen in March; return its carts by number."""
        who = {"by": self.mechanic}
        plain, left = self.cart("9"), self.cart("12")
        slow, quick = self.lifted("10", on(3, 2)), self.lifted("7", on(3, 3))
        a_round(slow, at=on(3, 4), found={"left U-bolts": "slack"}, **who)
        tag = tag_cart(plain, f"Rim bent at {self.name}", at=on(3, 5), **who)
        add_reading(quick, hours=Decimal("423"), at=on(3, 5, 10), **who)
        hand_back(tag, done="New rim", repaired_by=self.mechanic, at=on(3, 7), **who)
        report(slow, "noise", note=f"Rattles at {self.name}", at=on(3, 8), **who)
        add_note(plain, f"Note at {self.name}", at=on(3, 8, 10), **who)
        register.leave(left, by=self.manager, at=on(3, 9), reason=f"Sold by {self.name}")
        mistaken = a_round(quick, at=on(3, 10), note=f"Mistaken at {self.name}", **who).round
        strike_round(mistaken, reason=f"Wrong cart at {self.name}", by=self.manager, at=on(3, 11))
        return {"7": quick, "9": plain, "10": slow, "12": left}


class Read:
    """A bundle read back: ``rows`` of each table, and the bytes of each member."""

    def __init__(self, path):
        with zipfile.ZipFile(path) as archive:
            self.members = {info.filename: archive.read(info) for info in archive.infolist()}

    def rows(self, name):
        text = self.members[f"tables/{name}.csv"].decode("utf-8-sig")
        return list(csv.DictReader(io.StringIO(text, newline="")))

    def row(self, name, **wanted):
        (found,) = [
            row
            for row in self.rows(name)
            if all(row[key] == value for key, value in wanted.items())
        ]
        return found

    @property
    def tables(self):
        """The bytes of each table by its file's name."""
        named = [name for name in self.members if re.fullmatch(r"tables/.+\.csv", name)]
        return {name.removeprefix("tables/"): self.members[name] for name in named}

    @property
    def manifest(self):
        return json.loads(self.members["manifest.json"])

    @property
    def lines(self):
        """The lines of the journal, parsed."""
        return [json.loads(line) for line in self.members["journal/entries.jsonl"].splitlines()]

    @property
    def readme(self):
        return self.members[README].decode()


def no_papers(*args, **more):
    """Setting pages takes seconds: few tests are about them."""
    return []


def bundled(
    site, folder, happened_by, known_by=None, made_at=None, write_papers=no_papers, **scope
) -> Read:
    """Return the bundle of a site as of two moments, the second the first unless given."""
    to = Path(folder) / "bundle.zip"
    cut = Cut(happened_by, known_by or happened_by)
    asked = Scope(site_at(site, cut), cut, **scope)
    bundles.make(
        asked,
        to,
        at=made_at or cut.known_by,
        by="a test",
        progress=lambda percent: None,
        write_papers=write_papers,
    )
    return Read(to)

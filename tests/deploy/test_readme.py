"""The README names every setting and every command, and none that is not there."""

import re
from pathlib import Path

from django.core.management import get_commands

from deploy.settings import ROOT

OURS = {"shared", "fleet", "lifts", "alignment", "deploy"}
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_readme_names_each_setting():
    read = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "deploy").glob("*.py"))

    named = re.findall(r"^\| `(FLEET_[A-Z_]+)` \|", README, re.M)

    assert sorted(named) == sorted(set(re.findall(r'\(\s*"(FLEET_[A-Z_]+)"', read)))


def test_the_readme_names_each_command():
    ours = {name for name, app in get_commands().items() if app.split(".")[0] in OURS}

    lines = re.findall(r"^\| `python manage\.py ([a-z_\\|]+)", README, re.M)

    assert {name for line in lines for name in line.replace("\\", "").split("|")} == ours


def test_the_readme_shows_a_picture_that_is_there():
    pictures = re.findall(r"!\[[^]]+\]\(([^)]+)\)", README)

    assert [Path(ROOT / name).exists() for name in pictures] == [True]

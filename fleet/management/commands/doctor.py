"""Say how the service is: a line a sign, what calls for somebody first."""

import json
import sys
from dataclasses import asdict

from django.core.management.base import BaseCommand
from django.utils.translation import gettext as _

from fleet.doctor import signs, troubles_first
from shared import clock


class Command(BaseCommand):
    help = "Say how the service is; ends with 1 when something calls for you."
    # it must speak when the database or a check is at fault
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("--json", action="store_true", help="for programs")
        parser.add_argument("--quiet", action="store_true", help="only what calls for you")

    def handle(self, *args, json, quiet, **options):
        found = troubles_first(signs(clock.now()))
        is_trouble = any(sign.is_trouble for sign in found)
        shown = [sign for sign in found if sign.is_trouble or not quiet]
        self.stdout.write(as_json(shown) if json else as_lines(shown, is_trouble, quiet))
        if is_trouble:
            sys.exit(1)


def as_json(found):
    return json.dumps([asdict(sign) for sign in found], indent=2, ensure_ascii=False)


def as_lines(found, is_trouble, quiet):
    lines = [line_of(sign) for sign in found]
    if not is_trouble and not quiet:
        lines.append(_("Nothing calls for you."))
    return "\n".join(lines)


def line_of(sign):
    state = _("TROUBLE") if sign.is_trouble else _("well")
    at = f" ({', '.join(sign.sites)})" if sign.sites else ""
    todo = f" {_('To do:')} {sign.todo}" if sign.todo else ""
    return f"{state:8}{sign.code:16}{sign.said}{at}{todo}"

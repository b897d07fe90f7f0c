"""What the pages say of the two checkers that people may take away."""

import hashlib

from django import template

from fleet.bundle.archive import CHECKERS

register = template.Library()


@register.simple_tag
def checker_sha256(name):
    """Return the SHA-256 of a checker, to be compared with that of a copy."""
    return hashlib.sha256((CHECKERS / name).read_bytes()).hexdigest()

"""What the pages say of the two checkers that people may take away."""

import hashlib

from django import template

from fleet.bundle.archive import CHECKERS

register = template.Library()


@register.simple_tag
def checker_sha256(suffix):
    """Return the SHA-256 of check.py or check.html, to be compared with that of a copy."""
    return hashlib.sha256((CHECKERS / f"check.{suffix}").read_bytes()).hexdigest()

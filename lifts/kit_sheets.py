"""The file of a maker's sheet on its way through the form of a kit.

A browser does not send a chosen file twice, so a form that comes back names the file that
was kept already, signed for its site: nobody can claim a file of another site by its SHA-256.
"""

from dataclasses import astuple

from django.core import signing
from django.utils.translation import gettext_lazy as _

from shared.papers import Paper

FOLDER = "sheets"
SALT = "lifts.kit_sheets"
NO_FILE = ("", _("no file"))


def sheet_of(kit) -> Paper | None:
    """Return the file of a kit's sheet, None for a kit without."""
    if not kit or not kit.sheet_sha256:
        return None
    return Paper(kit.sheet_name, kit.sheet_sha256, kit.sheet_copy_sha256)


def token_of(sheet: Paper, site) -> str:
    return signing.dumps([str(site.pk), *astuple(sheet)], salt=SALT)


def read_token(token: str, site) -> Paper | None:
    """Return the file that a form of this site named before, None for anything else."""
    try:
        site_pk, *about = signing.loads(token, salt=SALT)
    except signing.BadSignature:
        return None
    return Paper(*about) if site_pk == str(site.pk) else None

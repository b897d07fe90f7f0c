"""What the start looks at before it lets the tool run: the key, and what is kept outside."""

import tempfile

from django.conf import settings
from django.core import checks
from django.db import DatabaseError

from shared import keys, outside
from shared.keys import KeyUnusable
from shared.models import Checkpoint, JournalHead, Site
from shared.outside import OutsideSpoilt
from shared.sealing import named_key


def check_seal(app_configs=None, databases=None, **kwargs):
    """Make the key at the first start; refuse a start that could not sign or keep what it signs."""
    found = [*_key_faults(), *_folder_faults()]
    if found or not databases:
        return found
    try:
        return [fault for site in Site.objects.all() for fault in _faults_of(site)]
    except DatabaseError as error:
        return [checks.Warning(f"the journals could not be looked up: {error}", id="shared.W003")]


def _key_faults():
    try:
        keys.private_key()
    except KeyUnusable as error:
        yield checks.Error(str(error), id="shared.E002")


def _folder_faults():
    try:
        with tempfile.TemporaryFile(dir=outside.made_folder()):
            pass
    except OSError as error:
        fault = f"cannot write into {settings.CHECKPOINTS}: {error.strerror}"
        yield checks.Error(
            fault, hint="Give FLEET_CHECKPOINTS a folder of this user.", id="shared.E003"
        )


def _faults_of(site):
    named = named_key(site.pk)
    keys.move_next(named)
    head = JournalHead.objects.filter(pk=site.pk).first() or JournalHead(site=site)
    try:
        kept, behind = outside.newest(site.pk), outside.is_behind(head)
    except OutsideSpoilt as error:
        yield checks.Error(str(error), id="shared.E004")
        return
    if behind:
        yield checks.Warning(str(outside.BehindOutside(head, behind)), id="shared.W004")
    if kept is None and Checkpoint.objects.filter(site=site).exists():
        fault = f"{settings.CHECKPOINTS} holds no checkpoint of {site}, which has some"
        yield checks.Warning(fault, hint="Is the volume mounted?", id="shared.W005")
    if named not in ("", keys.public_hex()):
        fault = f"{site} was signed with another key than the one in {settings.KEYS}"
        yield checks.Warning(fault, hint="Put its signing.key back.", id="shared.W006")

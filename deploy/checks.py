"""What the start refuses, since it would lose what is recorded or let someone in.

Each refusal is one line that says what to do. What only delays, such as a broker that does
not answer, is no refusal: what waits are rows.
"""

import os
import stat
import tempfile
from pathlib import Path

import openpyxl
from django.conf import settings
from django.core.checks import Error, Warning

from deploy import database_checks, redis_checks
from deploy.keeping import key
from deploy.keeping.refused import Refused

LOCAL = {"localhost", "127.0.0.1", "::1"}
OTHERS = stat.S_IRWXG | stat.S_IRWXO


def check_debug(app_configs=None, **kwargs):
    """Refuse to show errors with their settings to people elsewhere."""
    outside = settings.IS_HTTPS or set(settings.ALLOWED_HOSTS) - LOCAL - {"[::1]"}
    if settings.DEBUG and outside:
        yield Error("FLEET_DEBUG shows strangers the settings: set it to no", id="deploy.E001")


def check_trials(app_configs=None, **kwargs):
    """Warn of trials without https; with it no process starts (``deploy/settings.py``)."""
    if settings.TRIALS:
        line = "FLEET_TRIALS breaks the tool on purpose: unset it where anything is recorded"
        yield Warning(line, id="deploy.W003")


def check_proxies(app_configs=None, **kwargs):
    """Refuse a redirect to https that never ends, since nobody may say that it came so."""
    if settings.IS_HTTPS and not settings.PROXIES:
        line = "FLEET_URL is https: name the proxy that ends it in FLEET_PROXIES"
        yield Error(line, id="deploy.E003")


def check_sheets(app_configs=None, **kwargs):
    if not openpyxl.DEFUSEDXML:
        line = "a sheet could fill the memory: install defusedxml (pip install -r requirements.txt)"
        yield Error(line, id="deploy.E004")


def check_media(app_configs=None, **kwargs):
    try:
        with tempfile.TemporaryFile(dir=settings.MEDIA_ROOT):
            pass
    except OSError as error:
        line = f"photos cannot be kept in {settings.MEDIA_ROOT} ({error.strerror}): give it to"
        yield Error(f"{line} the user that the tool runs as", id="deploy.E005")


def check_secrets(app_configs=None, **kwargs):
    """Refuse secrets that other users of the machine may read; the signing key is seen to apart."""
    path, key_file = settings.VAR / "secret", settings.BACKUP_KEY
    if _is_open(path):
        yield Error(f"others may read {path}: chmod 600 {path}", id="deploy.E006")
    if key_file and _is_open(key_file):
        try:
            key.read(key_file)
        except Refused as error:
            yield Error(str(error), id="deploy.E006")


def _is_open(path):
    return path.exists() and path.stat().st_mode & OTHERS


def check_smtp(app_configs=None, **kwargs):
    smtp = settings.SMTP
    if smtp and smtp.scheme == "smtp" and smtp.password and smtp.hostname not in LOCAL:
        line = "FLEET_SMTP would send its password for all to read: use smtp+tls:// or smtps://"
        yield Error(line, id="deploy.E007")


def check_checkpoints(app_configs=None, **kwargs):
    """Warn of checkpoints that a restored volume would bring back along with the database."""
    database = database_checks.place(settings.DATABASES["default"])
    if not (settings.IS_HTTPS and database and settings.CHECKPOINTS.exists()):
        return
    if _volume(database) == _volume(settings.CHECKPOINTS):
        line = "FLEET_CHECKPOINTS is on the database's own volume: put it on another one"
        yield Warning(line, id="deploy.W001")


def _volume(path: Path) -> int:
    return os.stat(path).st_dev


def listed(check):
    """Return the check as Django wants it: answering with a list."""

    def answer(app_configs=None, **kwargs):
        return list(check(app_configs, **kwargs))

    return answer


ALL = [
    listed(check)
    for check in (
        check_debug,
        check_trials,
        check_proxies,
        check_sheets,
        check_media,
        check_secrets,
        check_smtp,
        check_checkpoints,
        database_checks.check_database,
        redis_checks.check_broker,
    )
]

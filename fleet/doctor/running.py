"""What the tool runs on, in words, without a secret."""

from urllib.parse import urlsplit

from django.conf import settings
from django.utils.translation import gettext as _

from fleet.doctor import database

REDIS_PORT = 6379


def runs_on() -> list[tuple[str, str]]:
    """Return (what, which) for the services behind the tool."""
    return [
        (_("Database"), database.name()),
        (_("Broker"), _broker()),
        (_("Mail"), _mail()),
        (_("Checkpoints outside"), str(settings.CHECKPOINTS)),
        (_("Backups"), str(settings.BACKUPS)),
    ]


def _broker():
    parts = urlsplit(settings.CELERY_BROKER_URL)
    if parts.scheme in ("redis", "rediss"):
        return _("Redis at %(host)s") % {"host": f"{parts.hostname}:{parts.port or REDIS_PORT}"}
    return _("files in a folder") if parts.scheme == "filesystem" else _("in memory")


def _mail():
    if settings.SMTP is None:
        return _("files in a folder: no mail leaves this machine")
    return f"{settings.EMAIL_HOST}:{settings.EMAIL_PORT}"

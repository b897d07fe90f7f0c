"""The broker that rings for the worker: Redis, or files in a folder."""

from pathlib import Path
from urllib.parse import urlsplit

import redis
from django.conf import settings
from django.utils.translation import gettext as _

from fleet.doctor.sign import trouble, well

PING_S = 1
# beat rings once a minute: half an hour that nobody took
BACKLOG = 30
SOUND_POLICY = "noeviction"


def answers(at):
    scheme = urlsplit(settings.CELERY_BROKER_URL).scheme
    if scheme in ("redis", "rediss"):
        return _redis_answers()
    if scheme == "filesystem":
        return _backlog(Path(settings.CELERY_BROKER_TRANSPORT_OPTIONS["data_folder_in"]))
    return well(_("The broker is in memory."))


def keeps(at):
    """Redis must not throw messages away when it is full."""
    if urlsplit(settings.CELERY_BROKER_URL).scheme not in ("redis", "rediss"):
        return None
    try:
        found = _client().config_get("maxmemory-policy").get("maxmemory-policy")
    except (redis.ConnectionError, redis.TimeoutError):
        return None  # that it does not answer is told already
    except redis.ResponseError:
        return well(_("Redis does not tell what it does when it is full."))
    if found == SOUND_POLICY:
        return well(_("Redis refuses more when it is full, and throws nothing away."))
    return trouble(
        _("Redis throws messages away when it is full: maxmemory-policy is %(found)s.")
        % {"found": found},
        _("Set maxmemory-policy noeviction in redis.conf."),
    )


def _redis_answers():
    try:
        _client().ping()
    except (redis.RedisError, OSError):
        # the message may hold the address with its password
        return trouble(
            _("Redis does not answer. The loop sweeps without it."),
            _("Start Redis again, or put FLEET_BROKER right."),
        )
    return well(_("Redis answers."))


def _client():
    waits = {"socket_timeout": PING_S, "socket_connect_timeout": PING_S}
    return redis.Redis.from_url(settings.CELERY_BROKER_URL, **waits, retry=None)


def _backlog(folder):
    count = sum(1 for _one in folder.iterdir())
    said = _("%(count)s messages wait in the folder of the broker.") % {"count": count}
    if count > BACKLOG:
        return trouble(said, _("Start the worker again: nobody takes them."))
    return well(said)

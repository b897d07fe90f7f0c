"""What the start warns of in Redis, the broker: what it drops only waits for the sweep."""

from django.conf import settings
from django.core.checks import Warning
from redis import Redis, RedisError

KEEPS_ALL = "noeviction"
WAIT_S = 2


def check_broker(app_configs=None, **kwargs):
    """Warn of a Redis that throws messages away, or does not answer."""
    if not settings.CELERY_BROKER_URL.startswith("redis"):
        return
    try:
        policy = policy_of(settings.CELERY_BROKER_URL)
    except (RedisError, ValueError) as error:
        line = f"Redis does not answer ({type(error).__name__}): reminders wait for the sweep"
        yield Warning(line, id="deploy.W002")
        return
    if policy != KEEPS_ALL:
        line = f"Redis drops messages when full ({policy}): set maxmemory-policy {KEEPS_ALL}"
        yield Warning(line, id="deploy.W004")


def policy_of(url: str) -> str:
    """Return what Redis does when its memory is full."""
    with Redis.from_url(url, socket_timeout=WAIT_S, socket_connect_timeout=WAIT_S) as redis:
        return redis.info("memory").get("maxmemory_policy", KEEPS_ALL)

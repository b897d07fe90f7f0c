"""A real Redis: well, throwing away, frozen, gone."""

import shutil
import time

import pytest
import redis
from servers import Redis, free_port

from fleet.doctor import broker
from tests.fleet.doctor.service_yard import AT

pytestmark = pytest.mark.services


@pytest.fixture
def server(tmp_path, settings):
    if not shutil.which("redis-server"):
        pytest.skip("needs Redis: run it by ./tests/run")
    found = Redis(tmp_path, free_port())
    found.start()
    settings.CELERY_BROKER_URL = found.address
    yield found
    found.thaw()
    found.kill()


def test_redis_as_it_comes_is_in_order(server):
    assert not broker.answers(AT).is_trouble
    assert not broker.keeps(AT).is_trouble


def test_redis_that_throws_messages_away_is_told(server):
    redis.Redis.from_url(server.address).config_set("maxmemory-policy", "allkeys-lru")

    assert broker.keeps(AT).is_trouble
    assert "allkeys-lru" in broker.keeps(AT).said


def test_a_frozen_redis_is_told_and_not_waited_for(server):
    server.freeze()

    began_s = time.monotonic()
    answers, keeps = broker.answers(AT), broker.keeps(AT)
    took_s = time.monotonic() - began_s

    assert (answers.is_trouble, keeps) == (True, None)
    # one wait of a second each
    assert took_s < 2.5

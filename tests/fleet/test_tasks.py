"""Ringing the worker: a broker that does not answer is not asked again at once."""

import pytest

from fleet import tasks


@pytest.fixture
def rung(monkeypatch):
    """How often the broker was asked, which never answers."""
    asked = []

    def ask():
        asked.append(1)
        raise TimeoutError("Timeout reading from socket")

    monkeypatch.setattr(tasks.start_jobs, "delay", ask)
    monkeypatch.setattr(tasks, "bell", tasks.Bell())
    return asked


def test_a_broker_that_does_not_answer_is_left_alone_for_a_while(rung):
    for _ in range(20):
        tasks.ring()

    assert len(rung) == 1


def test_after_that_while_it_is_asked_again(rung):
    tasks.ring()
    tasks.bell.rests_until_s = tasks.time.monotonic()

    tasks.ring()

    assert len(rung) == 2


def test_while_one_page_tries_again_no_other_waits_with_it(rung, monkeypatch):
    tasks.ring()
    tasks.bell.rests_until_s = tasks.time.monotonic()

    def ask():
        rung.append(1)
        tasks.ring()  # another page, before this one was answered

    monkeypatch.setattr(tasks.start_jobs, "delay", ask)
    tasks.ring()

    assert len(rung) == 2


def test_a_broker_that_is_back_is_asked_each_time_again(rung, monkeypatch):
    tasks.ring()
    tasks.bell.rests_until_s = tasks.time.monotonic()
    monkeypatch.setattr(tasks.start_jobs, "delay", lambda: rung.append(1))

    tasks.ring()
    tasks.ring()

    assert len(rung) == 3


def test_a_broker_that_answers_is_asked_each_time(rung, monkeypatch):
    monkeypatch.setattr(tasks.start_jobs, "delay", lambda: rung.append(1))

    tasks.ring()
    tasks.ring()

    assert len(rung) == 2

"""The batch over a real SMTP connection, with a server that misbehaves in turn."""

import re
import socketserver
import threading
import time
from datetime import UTC, date, datetime, timedelta
from unittest.mock import patch

import pytest
from django.core.mail import EmailMessage

from fleet import post as the_post
from fleet.actions.reminders import sweep
from fleet.models import Digest
from fleet.post import MOST_BROKEN_A_MINUTE, Post, Unreachable
from shared import checkpoint
from shared.models import Checkpoint, Membership
from shared.sealing import make_checkpoint, statement_of
from tests.factories import (
    CartFactory,
    MembershipFactory,
    PersonFactory,
    RecheckFactory,
    SiteFactory,
)

pytestmark = pytest.mark.django_db

MORNING = datetime(2026, 3, 5, 11, 0, tzinfo=UTC)
ID = re.compile(rb"Message-ID: (<.*>)")
ADDRESSES = ["ann@example.org", "bad@example.org", "cid@example.org", "dee@example.org"]


class Talk(socketserver.StreamRequestHandler):
    """One SMTP conversation (RFC 5321): takes mail, but for what ``answers`` says."""

    def handle(self):
        self.server.connections += 1
        while self.server.drips:
            self.wfile.write(b"2")
            time.sleep(0.2)
        self.say("220 here")
        begun = False
        while line := self.rfile.readline().decode().strip():
            verb, _, rest = line.partition(" ")
            verb = verb.upper()
            if verb == "RCPT":
                self.say(self.recipient(rest.partition("<")[2].partition(">")[0]))
            elif verb == "MAIL" and begun:
                # as RFC 5321, 4.1.4 has it: no mail within a mail
                self.say("503 nested MAIL")
            elif verb == "DATA" and self.address in self.server.before_text:
                self.say(self.server.before_text[self.address])
            elif verb == "DATA":
                begun = False
                self.say("354 go on")
                lines = iter(self.rfile.readline, b".\r\n")
                mail, cut = b"".join(lines), self.server.cuts.get(self.address)
                if cut == "instead of 250":
                    return
                self.server.mails.append(mail)
                self.server.taken.append(self.address)
                if cut == "after the text":
                    return
                self.say("250 taken")
                if cut == "after 250":
                    return
            else:
                begun = verb == "MAIL"
                self.say("221 bye" if verb == "QUIT" else "250 fine")

    def say(self, answer):
        self.wfile.write(f"{answer}\r\n".encode())

    def recipient(self, address):
        self.address = address
        return self.server.answers.get(address, "250 fine")


class Server(socketserver.ThreadingTCPServer):
    daemon_threads = True

    def __init__(self):
        super().__init__(("127.0.0.1", 0), Talk)
        self.answers, self.cuts, self.drips = {}, {}, False
        self.before_text = {}
        self.taken, self.mails, self.connections = [], [], 0


@pytest.fixture
def server(settings):
    with Server() as found:
        threading.Thread(target=found.serve_forever, daemon=True).start()
        settings.EMAIL_BACKEND = "fleet.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = found.server_address
        yield found
        found.drips = False
        found.shutdown()


@pytest.fixture(autouse=True)
def no_broken_ones():
    the_post.broken_at_s.clear()
    yield
    the_post.broken_at_s.clear()


@pytest.fixture(autouse=True)
def people():
    site = SiteFactory()
    for address in ADDRESSES:
        MembershipFactory(site=site, person=PersonFactory(home_site=site, email=address))
    RecheckFactory(cart=CartFactory(site=site), opens_on=date(2026, 3, 1), due_on=date(2026, 3, 4))


def test_a_batch_goes_over_one_connection(server):
    assert sweep(MORNING).digests == {"sent": 4}
    assert (sorted(server.taken), server.connections) == (ADDRESSES, 1)


@pytest.mark.parametrize("answer", ["450 greylisted", "452 mailbox full", "421 try later"])
def test_one_put_off_keeps_no_other_waiting_and_is_tried_again(server, answer):
    server.answers["bad@example.org"] = answer

    assert sweep(MORNING).digests == {"sent": 3, "failed": 1}
    assert sorted(server.taken) == ["ann@example.org", "cid@example.org", "dee@example.org"]

    server.answers.clear()
    assert sweep(MORNING + timedelta(seconds=59)).digests == {}
    assert sweep(MORNING + timedelta(minutes=1)).digests == {"sent": 1}
    assert sorted(server.taken) == ADDRESSES
    assert set(Digest.objects.values_list("doubtful", flat=True)) == {0}


def test_one_refused_at_its_text_keeps_no_other_waiting(server, people):
    server.before_text["bad@example.org"] = "451 4.3.0 not now"

    swept = sweep(MORNING)

    assert swept.digests == {"sent": 3, "failed": 1}
    assert server.connections == 1


def test_one_refused_for_good_is_dead_with_the_servers_words(server):
    server.answers["bad@example.org"] = "550 5.1.1 no such user"

    assert sweep(MORNING).digests == {"sent": 3, "dead": 1}
    assert sweep(MORNING + timedelta(days=1)).digests == {"sent": 3, "dead": 1}

    dead = Digest.objects.filter(is_dead=True, person__email="bad@example.org")
    assert set(dead.values_list("dropped", "attempts")) == {("550 5.1.1 no such user", 1)}
    assert server.connections == 2


@pytest.mark.parametrize("cut", ["after the text", "instead of 250"])
def test_a_server_gone_after_the_text_leaves_a_doubt_that_is_counted(server, cut):
    server.cuts["bad@example.org"] = cut

    assert sweep(MORNING).digests == {"sent": 3, "failed": 1}
    row = Digest.objects.get(person__email="bad@example.org")
    assert (row.doubtful, row.sending_at) == (0, MORNING)

    server.cuts.clear()
    assert sweep(MORNING + timedelta(minutes=1)).digests == {"sent": 1}
    row.refresh_from_db()
    assert (row.doubtful, row.sent_at) == (1, MORNING + timedelta(minutes=1))
    if cut == "after the text":
        ids = [ID.search(mail)[1] for mail in server.mails if b"bad@example.org" in mail]
        assert len(ids) == 2
        assert len(set(ids)) == 1


def test_a_server_gone_after_its_250_leaves_no_doubt(server):
    server.cuts["ann@example.org"] = "after 250"

    assert sweep(MORNING).digests == {"sent": 4}
    assert set(Digest.objects.values_list("doubtful", "attempts")) == {(0, 1)}
    assert server.connections == 2


def test_a_row_of_whom_another_took_hold_is_not_given_its_text(server, monkeypatch):
    def lost(post, message, **how):
        Digest.objects.update(attempts=5)
        return send(post, message, **how)

    send = Post.send
    monkeypatch.setattr(Post, "send", lost)

    assert sweep(MORNING).digests == {}
    assert server.taken == []


def test_a_drip_is_cut_off_in_any_thread(server):
    server.drips = True
    ended = []

    def talk():
        post = Post()
        began_s = time.monotonic()
        try:
            post.send(EmailMessage("Hi", "there", to=["ann@example.org"]))
        except Unreachable as trouble:
            ended.append((str(trouble), time.monotonic() - began_s))

    with patch("fleet.post.CONNECT_S", 1):
        thread = threading.Thread(target=talk)
        thread.start()
        thread.join(10)

    ((words, passed_s),) = ended
    assert words == "TimeoutError: the mail server took too long"
    assert 1 <= passed_s < 5


def test_no_more_than_so_many_connections_break_within_a_minute(server, settings, monkeypatch):
    settings.EMAIL_PORT = 9
    for _ in range(40):
        post = Post()
        with pytest.raises(Unreachable):
            post.send(EmailMessage("Hi", "there", to=["ann@example.org"]))

    assert "15 connections broke within a minute" in post.fault
    assert MOST_BROKEN_A_MINUTE * 4 <= 60


def test_a_server_is_let_alone_for_a_minute_however_often_it_is_wanted(
    server, settings, monkeypatch
):
    settings.EMAIL_PORT = 9
    now, later_s = time.monotonic, [0]
    monkeypatch.setattr("fleet.post.time.monotonic", lambda: now() + later_s[0])
    for later_s[0] in [0] * 40 + [30] * 40:
        with pytest.raises(Unreachable):
            Post().send(EmailMessage("Hi", "there", to=["ann@example.org"]))

    settings.EMAIL_PORT = server.server_address[1]
    later_s[0] = 61
    assert sweep(MORNING).digests == {"sent": 4}


def test_a_server_that_is_away_loses_nothing(server, settings):
    port, settings.EMAIL_PORT = settings.EMAIL_PORT, 9
    assert sweep(MORNING).digests == {}

    settings.EMAIL_PORT = port
    assert sweep(MORNING + timedelta(minutes=1)).digests == {"sent": 4}


def test_a_checkpoint_comes_out_of_the_wire_as_it_was_signed(server):
    site = Membership.objects.first().site
    row = make_checkpoint(site, at=MORNING, cause=Checkpoint.Cause.BUNDLE)

    assert sweep(MORNING).checkpoints == {"sent": 4}

    found = [checkpoint.read_all(one.decode()) for one in server.mails]
    assert [said for said in found if said] == [[statement_of(row)]] * 4

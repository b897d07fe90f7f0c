"""The batch over a real SMTP connection, with a server that misbehaves in turn."""

import socketserver
import threading
from datetime import UTC, date, datetime, timedelta

import pytest

from fleet.actions.reminders import sweep
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
ADDRESSES = ["ann@example.org", "bad@example.org", "cid@example.org", "dee@example.org"]


class Talk(socketserver.StreamRequestHandler):
    """One SMTP conversation (RFC 5321): takes mail, but for what ``answers`` says."""

    def handle(self):
        self.server.connections += 1
        self.say("220 here")
        while line := self.rfile.readline().decode().strip():
            verb, _, rest = line.partition(" ")
            verb = verb.upper()
            if verb == "RCPT":
                self.say(self.recipient(rest.partition("<")[2].partition(">")[0]))
            elif verb == "DATA":
                self.say("354 go on")
                lines = iter(self.rfile.readline, b".\r\n")
                self.server.mails.append(b"".join(lines))
                self.server.taken.append(self.address)
                self.say("250 taken")
            else:
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
        self.answers, self.taken, self.mails, self.connections = {}, [], [], 0


@pytest.fixture
def server(settings):
    with Server() as found:
        threading.Thread(target=found.serve_forever, daemon=True).start()
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = found.server_address
        yield found
        found.shutdown()


@pytest.fixture(autouse=True)
def people():
    site = SiteFactory()
    for address in ADDRESSES:
        MembershipFactory(site=site, person=PersonFactory(home_site=site, email=address))
    RecheckFactory(cart=CartFactory(site=site), opens_on=date(2026, 3, 1), due_on=date(2026, 3, 4))


def test_a_batch_goes_over_one_connection(server):
    assert sweep(MORNING).digests == {"sent": 4}
    assert (sorted(server.taken), server.connections) == (ADDRESSES, 1)


@pytest.mark.parametrize("answer", ["550 no such user", "452 mailbox full", "421 try later"])
def test_one_refused_address_keeps_no_other_waiting(server, answer):
    server.answers["bad@example.org"] = answer

    assert sweep(MORNING).digests == {"sent": 3, "failed": 1}
    assert sorted(server.taken) == ["ann@example.org", "cid@example.org", "dee@example.org"]

    server.answers.clear()
    assert sweep(MORNING + timedelta(minutes=11)).digests == {"sent": 1}
    assert sorted(server.taken) == ADDRESSES


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

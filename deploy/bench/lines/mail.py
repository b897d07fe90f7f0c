"""How quickly two workers mail a morning's digests, against what the mail server can take.

They are processes that call what the task calls; the broker between is not measured.
"""

import smtplib
import tempfile
from contextlib import contextmanager
from email.message import EmailMessage
from pathlib import Path

from servers import free_port

from deploy.bench.child import ended, started
from deploy.bench.listed import lines
from deploy.bench.pairs import Figure
from deploy.bench.pattern import AT
from deploy.faults.world import Sink
from fleet.actions import digests, notices, reminders
from fleet.models import Digest, Notice
from fleet.reminding import site_days

WORKERS = 2
MAILS = 200
LINE = "Cart 0417: grease round, due 12 June, in bay 7 of row 3"
LINES = 400


@lines("mail")
def mail(world):
    yield Figure(
        "mail-rate",
        f"mails a second that a server takes of {WORKERS} clients, against as many workers",
        2,
        lambda: _rate(world, _clients) / _rate(world, _workers),
        "x",
    )


def _rate(world, send):
    """Return the mails a second of two processes, from the first taken to the last."""
    with tempfile.TemporaryDirectory(dir=world.folder) as folder:
        sink = Sink(Path(folder), free_port())
        sink.start()
        try:
            send(world, sink.port)
            taken = sorted(one["at"] for one in sink.taken())
        finally:
            sink.kill()
    return (len(taken) - 1) / (taken[-1] - taken[0])


def _clients(world, port):
    _both(world, "send_plain", [str(port)] * WORKERS, port)


def _workers(world, port):
    with _morning() as people:
        halves = [people[place::WORKERS] for place in range(WORKERS)]
        _both(world, "mail_digests", [",".join(half) for half in halves], port)


def _both(world, function, words, port):
    place, smtp = f"{__name__}:{function}", f"smtp://127.0.0.1:{port}"
    for process in [started(world, place, word, FLEET_SMTP=smtp) for word in words]:
        ended(process)


@contextmanager
def _morning():
    """Plan what everybody is owed this morning, kept for other processes; forget it after."""
    days = site_days(AT)
    notices.make(days, at=AT)
    digests.plan(days, at=AT)
    try:
        yield [str(pk) for pk in digests.people_waiting(at=AT)][:MAILS]
    finally:
        for rows in (Notice.objects.all(), Digest.objects.all()):
            rows.delete()


def mail_digests(people: str) -> None:
    """Mail the digests of these people, within a process of its own."""
    ended_so = reminders.mail_digests(people.split(","), AT)
    if not ended_so["sent"]:
        raise RuntimeError(f"no mail went out: {ended_so}")


def send_plain(port: str) -> None:
    """Send as many mails of about that length, made once, over one connection."""
    message = EmailMessage()
    message["From"], message["To"], message["Subject"] = "fleet@y.example", "a@y.example", "Work"
    message.set_content("\n".join([LINE] * LINES))
    with smtplib.SMTP("127.0.0.1", int(port)) as server:
        for _ in range(MAILS // WORKERS):
            server.send_message(message)

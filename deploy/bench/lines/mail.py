"""How quickly two workers mail a usual morning's digests, against what the mail server can take.

The workers are Celery's, asked by the task that a sweep hands mails out with. Both sides are
measured from when they are told to begin until the last mail is taken.
"""

import smtplib
import statistics
import sys
import time
from email.message import EmailMessage
from email.policy import SMTP
from uuid import UUID

from deploy.bench import morning
from deploy.bench.child import ended, started
from deploy.bench.listed import lines
from deploy.bench.mail_yard import WORKERS, MailYard
from deploy.bench.pairs import Figure
from fleet import tasks
from fleet.actions import claims, digests
from fleet.models import Digest, Notice

ROUNDS = 5
STARTS_IN_S = 4
LINE = "Cart 0417: grease round, due 12 June, in bay 7 of row 3\n"


@lines("mail")
def mail(world):
    # a Tuesday: on Mondays managers are told how the service is, too
    at = world.at_moment + morning.A_DAY
    with morning.told_of_before(at), MailYard(world, at) as yard:
        _workers_s(world, yard)
        length = statistics.mean(one.bytes for one in yard.taker.taken())
        rounds = [(_clients_s(world, yard, length), _workers_s(world, yard)) for _ in range(ROUNDS)]
    ratios = sorted(ours_s / limit_s for limit_s, ours_s in rounds)
    a_second = morning.MAILS / statistics.median(limit_s for limit_s, _ours_s in rounds)
    yield Figure(
        "mail-rate",
        f"mails of {length / 1000:.0f} kB to two clients ({a_second:.0f}/s), against as many"
        f" workers; {ratios[0]:.2f}..{ratios[-1]:.2f}",
        2,
        lambda: statistics.median(ratios),
        "x",
    )


def _workers_s(world, yard):
    """Return how long the workers take for the whole morning, once they are asked."""
    morning.owe_again()
    people = digests.people_waiting(at=yard.at)
    asking = started(world, f"{__name__}:ask", ",".join(map(str, people)), **yard.environ)
    begun_s = float(ended(asking).split()[0])
    for model in (Digest, Notice):
        waiting = model.objects.filter(claims.WAITING[model])
        yard.wait_until(lambda rows=waiting: not rows.exists())
    return yard.last_taken_s(morning.MAILS) - begun_s


def _clients_s(world, yard, length):
    """Return how long bare clients take that send as many mails of that length."""
    each = morning.MAILS // WORKERS
    begin_s = time.time() + STARTS_IN_S
    words = [str(yard.taker.port), str(begin_s), str(each), str(round(length))]
    place = f"{__name__}:send_plain"
    for client in [started(world, place, *words, **yard.environ) for _ in range(WORKERS)]:
        ended(client)
    return yard.last_taken_s(morning.MAILS) - begin_s


def ask(people: str) -> None:
    """Ask the workers to mail these people, and say since when."""
    sys.stdout.write(f"{time.time()}\n")
    if not tasks.hand_out([UUID(pk) for pk in people.split(",")]):
        raise RuntimeError("no worker could be asked")


def send_plain(port: str, begin_s: str, mails: str, length: str) -> None:
    """Send so many mails of that length, made once, over one connection, from a moment on."""
    message = EmailMessage()
    message["From"], message["To"], message["Subject"] = "fleet@y.example", "a@y.example", "Work"
    message.set_content(LINE * (int(length) // (len(LINE) + 1)))
    text = message.as_bytes(policy=SMTP)
    time.sleep(max(0, float(begin_s) - time.time()))
    with smtplib.SMTP("127.0.0.1", int(port)) as server:
        for _ in range(int(mails)):
            server.sendmail("fleet@y.example", ["a@y.example"], text)

"""One connection to the mail server for a batch of mail, and limits that hold from outside."""

import contextlib
import signal
import smtplib
import threading
import time

from django.core import mail

BATCH_S = 30
# smtplib's own timeout starts again with each byte that comes
MAIL_S = 45
CLOSE_S = 5


class Unreachable(Exception):
    """The mail server cannot be used now: no row's fault."""


class Post:
    """Sends mails one by one over a connection that opens at the first and closes at the end."""

    def __init__(self):
        self.connection = mail.get_connection()
        self.began_s = time.monotonic()

    def __enter__(self):
        return self

    def __exit__(self, *raised):
        self._close()

    def has_time(self):
        """Whether another mail may be begun in this batch."""
        return time.monotonic() - self.began_s < BATCH_S

    def send(self, message):
        """Hand one mail to the server.

        Raises Unreachable when the server cannot be reached or refuses the sender, and
        what the backend raises when it refuses this mail.
        """
        with at_most(MAIL_S):
            try:
                self.connection.open()
            except OSError as error:
                self._close()
                raise Unreachable(str(error)) from error
            self._hand_over(message)

    def _hand_over(self, message):
        try:
            sent = self.connection.send_messages([message])
        except smtplib.SMTPSenderRefused as error:
            self._close()
            raise Unreachable(str(error)) from error
        except Exception:
            # the next mail begins on a new connection
            self._close()
            raise
        if not sent:
            raise smtplib.SMTPException("the mail has no recipient")

    def _close(self):
        with contextlib.suppress(OSError), at_most(CLOSE_S):
            self.connection.close()


@contextlib.contextmanager
def at_most(seconds):
    """Raise TimeoutError when the block takes longer; only a main thread can be held to it."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGALRM, _too_long)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def _too_long(number, frame):
    raise TimeoutError("the mail server took too long")

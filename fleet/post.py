"""One connection to the mail server for a batch of mail, and limits that hold from outside."""

import contextlib
import signal
import smtplib
import threading
import time
from collections import deque

from django.core import mail

from fleet.mail_faults import Fault, Refusal, refusal_of, said_by
from fleet.smtp import EmailBackend
from shared.trials import kill_point

# a mail may begin until then, and the last is cut off at the end of the hold
BATCH_S, HOLD_S = 40, 80
CONNECT_S = 20
# by the tries before: who drips at first keeps the others waiting for little
MAIL_S = (15, 40, 60)
# once a few were cut off, a first try shorter still: fifty that drip must not hold up the rest
HASTY_S, HASTY_FOR_S = 3, 600
CLOSE_S = 5
# a name that is looked up has no connection yet to cut off
ALARM_AFTER_S = 2
# of one process, and so 60 for four of them
MOST_BROKEN_A_MINUTE = 15
broken_at_s = deque(maxlen=MOST_BROKEN_A_MINUTE)
cut_off_at_s = deque(maxlen=2)


class Unreachable(Exception):
    """The mail server cannot be used now: no row's fault."""


class NotTaken(Exception):
    """The mail server did not take a mail, or nobody knows; ``refusal`` says what that means."""

    def __init__(self, refusal: Refusal):
        super().__init__(refusal.words)
        self.refusal = refusal


class NotWanted(Exception):
    """Whoever gave the mail takes it back before its text goes out."""


class Post:
    """Sends mails one by one over a connection that opens at the first and closes at the end.

    ``fault`` says why the server could not be used, ``reached`` that it took a mail or answered.
    """

    def __init__(self):
        self.connection = mail.get_connection()
        self.is_smtp = isinstance(self.connection, EmailBackend)
        self.began_s = time.monotonic()
        self.reached, self.fault = False, ""

    def __enter__(self):
        return self

    def __exit__(self, *raised):
        self._close()

    @property
    def passed_s(self):
        return time.monotonic() - self.began_s

    def has_time(self):
        """Whether another mail may be begun in this batch."""
        return not self.fault and self.passed_s < BATCH_S

    def send(self, message, *, tries=1, before_data=lambda: None):
        """Hand one mail to the server; ``before_data`` is called just before its text goes out.

        Raises Unreachable when the server cannot be used, NotTaken when it refuses this mail
        or falls silent, and NotWanted when ``before_data`` does.
        """
        text = _Text(before_data)
        limit_s = _patience_s(tries)
        is_new = self._open()
        try:
            try:
                self._hand_over(message, text, limit_s)
            except smtplib.SMTPServerDisconnected:
                if is_new or text.is_begun:
                    raise
                # closed since the mail before: nothing of this one was said
                self._close()
                self._open()
                self._hand_over(message, text, limit_s)
        except (OSError, ValueError) as error:
            raise self._trouble(error, text.is_begun) from error
        except Exception:
            # the next mail begins on a new connection
            self._close()
            raise
        self.reached = True

    def _open(self):
        """Return whether a new connection was made."""
        if self.is_smtp and self.connection.connection is not None:
            return False
        if self.is_smtp and _broke_too_often():
            # no connection was tried, so none more broke: else it would never end
            self.fault = f"{MOST_BROKEN_A_MINUTE} connections broke within a minute"
            raise Unreachable(self.fault)
        try:
            with self._limit(CONNECT_S):
                is_new = self.connection.open()
        except OSError as error:
            self._break()
            self.fault = said_by(error)
            raise Unreachable(self.fault) from error
        if is_new:
            kill_point("after-connect")
        return bool(is_new)

    def _hand_over(self, message, text, limit_s):
        if self.is_smtp:
            self.connection.call_before_data(text.begin)
        else:
            text.begin()
        with self._limit(limit_s):
            sent = self.connection.send_messages([message])
        if not sent:
            raise ValueError("the mail has no recipient")

    def _trouble(self, error, data_begun):
        refusal = refusal_of(error, data_begun=data_begun)
        if isinstance(error, TimeoutError):
            cut_off_at_s.append(time.monotonic())
        if not isinstance(error, smtplib.SMTPResponseException | smtplib.SMTPRecipientsRefused):
            self._break()
        elif refusal.words.startswith("421") or getattr(error, "smtp_code", 0) < 0:
            # the server closes after 421 (RFC 5321, 3.8); no reply may be half of one
            self._break()
        else:
            self.reached = True
        if refusal.fault is Fault.SERVER:
            self._close()
            self.fault = refusal.words
            return Unreachable(refusal.words)
        return NotTaken(refusal)

    def _break(self):
        """Close a connection that is of no use any more; the next mail begins on a new one."""
        broken_at_s.append(time.monotonic())
        self._close()

    def _close(self):
        with contextlib.suppress(OSError), self._limit(CLOSE_S, even_after_hold=True):
            self.connection.close()

    @contextlib.contextmanager
    def _limit(self, limit_s, *, even_after_hold=False):
        if not even_after_hold:
            limit_s = max(0, min(limit_s, HOLD_S - self.passed_s))
        if self.is_smtp:
            with at_most(limit_s + ALARM_AFTER_S), self.connection.cord.limit(limit_s):
                yield
        else:
            with at_most(limit_s):
                yield


class _Text:
    """Whether a mail's text is on its way."""

    def __init__(self, before):
        self.before, self.is_begun = before, False

    def begin(self):
        self.before()
        self.is_begun = True


def _patience_s(tries):
    """Return how long one mail may take, by how often it was tried and what happened lately."""
    is_hasty = len(cut_off_at_s) == cut_off_at_s.maxlen and _since_s(cut_off_at_s) < HASTY_FOR_S
    if tries <= 1 and is_hasty:
        return HASTY_S
    return MAIL_S[min(max(tries, 1), len(MAIL_S)) - 1]


def _since_s(moments_s):
    return time.monotonic() - moments_s[0]


def _broke_too_often():
    """Say whether this process broke off so often that it lets the server alone for a while."""
    return len(broken_at_s) == MOST_BROKEN_A_MINUTE and _since_s(broken_at_s) < 60


@contextlib.contextmanager
def at_most(seconds):
    """Raise TimeoutError when the block takes longer; only a main thread can be held to it."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGALRM, _too_long)
    signal.setitimer(signal.ITIMER_REAL, max(seconds, 0.001))
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def _too_long(number, frame):
    raise TimeoutError("the mail server took too long")

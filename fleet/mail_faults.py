"""What a mail server's refusal means for the mail that it refused. Pure.

A reply's first digit says whether it is for now or for good (RFC 5321, 4.2.1); an enhanced
status code says what it is about: an address, a mailbox, a policy (RFC 3463).
"""

import re
import smtplib
import ssl
from dataclasses import dataclass
from datetime import timedelta
from enum import Enum

# common practice, no source: RFC 5321, 4.5.4.1 asks for 30 min or more, greylisting for less
WAITS = [timedelta(minutes=minutes) for minutes in (1, 5, 15, 30, 60)]
# a login is wanted or was refused (RFC 4954, 6): about the server, whatever mail it was
LOGIN_CODES = {530, 534, 535, 538}
TOO_BIG = 552
ENHANCED = re.compile(r"^[245]\.(\d{1,3})\.(\d{1,3})\b")
# RFC 3463: 3.2, the sender's address; 3.3, a full mailbox, which can be emptied; 3.8, policy
PASSES = {("1", "7"), ("1", "8"), ("2", "2")}
ADDRESSING, POLICY = "1", "7"
# replies that RFC 5321, 4.2.2 gives an unknown mailbox and a policy alike: the words tell;
# which words, common practice, no source
UNCLEAR = {550, 551, 553, 554}
OF_SETUP = re.compile(r"relay|authenticat|block|blacklist|polic(y|ies)|\b(spf|dkim|dmarc)\b", re.I)
ADDRESS = re.compile(r"\S+@\S+")
MOST_CHARS = 160
NOT_VOUCHED_FOR = "the mail server's certificate is not accepted"


class Fault(Enum):
    """Whose fault it is that a mail did not go out, and so what becomes of its row."""

    SERVER = "no row's fault: all wait until the server is back"
    LATER = "not taken now: this row is tried again later"
    NEVER = "refused for good: this row is dead"
    DOUBT = "may have been taken: tried again, and counted"


@dataclass(frozen=True)
class Refusal:
    """What an error means, and the server's words for it."""

    fault: Fault
    words: str


def refusal_of(error: Exception, *, data_begun: bool) -> Refusal:
    """Return what an error in handing over a mail means.

    ``data_begun``: the text of the mail was on its way. A server that falls silent before
    took nothing; afterwards nobody knows. A policy's refusal for good (x.7.x, or told in words)
    may be of our server's making as well as of the recipient's, and so is tried again.
    """
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, words = next(iter(error.recipients.values()))
        return _of_reply(code, words)
    if isinstance(error, smtplib.SMTPSenderRefused):
        return _of_sender(error.smtp_code, error.smtp_error)
    if isinstance(error, smtplib.SMTPResponseException) and not _is_unread(error, data_begun):
        return _of_reply(error.smtp_code, error.smtp_error)
    if isinstance(error, smtplib.SMTPNotSupportedError | ValueError):
        # BadHeaderError and the Unicode errors are ValueErrors
        return Refusal(Fault.NEVER, said_by(error))
    if data_begun:
        return Refusal(Fault.DOUBT, said_by(error))
    return Refusal(Fault.LATER, said_by(error))


def _is_unread(error, data_begun):
    """Whether the text was answered by what is no reply: smtplib's code is -1 then."""
    return data_begun and error.smtp_code < 0


def _of_sender(code, words):
    fault = Fault.NEVER if code == TOO_BIG else Fault.SERVER
    return Refusal(fault, reply_text(code, words))


def _of_reply(code, words):
    said = reply_text(code, words)
    if code in LOGIN_CODES:
        return Refusal(Fault.SERVER, said)
    if code < 500 or _may_pass(code, said.partition(" ")[2]):
        return Refusal(Fault.LATER, said)
    return Refusal(Fault.NEVER, said)


def _may_pass(code, words):
    """Whether a refusal for good is about what somebody can set right: a setup, a full mailbox."""
    if found := ENHANCED.match(words):
        subject = found[1]
        if subject == POLICY or found.groups() in PASSES:
            return True
        if subject == ADDRESSING:
            return False
    return code in UNCLEAR and bool(OF_SETUP.search(ADDRESS.sub(" ", words)))


def reply_text(code, words) -> str:
    """Return a server's reply in one line."""
    text = words.decode(errors="replace") if isinstance(words, bytes) else str(words)
    return _in_line(f"{code} {text}")


def said_by(error: Exception) -> str:
    """Return an error in one line, with its kind and a server's reply as it was."""
    words = error
    if isinstance(error, ssl.SSLCertVerificationError):
        return _in_line(f"{NOT_VOUCHED_FOR}: {error.verify_message}")
    if isinstance(error, smtplib.SMTPResponseException):
        words = reply_text(error.smtp_code, error.smtp_error)
    return _in_line(f"{type(error).__name__}: {words}")


def _in_line(text):
    # PostgreSQL keeps no text that has a zero byte
    return " ".join(text.replace("\0", " ").split())[:MOST_CHARS]


def wait_after(attempts: int) -> timedelta:
    """Return how long a row waits after so many tries that were answered "later"."""
    return WAITS[min(max(attempts, 1), len(WAITS)) - 1]


def tries_within(whole: timedelta) -> int:
    """Return how many tries fit into a time, the first at its start."""
    tries, passed = 1, timedelta()
    while (passed := passed + wait_after(tries)) <= whole:
        tries += 1
    return tries

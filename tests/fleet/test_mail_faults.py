"""What each answer of a mail server means for the row of the mail.

Replies: RFC 5321, 4.2; enhanced status codes: RFC 3463; of logins: RFC 4954, 6.
"""

import smtplib
from datetime import timedelta

import pytest
from django.core.mail import BadHeaderError

from fleet.actions.claims import CLAIM_LAPSES
from fleet.mail_faults import Fault, refusal_of, said_by, tries_within, wait_after
from fleet.post import CLOSE_S, CONNECT_S, HOLD_S, MAIL_S

MINUTE = timedelta(minutes=1)
ANN = "ann@example.org"


def to_recipient(code, words=b"so"):
    return smtplib.SMTPRecipientsRefused({ANN: (code, words)})


def of_text(code, words=b"so"):
    return smtplib.SMTPDataError(code, words)


def of_sender(code, words=b"so"):
    return smtplib.SMTPSenderRefused(code, words, "fleet@localhost")


GONE = smtplib.SMTPServerDisconnected("Connection unexpectedly closed")
BEFORE, AFTER = False, True
CASES = [
    (to_recipient(421), BEFORE, Fault.LATER),
    (to_recipient(450, b"4.2.0 greylisted"), BEFORE, Fault.LATER),
    (to_recipient(451, b"4.7.1 try again"), BEFORE, Fault.LATER),
    (to_recipient(452, b"4.2.2 mailbox full"), BEFORE, Fault.LATER),
    (to_recipient(455), BEFORE, Fault.LATER),
    (to_recipient(550, b"5.1.1 no such user"), BEFORE, Fault.NEVER),
    (to_recipient(550, b"no such user"), BEFORE, Fault.NEVER),
    (to_recipient(550, b"5.2.1 mailbox disabled"), BEFORE, Fault.NEVER),
    (to_recipient(551), BEFORE, Fault.NEVER),
    # RFC 3463, 3.3: "the recipient can delete messages to make more space available"
    (to_recipient(552, b"5.2.2 mailbox full"), BEFORE, Fault.LATER),
    (to_recipient(550, b"5.2.2 over quota"), BEFORE, Fault.LATER),
    (to_recipient(552, b"5.2.3 too long for this mailbox"), BEFORE, Fault.NEVER),
    # RFC 5321, 4.2.2: 550 is no mailbox, no access, or a policy; 551 and 553 name a mailbox;
    # 554 may be any. The words are as servers write them, no source
    (to_recipient(550, b"relaying denied"), BEFORE, Fault.LATER),
    (to_recipient(550, b"Relay access denied"), BEFORE, Fault.LATER),
    (to_recipient(551, b"we do not relay"), BEFORE, Fault.LATER),
    (to_recipient(553, b"sorry, authentication is required"), BEFORE, Fault.LATER),
    (to_recipient(554, b"<ann@example.org>: relay access denied"), BEFORE, Fault.LATER),
    (to_recipient(554, b"your address is blocked"), BEFORE, Fault.LATER),
    (to_recipient(554, b"5.3.0 refused by policy"), BEFORE, Fault.LATER),
    (of_text(550, b"SPF check failed"), AFTER, Fault.LATER),
    (of_text(554, b"rejected by DMARC"), AFTER, Fault.LATER),
    (of_text(552, b"relay full"), AFTER, Fault.NEVER),
    (to_recipient(550, b"<policy@relay.example.org>: no such user"), BEFORE, Fault.NEVER),
    (to_recipient(551, b"user not local"), BEFORE, Fault.NEVER),
    # RFC 3463, 3.2: x.1.1 to x.1.6 and x.1.10 are the recipient's address, x.1.7 and x.1.8 ours
    (to_recipient(550, b"5.1.1 blocked, no such user"), BEFORE, Fault.NEVER),
    (to_recipient(550, b"5.1.6 moved, not relayed"), BEFORE, Fault.NEVER),
    (to_recipient(553, b"5.1.7 bad sender"), BEFORE, Fault.LATER),
    (to_recipient(550, b"5.1.8 sender's domain not found"), BEFORE, Fault.LATER),
    (to_recipient(553, b"5.1.3 bad address"), BEFORE, Fault.NEVER),
    (to_recipient(554), BEFORE, Fault.NEVER),
    (to_recipient(556, b"5.1.10 takes no mail"), BEFORE, Fault.NEVER),
    (to_recipient(550, b"5.7.1 relaying denied"), BEFORE, Fault.LATER),
    (to_recipient(554, b"5.7.1 listed"), BEFORE, Fault.LATER),
    (to_recipient(530, b"5.7.0 authentication required"), BEFORE, Fault.SERVER),
    (to_recipient(535, b"5.7.8 not you"), BEFORE, Fault.SERVER),
    (of_sender(421), BEFORE, Fault.SERVER),
    (of_sender(450), BEFORE, Fault.SERVER),
    (of_sender(530), BEFORE, Fault.SERVER),
    (of_sender(550), BEFORE, Fault.SERVER),
    (of_sender(553), BEFORE, Fault.SERVER),
    (of_sender(552, b"5.3.4 too big"), BEFORE, Fault.NEVER),
    (of_text(421), AFTER, Fault.LATER),
    (of_text(450), AFTER, Fault.LATER),
    (of_text(451), AFTER, Fault.LATER),
    (of_text(452), AFTER, Fault.LATER),
    (of_text(550, b"5.1.1 no such user"), AFTER, Fault.NEVER),
    (of_text(552), AFTER, Fault.NEVER),
    (of_text(554, b"5.6.0 not to be read"), AFTER, Fault.NEVER),
    (of_text(554, b"5.7.1 looks like spam"), AFTER, Fault.LATER),
    (of_text(503), AFTER, Fault.NEVER),
    (of_text(-1, b"what is that"), AFTER, Fault.DOUBT),
    (to_recipient(-1, b"what is that"), BEFORE, Fault.LATER),
    (GONE, BEFORE, Fault.LATER),
    (GONE, AFTER, Fault.DOUBT),
    (TimeoutError("the mail server took too long"), BEFORE, Fault.LATER),
    (TimeoutError("the mail server took too long"), AFTER, Fault.DOUBT),
    (ConnectionResetError("reset"), BEFORE, Fault.LATER),
    (ConnectionResetError("reset"), AFTER, Fault.DOUBT),
    (BadHeaderError("newline"), BEFORE, Fault.NEVER),
    (smtplib.SMTPNotSupportedError("SMTPUTF8"), BEFORE, Fault.NEVER),
    (UnicodeEncodeError("ascii", "ä", 0, 1, "no"), BEFORE, Fault.NEVER),
]


@pytest.mark.parametrize(("error", "data_begun", "fault"), CASES, ids=lambda one: str(one)[:40])
def test_what_an_error_means(error, data_begun, fault):
    assert refusal_of(error, data_begun=data_begun).fault is fault


def test_the_servers_words_are_kept_in_one_line():
    words = b"5.1.1 no such\r\nuser \xff" + b"x" * 500

    said = refusal_of(to_recipient(550, words), data_begun=False).words

    assert said.startswith("550 5.1.1 no such user \ufffdxxx")
    assert len(said) == 160


def test_a_greeting_that_refuses_is_told_as_it_was():
    error = smtplib.SMTPConnectError(421, b"4.3.2 too busy")

    assert said_by(error) == "SMTPConnectError: 421 4.3.2 too busy"


def test_the_waits_grow_to_an_hour():
    waits = [wait_after(tries) for tries in range(1, 8)]

    assert waits == [MINUTE * minutes for minutes in (1, 5, 15, 30, 60, 60, 60)]


@pytest.mark.parametrize(
    ("whole", "tries"), [(0 * MINUTE, 1), (MINUTE, 2), (6 * MINUTE, 3), (51 * MINUTE, 5)]
)
def test_so_many_tries_fit(whole, tries):
    assert tries_within(whole) == tries


def test_a_claim_outlives_the_longest_hold():
    longest = timedelta(seconds=HOLD_S + CLOSE_S)

    assert longest <= 1.5 * MINUTE
    assert 2 * longest < CLAIM_LAPSES
    assert max(*MAIL_S, CONNECT_S) < HOLD_S


def test_a_reply_with_a_zero_byte_can_be_kept():
    assert said_by(of_text(554, b"no\0way")) == "SMTPDataError: 554 no way"

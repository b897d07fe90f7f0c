"""A mail with a shared text is the mail that Django would make of it."""

from email import message_from_bytes, policy

import pytest
from django.core.mail import BadHeaderError, EmailMultiAlternatives

from fleet.shared_mail import SharedMail, SharedText

TEXT, HTML = "Grüße\nFrom the yard\n.\nend", "<p>Grüße</p>\n"
OWN = ("Date", "Content-Type")
HEADERS = {"Message-ID": "<digest.1@example.org>", "Auto-Submitted": "auto-generated"}


@pytest.mark.parametrize("subject", ["Carts at Heron: 3 late", "Carts at Zürich" + ", 3 spät" * 20])
@pytest.mark.parametrize("address", ["ann@example.org", "jörg@bücher.example"])
def test_its_bytes_are_those_of_the_usual_mail(subject, address):
    shared = SharedText(TEXT, HTML)
    usual = EmailMultiAlternatives(subject, TEXT, to=[address], headers=HEADERS)
    usual.attach_alternative(HTML, "text/html")

    ours = read(SharedMail(shared, subject, address, HEADERS))

    assert told(ours) == told(read(usual))
    assert told(read(SharedMail(shared, subject, address, HEADERS))) == told(ours)


def read(mail):
    text = mail.message().as_bytes(linesep="\r\n")
    assert b"\n" not in text.replace(b"\r\n", b"")
    return message_from_bytes(text, policy=policy.default)


def told(message):
    # a long subject folded anew begins with a blank
    head = {name: value.strip() for name, value in message.items() if name not in OWN}
    parts = [(part.get_content_type(), part.get_content()) for part in message.iter_parts()]
    return head, message.get_content_type(), parts


def test_many_people_get_their_own_head_and_the_same_text():
    shared = SharedText(TEXT, HTML)
    mails = [SharedMail(shared, "Work", f"{name}@example.org", HEADERS) for name in ("ann", "bob")]

    heads, texts = zip(*(told(read(mail))[::2] for mail in mails), strict=True)

    assert [head["To"] for head in heads] == ["ann@example.org", "bob@example.org"]
    assert texts[0] == texts[1]


@pytest.mark.parametrize("place", ["subject", "address"])
def test_a_line_more_in_its_head_is_refused(place):
    said = {"subject": "Work", "address": "ann@example.org"} | {place: "a\nBcc: eve@example.org"}

    with pytest.raises(BadHeaderError):
        SharedMail(SharedText(TEXT, HTML), headers=HEADERS, **said).message()

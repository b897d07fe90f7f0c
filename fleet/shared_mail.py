"""A mail whose text goes to many people: it is put into its form (RFC 2046) once for all."""

from email.generator import BytesGenerator
from email.mime.multipart import MIMEMultipart
from email.utils import formatdate
from functools import lru_cache
from io import BytesIO
from uuid import uuid4

from django.core.mail import EmailMultiAlternatives
from django.core.mail.message import SafeMIMEText, forbid_multi_line_headers

CHARSET = "utf-8"
SAME_LINES = 64


class SharedText:
    """A text, and the same as HTML."""

    def __init__(self, text: str, html: str):
        self.text, self.html = text, html
        self.boundary = f"==={uuid4().hex}==="
        words = ((text, "plain"), (html, "html"))
        self.parts = [SafeMIMEText(said, kind, CHARSET) for said, kind in words]
        self.flat = lru_cache(self._flat)

    def _flat(self, linesep: str) -> bytes:
        """Return everything below the head of a mail with this text, as bytes."""
        file = BytesIO()
        whole = MIMEMultipart("alternative", self.boundary, self.parts)
        BytesGenerator(file, mangle_from_=False).flatten(whole, linesep=linesep)
        return file.getvalue().partition(2 * linesep.encode())[2]


class SharedMail(EmailMultiAlternatives):
    """A mail to one person with a shared text."""

    def __init__(self, shared: SharedText, subject: str, address: str, headers: dict[str, str]):
        super().__init__(subject, shared.text, to=[address], headers=headers)
        self.attach_alternative(shared.html, "text/html")
        self.shared = shared

    def message(self):
        whole = _Whole(self.shared)
        for name, value in self._head():
            whole[name] = value
        return whole

    def _head(self):
        """Yield the name and value of each line of the head but those about the text's form."""
        yield "Subject", _on_one_line("Subject", self.subject)
        yield "From", _on_one_line("From", self.from_email)
        own = {"To": self.to[0], "Date": formatdate(), **self.extra_headers}
        for name, value in own.items():
            yield forbid_multi_line_headers(name, value, CHARSET)


# the same for many mails that follow each other
@lru_cache(SAME_LINES)
def _on_one_line(name, value):
    return forbid_multi_line_headers(name, value, CHARSET)[1]


class _Whole(MIMEMultipart):
    """Head and text; as bytes only the head is made anew."""

    def __init__(self, shared):
        super().__init__("alternative", shared.boundary, shared.parts)
        self.shared = shared

    def as_bytes(self, unixfrom=False, policy=None, linesep="\n"):
        # already folded where it must be
        head = "".join(f"{name}: {value}\n" for name, value in self.items())
        return f"{head}\n".replace("\n", linesep).encode() + self.shared.flat(linesep)

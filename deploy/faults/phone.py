"""A mechanic's phone: signed in, opens a round's page, fills it in and sends it."""

import re
import urllib.error
import urllib.parse
import urllib.request
from dataclasses import dataclass
from html.parser import HTMLParser
from http.client import HTTPException
from http.cookiejar import CookieJar

TIMEOUT_S = 60
# parts the fields of a form with files; RFC 7578
BOUNDARY = "a-line-that-no-photo-holds-7e1f"


@dataclass
class Answer:
    """What came back: ``status`` 0 where nothing did."""

    status: int
    url: str = ""
    text: str = ""

    @property
    def is_done(self) -> bool:
        """Whether it was done as asked; an answer that leads on was."""
        return 200 <= self.status < 400


class Stay(urllib.request.HTTPRedirectHandler):
    """Goes nowhere: the answer itself says where it leads."""

    def redirect_request(self, request, file, code, message, headers, address):
        return None


class Phone:
    """A browser without script, that keeps its cookies.

    With ``follows`` false an answer that leads elsewhere is not gone after, and its ``url`` is
    where it leads.
    """

    def __init__(self, address: str, *, follows: bool = True):
        self.address = address
        self.jar = CookieJar()
        handlers = [urllib.request.HTTPCookieProcessor(self.jar)]
        self.opener = urllib.request.build_opener(*handlers, *([] if follows else [Stay()]))

    def get(self, path: str) -> Answer:
        return self._send(urllib.request.Request(self.address + path))

    def post(
        self, path: str, fields: dict[str, str | list[str]], files: dict[str, bytes] | None = None
    ) -> Answer:
        """Send a form; ``files`` are the photos or sheets chosen on it."""
        fields = {"csrfmiddlewaretoken": self._csrf(), **fields}
        headers = {"Referer": self.address + path, "Origin": self.address}
        if files:
            body = in_parts(fields, files)
            headers["Content-Type"] = f"multipart/form-data; boundary={BOUNDARY}"
        else:
            body = urllib.parse.urlencode(fields, doseq=True).encode()
        return self._send(urllib.request.Request(self.address + path, body, headers))

    def sign_in(self, email: str, password: str) -> None:
        self.get("/sign-in/")
        answer = self.post("/sign-in/", {"username": email, "password": password})
        if not answer.is_done or "/sign-in/" in answer.url:
            raise RuntimeError(f"{email} could not sign in: {answer.status}")

    def _csrf(self) -> str:
        return next((one.value for one in self.jar if one.name.endswith("csrftoken")), "")

    def _send(self, request) -> Answer:
        try:
            with self.opener.open(request, timeout=TIMEOUT_S) as found:
                return Answer(found.status, found.url, found.read().decode(errors="replace"))
        except urllib.error.HTTPError as error:
            url = error.headers.get("Location", error.url)
            return Answer(error.code, url, error.read().decode(errors="replace"))
        except (OSError, HTTPException):
            # refused, broken off, or no answer in time: the phone keeps what was typed
            return Answer(0)


def in_parts(fields: dict, files: dict[str, bytes]) -> bytes:
    """Return the body of a form that carries files (RFC 7578)."""
    said = [(name, one) for name, many in fields.items() for one in _each(many)]
    parts = [(f'name="{name}"', one.encode()) for name, one in said]
    parts += [(f'name="{name}"; filename="{name}"', content) for name, content in files.items()]
    made = b"".join(
        f"--{BOUNDARY}\r\nContent-Disposition: form-data; {about}\r\n\r\n".encode()
        + content
        + b"\r\n"
        for about, content in parts
    )
    return made + f"--{BOUNDARY}--\r\n".encode()


def _each(many: str | list[str]) -> list[str]:
    return [many] if isinstance(many, str) else many


def filled(page: Answer) -> dict[str, list[str]]:
    """Return what the page's form would send as it stands: hidden, typed, chosen fields."""
    reader = _Fields()
    reader.feed(page.text)
    return reader.found


class _Fields(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found: dict[str, list[str]] = {}

    def handle_starttag(self, tag, attrs):
        said = dict(attrs)
        if tag != "input" or "name" not in said or said.get("type") in ("submit", "file"):
            return
        if said.get("type") in ("radio", "checkbox") and "checked" not in said:
            return
        self.found.setdefault(said["name"], []).append(said.get("value") or "")


def visit_of(page: Answer) -> str:
    """Return the signed visit that a round's page carries."""
    return re.search(r'name="visit" value="([^"]+)"', page.text).group(1)

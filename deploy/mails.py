"""How mails leave: by SMTP at its address, else as files under ``var/mail``."""

from pathlib import Path
from urllib.parse import SplitResult, unquote

from deploy.reading import folder

PORTS = {"smtp": 25, "smtp+tls": 587, "smtps": 465}


def mail(parts: SplitResult | None, where: Path) -> dict[str, object]:
    """Return Django's settings for the server at this address, or for files in ``where``.

    With smtp+tls and smtps Django has the system's authorities vouch for the server, by name.
    """
    if parts is None:
        backend = "django.core.mail.backends.filebased.EmailBackend"
        return {"EMAIL_BACKEND": backend, "EMAIL_FILE_PATH": folder(where)}
    return {
        "EMAIL_BACKEND": "fleet.smtp.EmailBackend",
        "EMAIL_HOST": parts.hostname or "localhost",
        "EMAIL_PORT": parts.port or PORTS[parts.scheme],
        "EMAIL_HOST_USER": unquote(parts.username or ""),
        "EMAIL_HOST_PASSWORD": unquote(parts.password or ""),
        "EMAIL_USE_TLS": parts.scheme == "smtp+tls",
        "EMAIL_USE_SSL": parts.scheme == "smtps",
    }

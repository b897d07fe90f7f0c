"""What a line of the log holds: as people read it, or as JSON for programs; never a secret."""

import json
import logging
import re
from contextvars import ContextVar
from datetime import UTC, datetime

from celery import current_task

request_id: ContextVar[str] = ContextVar("the id of the request being answered", default="")

# gunicorn's own line, for a request that broke the application itself
HOLDS_AN_ADDRESS = "Error handling request"
PASSWORD_IN_ADDRESS = re.compile(r"://[^/@\s]*@")


class Context(logging.Filter):
    """Tells each line its request or task, and takes addresses of pages out: some hold a token."""

    def filter(self, record):
        if record.name == "gunicorn.error" and str(record.msg).startswith(HOLDS_AN_ADDRESS):
            record.args = ("-",)
        request = getattr(record, "request", None)
        # Django writes some lines once the middleware has ended
        record.request_id = request_id.get() or getattr(request, "named", "")
        record.task_id = (current_task and current_task.request.id) or ""
        if hasattr(request, "get_full_path") and isinstance(record.args, tuple):
            addresses = {request.path, request.path_info, request.get_full_path()}
            # Django has escaped the one that it was told
            addresses |= {one.encode("unicode_escape").decode("ascii") for one in addresses}
            route = route_of(request)
            record.args = tuple(route if arg in addresses else arg for arg in record.args)
        return True


def route_of(request) -> str:
    """Return the name of the page asked for: an address may hold a token."""
    match = getattr(request, "resolver_match", None)
    return (match and match.url_name) or "-"


class PlainLines(logging.Formatter):
    """One event a line as people read it; a traceback follows on its own lines."""

    def __init__(self):
        super().__init__("{asctime} {levelname} {name}: {message}", style="{")

    def format(self, record):
        return without_passwords(super().format(record))


class JsonLines(logging.Formatter):
    """One event a line as a JSON object (RFC 8259), its time in UTC (RFC 3339)."""

    def format(self, record):
        line = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            "request": getattr(record, "request_id", ""),
            "task": getattr(record, "task_id", ""),
            **getattr(record, "access", {}),
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        kept = {name: value for name, value in line.items() if value not in ("", None)}
        return without_passwords(json.dumps(kept, ensure_ascii=False, default=str))


def without_passwords(text: str) -> str:
    """Take out who signs in, and by what, of each address in the text."""
    return PASSWORD_IN_ADDRESS.sub("://…@", text)


def logging_settings(how: str) -> dict:
    """Return Django's LOGGING: ``how`` is line or json."""
    formatter = {"line": "deploy.logs.PlainLines", "json": "deploy.logs.JsonLines"}[how]
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"chosen": {"()": formatter}},
        "filters": {"context": {"()": "deploy.logs.Context"}},
        # standard output belongs to what a command prints
        "handlers": {
            "terminal": {
                "class": "logging.StreamHandler",
                "formatter": "chosen",
                "filters": ["context"],
            }
        },
        "root": {"handlers": ["terminal"], "level": "INFO"},
        "loggers": {
            "django": {"handlers": [], "level": "INFO", "propagate": True},
            # its lines hold whole addresses; the access line says the rest
            "django.server": {"handlers": [], "level": "CRITICAL", "propagate": True},
            "gunicorn.error": {"handlers": ["terminal"], "propagate": False},
            # a line for each sweep would bury the others
            "celery": {"level": "WARNING"},
            # anybody can send these: the answer is a plain 400
            "django.security.DisallowedHost": {"level": "CRITICAL"},
        },
    }

"""What may be set from outside, read from the environment.

A value that cannot be used stops the start with one line that names it.
"""

import ipaddress
import os
import secrets
from pathlib import Path
from urllib.parse import SplitResult, urlsplit

from django.core.exceptions import ImproperlyConfigured

Network = ipaddress.IPv4Network | ipaddress.IPv6Network
# a proxy that comes by the server's own socket has no address
BY_SOCKET = "socket"


def text(name: str, default: str = "") -> str:
    """Return the environment's value, without spaces around it."""
    return os.environ.get(name, "").strip() or default


def flag(name: str) -> bool:
    """Return whether the environment says yes; not set is no."""
    return one_of(name, ["yes", "no"], text(name, "no").lower()) == "yes"


def one_of(name: str, choices: list[str], value: str) -> str:
    """Return the value that the environment gave, if it is one of the choices."""
    if value not in choices:
        raise ImproperlyConfigured(f"{name} must be {' or '.join(choices)}, not {value!r}")
    return value


def seconds(name: str, default: int) -> int:
    """Return the environment's whole number of seconds."""
    value = text(name, str(default))
    if not value.isdecimal() or int(value) < 1:
        raise ImproperlyConfigured(f"{name} must be a whole number of seconds, not {value!r}")
    return int(value)


def words(name: str) -> list[str]:
    """Return the environment's list, told with commas or spaces."""
    return text(name).replace(",", " ").split()


def networks(name: str) -> list[Network | str]:
    """Return the environment's addresses and networks, and BY_SOCKET where it is named."""
    try:
        return [
            word if word == BY_SOCKET else ipaddress.ip_network(word, strict=False)
            for word in words(name)
        ]
    except ValueError as error:
        raise ImproperlyConfigured(f"{name} must list addresses or networks: {error}") from error


def address(name: str, schemes: list[str], default: str = "") -> SplitResult | None:
    """Return the environment's URL in parts, None if there is none."""
    value = text(name, default)
    if not value:
        return None
    try:
        parts = urlsplit(value)
        unusable = parts.scheme not in schemes or parts.port == 0
        unusable |= parts.scheme in ("http", "https") and not parts.hostname
    except ValueError:
        unusable = True
    if unusable:
        # the value may hold a password: never repeat it
        starts = " or ".join(f"{scheme}://" for scheme in schemes)
        raise ImproperlyConfigured(f"{name} must be an address that begins with {starts}")
    return parts


def folder(path: Path) -> Path:
    """Return the folder, made if it is not there yet."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ImproperlyConfigured(f"FLEET_VAR: cannot make {path}: {error.strerror}") from error
    return path


def kept_secret(path: Path) -> str:
    """Return the secret kept in this file, made at the first start."""
    try:
        with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as new:
            new.write(secrets.token_urlsafe(64))
    except FileExistsError:
        pass
    return path.read_text()

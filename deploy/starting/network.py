"""Under which addresses the tool can be reached, so that it answers to them."""

import contextlib
import ipaddress
import socket
import subprocess
from collections.abc import Mapping

# kept for documentation (RFC 5737): nothing is sent there
NOWHERE = ("192.0.2.1", 9)


def environment(host: str, port: int, given: Mapping[str, str]) -> dict[str, str]:
    """Return the settings that follow from --host and --port, the person's own ones kept."""
    hosts = [given.get("FLEET_HOSTS", ""), host, *(own_addresses() if is_every(host) else [])]
    named = (outward_address() or "127.0.0.1") if is_every(host) else host
    return {
        "FLEET_URL": given.get("FLEET_URL") or f"http://{bracketed(named)}:{port}",
        "FLEET_HOSTS": " ".join(bracketed(name) for name in hosts if name),
    }


def is_every(host: str) -> bool:
    return host in ("0.0.0.0", "::")


def bracketed(name: str) -> str:
    """Return the name as it stands in a URL."""
    with contextlib.suppress(ValueError):
        if ipaddress.ip_address(name).version == 6:
            return f"[{name}]"
    return name


def own_addresses() -> list[str]:
    named = [socket.gethostname(), socket.getfqdn(), f"{socket.gethostname()}.local"]
    with contextlib.suppress(OSError):
        listed = subprocess.run(["hostname", "-I"], capture_output=True, text=True)
        named += listed.stdout.split()
    return list(dict.fromkeys([*named, outward_address()]))


def outward_address() -> str:
    """Return the address that this machine has in its network, "" without one."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as trial:
        try:
            trial.connect(NOWHERE)
        except OSError:
            return ""
        return trial.getsockname()[0]


def answers(host: str, port: int) -> bool:
    """Say whether something listens there by now."""
    near = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)
    try:
        with socket.create_connection((near, port), timeout=1):
            return True
    except OSError:
        return False

"""Packages of the Debian machine itself, where this person may install them."""

import os
import shutil
import subprocess


def authority() -> list[str] | None:
    """Return what to put before apt-get, None where this person may not install."""
    if shutil.which("apt-get") is None:
        return None
    if os.geteuid() == 0:
        return []
    if shutil.which("sudo") is None:
        return None
    asked = subprocess.run(["sudo", "-n", "true"], capture_output=True)
    return ["sudo", "-n"] if asked.returncode == 0 else None


def install(*names: str) -> bool:
    """Install these packages; say whether it could be done."""
    before = authority()
    if before is None:
        return False
    apt = [*before, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q", "-y"]
    subprocess.run([*apt, "update"], capture_output=True)
    wanted = [*apt, "install", "--no-install-recommends", *names]
    return subprocess.run(wanted, capture_output=True).returncode == 0

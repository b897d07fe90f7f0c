"""A virtual environment that holds exactly what a requirements file names."""

import hashlib
import importlib
import importlib.util
import re
import subprocess
import sys
from pathlib import Path

import debian
import ground
from fault import CannotStart

UNREACHABLE = (
    "NewConnectionError",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "NameResolutionError",
    "ProxyError",
)
INCLUDED = re.compile(r"^-r\s+(\S+)", re.MULTILINE)


def environment(folder: Path, requirements: Path) -> Path:
    """Return the environment's Python, installing only what changed since last time.

    The mark is written last: an install that was cut short is done again.
    """
    python, mark = folder / "bin" / "python", folder / "installed"
    wanted = fingerprint(requirements)
    if mark.exists() and mark.read_text() == wanted and works(python):
        return python
    ground.check_disk(folder.parent, ground.INSTALL_FREE_MB)
    if not works(python):
        make(folder)
    ground.say(f"Installing {requirements.relative_to(folder.parent)} into {folder.name} ...")
    install(python, requirements)
    mark.write_text(wanted)
    return python


def fingerprint(requirements: Path) -> str:
    """Return a hash of the file, of those it includes, and of this Python."""
    text = requirements.read_text()
    included = [fingerprint(requirements.parent / name) for name in INCLUDED.findall(text)]
    return hashlib.sha256("\n".join([sys.version, text, *included]).encode()).hexdigest()


def works(python: Path) -> bool:
    same = f"import pip, sys; sys.exit(sys.version_info[:2] != {tuple(sys.version_info[:2])})"
    try:
        return subprocess.run([python, "-c", same], capture_output=True).returncode == 0
    except OSError:
        return False


def make(folder: Path) -> None:
    bring_venv()
    ground.say(f"Making the virtual environment {folder.name} ...")
    made = subprocess.run(
        [sys.executable, "-m", "venv", "--clear", folder], capture_output=True, text=True
    )
    if made.returncode:
        raise CannotStart(f"cannot make {folder}: {last_line(made.stdout + made.stderr)}")


def bring_venv() -> None:
    """Debian keeps the part of Python that makes environments in a package of its own."""
    if importlib.util.find_spec("ensurepip"):
        return
    if debian.authority() is not None:
        ground.say("Installing Debian's python3-venv ...")
        debian.install("python3-venv")
    importlib.invalidate_caches()
    if not importlib.util.find_spec("ensurepip"):
        raise CannotStart("python3-venv is missing; run: sudo apt-get install python3-venv")


def install(python: Path, requirements: Path) -> None:
    pip = [python, "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "--quiet"]
    pip += ["--retries", "2", "--timeout", "20", "--requirement", requirements]
    done = subprocess.run(pip, capture_output=True, text=True)
    if done.returncode:
        raise CannotStart(fault_of(done.stdout + done.stderr))


def fault_of(printed: str) -> str:
    if "No space left on device" in printed:
        return "the disk became full while packages were installed"
    if any(sign in printed for sign in UNREACHABLE):
        return "no network: the Python packages it needs could not be fetched"
    return f"the Python packages could not be installed: {last_line(printed)}"


def last_line(printed: str) -> str:
    lines = [line.strip() for line in printed.splitlines() if line.strip()]
    return lines[-1] if lines else "no reason was given"

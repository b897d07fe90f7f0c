"""Run lint, format, migration check, faults and all tests, on private throw-away servers.

FLEET_TEST_VENV=/path uses a virtual environment that is there already; CI=true
makes the run fail when something had to be left out. HYPOTHESIS_PROFILE=long
tries properties 5,000 times each.
"""

import contextlib
import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import installing
import servers
from fault import CannotStart
from ground import say

ROOT = Path(__file__).resolve().parent.parent.parent
PYTEST = ["-m", "pytest", "-c", "tests/pytest.ini", "--rootdir=."]
AT_ONCE = [*PYTEST, "-n", "2"]
LINT = [
    ["-m", "ruff", "check", "."],
    ["-m", "ruff", "format", "--check", "."],
    ["manage.py", "makemigrations", "--check", "--dry-run", "--settings=tests.settings"],
]
# what a page may take is measured with nothing beside it
ALONE = [7]
# not F24, which needs the release before
BESIDE = [*range(1, 7), 8, *range(10, 15), *range(18, 24), 26]


def faults(numbers: list[int]) -> list[str]:
    """Return the command for the short counts, with the same draw each time."""
    chosen = [word for number in numbers for word in ("--only", f"F{number}")]
    return ["manage.py", "faults", "--seed", "1", "--at-once", "2", *chosen]


def find_python() -> Path:
    given = os.environ.get("FLEET_TEST_VENV")
    if given:
        python = Path(given) / "bin" / "python"
        if not installing.works(python):
            raise CannotStart(f"FLEET_TEST_VENV={given} holds no Python that works here")
        return python
    return installing.environment(ROOT / ".venv-tests", ROOT / "tests" / "requirements.txt")


def clean_environ(scratch: Path) -> dict[str, str]:
    """Return the environment without the developer's own settings of the tool."""
    mine = {name: value for name, value in os.environ.items() if not name.startswith("FLEET_")}
    mine.pop("PYTHONPATH", None)
    # hundreds of programs are started: each would compile all modules anew
    mine.pop("PYTHONDONTWRITEBYTECODE", None)
    return mine | {"FLEET_VAR": str(scratch / "var"), "PYTHONUNBUFFERED": "1"}


def passes(python: Path, words: list[str], environ: dict[str, str]) -> bool:
    say(f"\n$ {' '.join(words)}")
    return subprocess.run([python, *words], cwd=ROOT, env=environ).returncode == 0


def marked(expression: str, missing: set[str]) -> list[str]:
    """Return pytest's choice of tests, without the groups that cannot run here."""
    terms = [expression, *(f"not {group}" for group in sorted(missing))]
    chosen = " and ".join(term for term in terms if term)
    return ["-m", chosen] if chosen else []


class Beside:
    """A command that runs while others do, and says its words when it is asked for."""

    def __init__(self, python: Path, words: list[str], environ: dict[str, str], scratch: Path):
        self.words, self.told = words, scratch / "told"
        with self.told.open("w") as told:
            self.process = subprocess.Popen(
                [python, *words], cwd=ROOT, env=environ, stdout=told, stderr=subprocess.STDOUT
            )

    def passes(self) -> bool:
        passed = self.process.wait() == 0
        say(f"\n$ {' '.join(self.words)}\n{self.told.read_text()}")
        return passed

    def close(self) -> None:
        self.process.terminate()
        self.process.wait()


def run_all(python: Path, environ: dict[str, str], scratch: Path, missing: set[str]) -> bool:
    """Run each check though an earlier one failed; faults go beside the tests: they wait more."""
    results = [passes(python, words, environ) for words in LINT]
    sqlite = {"FLEET_TEST_DATABASE": f"sqlite://{scratch}/tests.sqlite3"}
    both = [*AT_ONCE, "tests", *marked("both", missing | {"services"})]
    whole = [*AT_ONCE, "tests", *marked("", missing)]
    with contextlib.ExitStack() as stack:
        if "services" not in missing:
            beside = Beside(python, faults(BESIDE), environ, scratch)
            stack.callback(beside.close)
        results.append(passes(python, both, environ | sqlite))
        results.append(passes(python, whole, environ))
        if "services" not in missing:
            results += [beside.passes(), passes(python, faults(ALONE), environ)]
    return all(results)


def run(given: list[str]) -> bool:
    python = find_python()
    with contextlib.ExitStack() as stack:
        scratch = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="fleet-tests-")))
        brought, missing = servers.bring_up(stack)
        environ = clean_environ(scratch) | brought
        if given:
            good = passes(python, [*PYTEST, *given], environ)
        else:
            good = run_all(python, environ, scratch, missing)
    return good and not (missing and os.environ.get("CI") == "true")


def main() -> None:
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        sys.exit(0 if run(sys.argv[1:]) else 1)
    except CannotStart as fault:
        sys.exit(f"Not started: {fault}")
    except KeyboardInterrupt:
        sys.exit("Stopped.")


if __name__ == "__main__":
    main()

"""The faults that there are: each module of ``runs`` adds its own."""

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

RUNS = Path(__file__).resolve().parent / "runs"


@dataclass(frozen=True)
class Fault:
    """One fault: ``run(world, count, tally)`` makes it so often and takes down what came of it.

    ``short`` is the count within the tests, ``long`` the one that figures are promised for.
    ``on`` are the databases it is tried on.
    """

    code: str
    name: str
    about: str
    run: Callable
    short: int
    long: int
    on: tuple[str, ...] = ("postgresql",)


_faults: dict[str, Fault] = {}


def fault(code, name, about, *, short, long, on=("postgresql",)):
    """Add the function below as a fault."""

    def add(run):
        _faults[code] = Fault(code, name, about, run, short, long, on)
        return run

    return add


def all_faults() -> dict[str, Fault]:
    """Return {code: Fault}, in the order of their codes."""
    for module in iter_modules([str(RUNS)]):
        import_module(f"deploy.faults.runs.{module.name}")
    return dict(sorted(_faults.items(), key=lambda pair: int(pair[0].removeprefix("F"))))

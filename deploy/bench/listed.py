"""The lines that there are: each module of ``lines`` adds its own."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

from deploy.bench.pairs import Figure, Pair

LINES = Path(__file__).resolve().parent / "lines"


@dataclass(frozen=True)
class Group:
    """Lines made together: by ``make(world)`` at each scale, or once for two scales.

    A growth compares the smallest scale with the largest: ``make(world, small, large)``.
    """

    name: str
    make: Callable[..., Iterable[Pair | Figure]]
    is_growth: bool


_groups: dict[str, Group] = {}


def lines(name: str):
    """Add the function below: it returns lines, made anew at each scale."""
    return _adding(name, is_growth=False)


def growth(name: str):
    """Add the function below: it returns lines that compare the smallest and largest scale."""
    return _adding(name, is_growth=True)


def _adding(name, is_growth):
    def add(make):
        _groups[name] = Group(name, make, is_growth)
        return make

    return add


def all_groups() -> dict[str, Group]:
    """Return {name: Group} in the order of their names."""
    for module in iter_modules([str(LINES)]):
        import_module(f"deploy.bench.lines.{module.name}")
    return dict(sorted(_groups.items()))

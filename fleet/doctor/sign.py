"""What the service shows of how it is: one sign a thing that is looked at."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Answer:
    """What one look found, and what to do about it; ``sites`` are slugs, where some alone fail."""

    said: str
    is_trouble: bool = False
    todo: str = ""
    sites: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sign:
    """An answer under the code and title of its look."""

    code: str
    title: str
    said: str
    is_trouble: bool
    todo: str
    sites: tuple[str, ...] = ()


def well(said) -> Answer:
    return Answer(str(said))


def trouble(said, todo, sites=()) -> Answer:
    return Answer(str(said), True, str(todo), tuple(sites))

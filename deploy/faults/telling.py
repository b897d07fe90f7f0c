"""What one fault's run amounts to: a line of figures, and which of them are wrong."""

from dataclasses import dataclass, field


class NotTried(Exception):
    """What the run needs is not here, and nobody asked for it: neither passed nor failed."""


@dataclass
class Tally:
    """The figures of one run, in the order they are printed, and what is wrong with them."""

    name: str
    figures: dict[str, object] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)
    lacking: str = ""

    def say(self, **figures) -> None:
        self.figures |= figures

    def want(self, is_so: bool, otherwise: str) -> None:
        """Take down what is wrong unless it is so."""
        if not is_so:
            self.wrong.append(otherwise)

    def exactly(self, **wanted) -> None:
        """Say these figures, each of which must be as wanted: name=(found, wanted)."""
        for name, (found, needed) in wanted.items():
            self.figures[name] = found
            self.want(found == needed, f"{name} is {found}, not {needed}")

    def at_most(self, **limits) -> None:
        """Say these figures, none above its limit: name=(found, limit)."""
        for name, (found, limit) in limits.items():
            self.figures[name] = found
            self.want(found <= limit, f"{name} is {found}, more than {limit}")

    @property
    def passed(self) -> bool:
        return not self.wrong

    def line(self) -> str:
        if self.lacking:
            return f"{self.name} not tried: {self.lacking}"
        said = " ".join(f"{name}={found}" for name, found in self.figures.items())
        return f"{self.name} {said}" + "".join(f"\n  wrong: {one}" for one in self.wrong)

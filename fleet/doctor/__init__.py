"""How the service itself is: what must go on and does not, said with what to do. No writes."""

from fleet.doctor.asking import signs, troubles_first
from fleet.doctor.sign import Sign

__all__ = ["Sign", "signs", "troubles_first"]

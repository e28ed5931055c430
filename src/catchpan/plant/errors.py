"""What can be wrong with a description of a system."""

from collections.abc import Sequence

from catchpan.units.errors import BadValue, UnknownName


class UnknownPart(UnknownName):
    """A wire, effect or reading names a part, terminal, branch or value the system has not."""

    def __init__(self, kind: str, name: str, near: Sequence[str], system: str) -> None:
        super().__init__(f"{kind} of the system '{system}'", name, near)


class ImpossibleSystem(BadValue):
    """Parts or options that contradict each other."""

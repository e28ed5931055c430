"""Where the technician stands, and what a proposed step looks like."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from catchpan.diagnosis.worlds.family import PHONE

StepKind = Literal["ask", "look", "measure", "go", "repair", "prove", "refer", "stop"]


@dataclass(frozen=True)
class Situation:
    """What is already open, switched off, done or put off.

    Parameters
    ----------
    place
        Id of the present place.
    opened
        Ids of the covers that are off.
    power_off
        The supply is switched off and proved dead.
    done
        Ids of checks and repairs already made; they are not proposed again. A proof made before
        a later repair does not belong here any more.
    deferred
        Ids put off ("can't do that now"); not proposed until taken out of the set.
    on_phone
        Nobody is on site yet. Once left, the phone is left for good.
    demand
        What the thermostat asks for at present, empty if unknown.
    set_up
        Check groups whose instruments are connected.
    unproven
        Ids of proof checks still owed for repairs already made.
    cleared
        Ids of checks whose danger the technician on site has dealt with (gas shut and aired, power
        off and proved dead) and says so. It means nothing on the phone.
    doubt
        Chance that this home is like none of the worlds (``doubt.HOLDS_LESS``), 0 to 1.
    """

    place: str = PHONE
    opened: frozenset[str] = frozenset()
    power_off: bool = False
    done: frozenset[str] = frozenset()
    deferred: frozenset[str] = frozenset()
    on_phone: bool = False
    demand: str = ""
    set_up: frozenset[str] = frozenset()
    unproven: frozenset[str] = frozenset()
    cleared: frozenset[str] = frozenset()
    doubt: float = 0.0

    def with_done(self, done: frozenset[str]) -> Situation:
        """Return it with other things done; `replace` for this field, ten times as quick."""
        other = object.__new__(Situation)
        other.__dict__.update(self.__dict__, done=done)
        return other


@dataclass(frozen=True)
class Forecast:
    """One possible answer to a step: how likely it is and what would lead after it.

    ``leading`` is a root condition, ``no-fault`` or the world outside the library; ``share`` its
    probability after that answer; ``danger`` says that the answer ends the work.
    """

    outcome_id: str
    label: str
    probability: float
    leading: str
    share: float
    danger: bool = False


@dataclass(frozen=True)
class Step:
    """A proposed next step.

    Parameters
    ----------
    own_cost
        Dollars for the step itself with everything it needs first.
    cost_after
        Expected dollars from there to a proven fix.
    first
        Acts that come before it, in order ("go to the attic", "switch off and prove dead").
    forecasts
        What each answer would mean; empty where nothing is observed.
    """

    kind: StepKind
    target: str
    title: str
    own_cost: float
    cost_after: float
    first: tuple[str, ...] = ()
    forecasts: tuple[Forecast, ...] = ()

    @property
    def total_cost(self) -> float:
        """Expected dollars to a proven fix when this step comes next."""
        return self.own_cost + self.cost_after

"""What a caller may safely do until somebody comes, and what they must not; advice, not orders.

The list is short on purpose: looking, switching off, the filter, the thermostat, one careful
reset. Source: advice of public health and safety offices (CDC, CPSC, EPA) and normal practice,
from memory; nothing here opens a cover, defeats a safety or resets a breaker twice.
"""

from __future__ import annotations

from dataclasses import dataclass
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.calls.guide import Guide
    from catchpan.diagnosis.belief import Reading

WORTH_SAYING: Final = 0.03
"""Share from which something is worth a caller's trouble (assumed)."""


@dataclass(frozen=True)
class Advice:
    """One thing a caller may do.

    Parameters
    ----------
    text : str
        What to say to the caller.
    chance : float
        Share of the worlds in which it bears on the trouble.
    repair_id : str
        The repair it amounts to; empty for plain precautions.
    """

    text: str
    chance: float
    repair_id: str = ""


DANGER_WORDS: Final[Mapping[str, tuple[str, ...]]] = {
    "gas": (
        "Smell of gas: everybody out now. No switch, no flame, no phone inside.",
        "From outside, well away, call the gas company or the emergency number.",
        "Do not go back in or relight anything until they say so.",
    ),
    "carbon-monoxide": (
        "Carbon monoxide alarm, or people dizzy or sick: everybody out into fresh air now.",
        "Call the fire department from outside; anyone unwell needs medical help at once.",
        "Furnace off and not used again until the cause is found.",
    ),
    "smoke": (
        (
            "Smoke, sparks or a burning smell: switch the system off at the thermostat, and its "
            "breakers too if the way to the panel is clear and dry."
        ),
        "If it does not stop at once, or you see fire: everybody out, call the fire department.",
    ),
    "water": (
        "Water near anything electrical: do not step into it and touch nothing wet.",
        "Switch the breaker off only if you can reach the panel from dry ground.",
        "Keep out from under a bulging ceiling; do not poke it.",
    ),
    "people": (
        (
            "Somebody at risk from the heat or the cold: get them to a comfortable place first, "
            "to a neighbor or a public building; if anybody is faint, call for help."
        ),
    ),
}
"""What is said first where an answer means danger, by kind of danger."""

_KINDS: Final[Mapping[str, tuple[str, ...]]] = {
    "carbon-monoxide": ("carbon", "co-alarm", "monoxide"),
    "gas": ("gas",),
    "smoke": ("smoke", "burn", "spark", "fire", "arc"),
    "water": ("water", "wet", "ceiling", "leak"),
    "people": ("people", "risk", "health", "anyone"),
}

PRECAUTIONS: Final[tuple[tuple[tuple[str, ...], str], ...]] = (
    (
        ("water/*", "drain/*", "gas/furnace-drain*"),
        (
            "Water: switch the system off at the thermostat so that it makes no more. Bucket or "
            "towels under the drip. Do not stand in water to reach a switch."
        ),
    ),
    (
        ("air/coil-iced", "heat-pump/outdoor-coil-iced"),
        (
            "Ice on the pipe or the indoor coil: system OFF, fan ON, for several hours, towels "
            "ready for the water. Never chip ice or pour hot water on it."
        ),
    ),
    (
        ("setting/*", "thermostat/batteries-dead", "thermostat/*"),
        (
            "At the thermostat: right mode (COOL or HEAT), set point well past room temperature, "
            "fresh batteries if it has any."
        ),
    ),
    (
        ("air/filter*",),
        (
            "The filter: slide it out with the system off. If no light comes through: a clean "
            "one of the same size, arrow with the air."
        ),
    ),
    (
        ("line-power/breaker-*tripped*", "line-power/breaker-*half-tripped*", "switch/service*"),
        (
            "Look at the breakers of both units and at the switch beside the indoor unit. One that "
            "stands between ON and OFF: fully OFF, wait five minutes, ON, once. If it goes again, "
            "leave it off."
        ),
    ),
    (
        ("refrigerant/outdoor-air-blocked", "refrigerant/outdoor-coil-fouled"),
        "Outdoors: clear leaves and plants to two feet around the unit. Nothing inside the grille.",
    ),
    (
        ("compressor/*", "motor/fan-*", "capacitor/*", "refrigerant/*"),
        (
            "If the outdoor unit hums without its fan turning, or smells hot: cooling off at "
            "the thermostat. Nothing pushed through the grille."
        ),
    ),
)
"""Plain precautions, each with the conditions it bears on."""

NEVER: Final = (
    "take off a panel (the filter's own door excepted) or touch a wire",
    "reset a breaker a second time, or hold one in",
    "tape, wedge or bridge any switch: door, float, pressure, limit",
    "relight a gas furnace, or look for a gas leak",
    "use bleach and vinegar together, or blow into the drain",
)
"""What a caller is asked not to do, whatever the trouble."""


def danger_kind(reading: Reading) -> str:
    """Return the kind of danger an answer stands for, by the words of its check and answer."""
    words = f"{reading.check_id} {reading.outcome_id or ''}"
    for kind, signs in _KINDS.items():
        if any(sign in words for sign in signs):
            return kind
    return "smoke"


def danger_advice(guide: Guide) -> tuple[str, ...]:
    """Return what to say at once where an answer means danger; empty where none does."""
    kinds = dict.fromkeys(danger_kind(reading) for reading in guide.dangers)
    return tuple(text for kind in kinds for text in DANGER_WORDS[kind])


def advice(guide: Guide) -> tuple[Advice, ...]:
    """Return what the caller may try now, the likeliest to matter first.

    Only the short list of precautions above and repairs the catalog marks as safe for a caller.
    Nothing at all while an answer means danger.
    """
    if guide.dangers:
        return ()
    found = [Advice(text, share_of(guide, globs)) for globs, text in PRECAUTIONS]
    for repair in guide.family.repairs.values():
        if repair.caller_safe and not repair.refer and repair.id not in guide.situation.done:
            steps = " ".join(guide.data.repairs[repair.id].steps)
            chance = share_of(guide, tuple(repair.fixes))
            found.append(Advice(f"{repair.title}: {steps}", chance, repair.id))
    worth = [a for a in found if a.chance >= WORTH_SAYING]
    return tuple(sorted(worth, key=lambda a: (-a.chance, a.text)))


def share_of(guide: Guide, globs: tuple[str, ...]) -> float:
    """Return the share of the worlds that hold a condition fitting one of the patterns."""
    family = guide.family
    columns = [
        j for j, c in enumerate(family.conditions) if any(fnmatchcase(c, glob) for glob in globs)
    ]
    holds = family.membership[:, columns].any(axis=1)
    return float(guide.belief.probabilities()[holds].sum())

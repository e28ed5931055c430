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
    from collections.abc import Iterable, Mapping

    from catchpan.calls.guide import Guide
    from catchpan.diagnosis.inference.belief import Reading
    from catchpan.diagnosis.worlds.family import RepairModel

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
    "shock": (
        "A tingle or shock: nobody touches the equipment or stands in water near it.",
        "Its breakers off, from dry ground; they stay off until it is found.",
    ),
    "damage": (
        "Burned or damaged parts: power off at the breaker, locked, proved dead.",
        "It is not switched on again before they are replaced and what burned them is found.",
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
    "people": ("people", "person", "risk", "health", "anyone"),
    "shock": ("shock",),
}

PRECAUTIONS: Final[tuple[tuple[tuple[str, ...], str], ...]] = (
    (
        ("water/*", "drain/*", "gas/furnace-drain*"),
        (
            "Water: no standing in it to reach a switch, nobody under a bulging ceiling, and "
            "nothing electrical touched that is wet."
        ),
    ),
    (
        ("air/coil-iced", "heat-pump/outdoor-coil-iced"),
        "Ice: never chip it or pour hot water on it.",
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
    "take off any panel that is not named here, or touch a wire",
    "reset a breaker a second time, or hold one in",
    "tape, wedge or bridge any switch: door, float, pressure, limit",
    "relight a gas furnace, or look for a gas leak",
    "use bleach and vinegar together, or blow into the drain",
)
"""What a caller is asked not to do, whatever the trouble."""


def danger_kind(reading: Reading) -> str:
    """Return the kind of danger an answer stands for, by the words of its check and answer."""
    if not reading.check_id.startswith("safety/") and "gas" not in reading.check_id:
        return "damage"
    words = f"{reading.check_id} {reading.outcome_id or ''}"
    for kind, signs in _KINDS.items():
        if any(sign in words for sign in signs):
            return kind
    return "smoke"


def what_to_do(dangers: Iterable[Reading]) -> tuple[str, ...]:
    """Return what to say at once about answers that mean danger."""
    kinds = dict.fromkeys(danger_kind(reading) for reading in dangers)
    return tuple(text for kind in kinds for text in DANGER_WORDS[kind])


def danger_advice(guide: Guide) -> tuple[str, ...]:
    """Return what to say at once where an answer means danger; empty where none does."""
    return what_to_do(guide.dangers)


def advice(guide: Guide) -> tuple[Advice, ...]:
    """Return what the caller may try now, the likeliest to matter first.

    Only the short list of precautions above and repairs the catalog marks as safe for a caller.
    Nothing at all while an answer means danger.
    """
    if guide.dangers:
        return ()
    found = [Advice(text, share_of(guide, globs)) for globs, text in PRECAUTIONS]
    for repair in guide.family.repairs.values():
        if repair.caller_safe and not repair.refer and not _was_tried(guide, repair):
            steps = " ".join(guide.data.repairs[repair.id].steps)
            chance = share_of(guide, tuple(repair.fixes))
            found.append(Advice(f"{repair.title}: {steps}", chance, repair.id))
    worth = [a for a in found if a.chance >= WORTH_SAYING]
    return tuple(sorted(worth, key=lambda a: (-a.chance, a.text)))


def _was_tried(guide: Guide, repair: RepairModel) -> bool:
    """Say whether this was done already, as a repair or as a reset: nobody resets twice."""
    done = {e.body.repair_id for e in guide.state.repairs}
    reset = [
        guide.data.checks[e.body.check_id].observe.resets
        for e in guide.state.readings
        if e.body.check_id in guide.data.checks
    ]
    return repair.id in done or any(repair.fixes & set(names) for names in reset)


def share_of(guide: Guide, globs: tuple[str, ...]) -> float:
    """Return the share of the worlds that hold a condition fitting one of the patterns."""
    family = guide.family
    columns = [
        j for j, c in enumerate(family.conditions) if any(fnmatchcase(c, glob) for glob in globs)
    ]
    holds = family.membership[:, columns].any(axis=1)
    return float(guide.belief.probabilities()[holds].sum())

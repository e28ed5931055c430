"""What comes before a step, in the words of the screen."""

from typing import Final

ACTS: Final = {
    "open outdoor unit": "take the service panel off the outdoor unit",
    "open indoor unit": "open the indoor unit",
    "open thermostat": "take the thermostat off its base",
    "open panel": "licensed persons only: take the front off the breaker panel",
    "set the thermostat to cool": "set the thermostat to call for cooling",
    "set the thermostat to heat": "set the thermostat to call for heating",
    "set the thermostat to off": "switch the thermostat off, fan on AUTO",
    "set the thermostat to fan": "set the thermostat to FAN ON, system off",
    "set the thermostat to emergency": "set the thermostat to EMERGENCY HEAT",
}


def act_words(act: str) -> str:
    """Return an act of the planner in the words of the screen."""
    if act.startswith("go to ") and not act.startswith("go to the "):
        return f"go to the {act.removeprefix('go to ')}"
    return ACTS.get(act, act)

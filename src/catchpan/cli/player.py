"""Answers a call's prompts from a script and a hidden home, in place of a person."""

from __future__ import annotations

import time
import tomllib
from collections import Counter
from dataclasses import dataclass, field
from importlib import resources
from typing import TYPE_CHECKING, Any, Final

from catchpan.calls.described import usual_setting
from catchpan.calls.hidden_home import HiddenHome
from catchpan.cli.screen import Left
from catchpan.cli.session import TEXT
from catchpan.diagnosis.planning.forecast import SYSTEM
from catchpan.diagnosis.worlds.description import Description

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from catchpan.catalog.load import Catalog
    from catchpan.cli.screen import Asked

MOST_ANSWERS: Final = 150
"""A call that asks more than this goes in a circle."""


def read_script(name: str = "demo_call.toml") -> dict[str, Any]:
    """Return a script that comes with the program."""
    text = resources.files("catchpan.cli").joinpath(name).read_text(encoding="utf-8")
    return tomllib.loads(text)


def home_of(script: Mapping[str, Any], data: Catalog) -> HiddenHome:
    """Return the hidden home of a script."""
    system = script["system"]
    described = Description(
        archetype=system["archetype"],
        options=usual_setting(system["archetype"], system["options"], data),
        season=system["season"],
        age_years=float(system["age_years"]),
    )
    return HiddenHome(described, set(script["home"]["conditions"]), script["told"], data)


@dataclass
class Player:
    """Answers what is asked: who and what by the script, readings by the hidden home.

    Parameters
    ----------
    script : mapping
        See ``demo_call.toml``.
    home : HiddenHome
        Answers the checks; repairs change it.
    write : callable
        Shows what was typed.
    pace_s : float
        Seconds to wait before each answer.
    """

    script: Mapping[str, Any]
    home: HiddenHome
    write: Callable[[str], None]
    pace_s: float = 0.0
    answered: int = 0
    counts: Counter[str] = field(default_factory=Counter)
    said: set[int] = field(default_factory=set)

    def __call__(self, asked: Asked) -> str:
        """Answer, and show the answer behind the prompt."""
        self.answered += 1
        if self.answered > MOST_ANSWERS:
            raise Left
        if self.pace_s > 0.0:
            time.sleep(self.pace_s)
        line = self._aside(asked) or self._line(asked)
        self.write(f"{asked.prompt}{line}".rstrip())
        return line

    def _aside(self, asked: Asked) -> str:
        """Return a command typed first, once, at this question."""
        for position, aside in enumerate(self.script.get("aside", ())):
            here = aside["kind"] == asked.kind and aside["number"] == self.counts[asked.kind] + 1
            if here and position not in self.said:
                self.said.add(position)
                return str(aside["line"])
        self.counts[asked.kind] += 1
        return ""

    def _line(self, asked: Asked) -> str:
        match asked.kind:
            case "check":
                return self._of(asked, self.home.shows(asked.target) or "later")
            case "repair" | "let_try":
                worked = self.home.repair(asked.target)
                return self._of(asked, "worked" if worked else "did_not")
            case "proof":
                return self._proof(asked)
            case "latent":
                found = asked.target in self.script["home"].get("latent", ())
                return self._of(asked, "found" if found else "not")
            case _:
                return self._menu(asked)

    def _proof(self, asked: Asked) -> str:
        if asked.target == SYSTEM:
            return self._of(asked, "pass" if self.home.works() else "fail")
        return self._of(asked, self.home.proves(asked.target))

    def _menu(self, asked: Asked) -> str:
        system = self.script["system"]
        if asked.kind == TEXT and asked.target == "matches":
            return self._true_matches(asked)
        if asked.kind == TEXT:
            return str(self.script["caller"].get(asked.target, ""))
        known = {
            "dangers": "",
            "archetype": system["archetype"],
            "season": system["season"],
            "location": system["options"]["location"],
            "decide": "go",
            "conflict": "keep",
            "hand_over": "later",
            "closing": "fixed",
            "danger": "cleared",
        }
        if asked.kind == "age":
            return f"{system['age_years']:g}"
        return self._of(asked, known.get(asked.kind, ""))

    def _true_matches(self, asked: Asked) -> str:
        """Return the numbers of the matches that are so at this home."""
        true = []
        for choice in asked.choices:
            check, _, answer = choice.value.partition("=")
            if self.home.shows(check) == answer:
                true.append(choice.key)
        return " ".join(true)

    @staticmethod
    def _of(asked: Asked, value: str) -> str:
        """Return what to type for a choice's value; the value itself where it is none of them."""
        return next((c.key for c in asked.choices if c.value == value), value)

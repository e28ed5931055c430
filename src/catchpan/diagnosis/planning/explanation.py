"""Why this step, in plain words and numbers, for the person who has to do it.

Nothing is decided here: an explanation reads a finished plan. Costs are dollars to a proven fix.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from catchpan.diagnosis.planning.forecast import NO_FAULT, SYSTEM, WORKED
from catchpan.diagnosis.worlds.family import OTHER

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catchpan.diagnosis.planning.planner import Plan
    from catchpan.diagnosis.planning.situation import Forecast, Step

NEAR_TIE: Final = 0.02
"""Steps whose expected total differs by no more than this share are as good as equal."""

LIKELY: Final = 0.01
"""Answers less likely than this are not spelled out."""


@dataclass(frozen=True)
class Explanation:
    """Why the first step of a plan is the first.

    Parameters
    ----------
    why
        Sentences: what it costs, what it settles, how it compares.
    answers
        One sentence for each answer that is not very unlikely.
    share_now, share_after
        Probability of the likeliest statement now, and its expectation after the step; equal
        where nothing is observed.
    answer_bits
        Entropy of the answer in bits: 0 when it is known beforehand.
    runner_up
        Target of the next best step, empty if there is none.
    difference
        Dollars by which the runner-up is expected to cost more.
    ties
        Targets that are as good as equal (within ``NEAR_TIE``).
    repair_now
        Whether it is time to stop looking: the step is a repair, a referral or the end.
    """

    step: Step
    why: tuple[str, ...]
    answers: tuple[str, ...]
    share_now: float
    share_after: float
    answer_bits: float
    runner_up: str
    difference: float
    ties: tuple[str, ...]
    repair_now: bool


def explain(plan: Plan, titles: Mapping[str, str] | None = None) -> Explanation:
    """Explain the first step of a plan.

    Parameters
    ----------
    titles
        Words for conditions; an id without one is written with spaces for its joints.
    """
    step, rest = plan.steps[0], plan.steps[1:]
    limit = step.total_cost * (1.0 + NEAR_TIE)
    ties = () if _asks_danger(step) else tuple(s.target for s in rest if s.total_cost <= limit)
    difference = rest[0].total_cost - step.total_cost if rest else 0.0
    after = sum(f.probability * f.share for f in step.forecasts) or plan.now.share
    return Explanation(
        step=step,
        why=(
            *_why(plan, after),
            *(() if _asks_danger(step) else _against(step, rest, difference, ties)),
        ),
        answers=tuple(
            _answer(step, f, titles or {}) for f in step.forecasts if f.probability >= LIKELY
        ),
        share_now=plan.now.share,
        share_after=after,
        answer_bits=answer_bits(step.forecasts),
        runner_up=rest[0].target if rest else "",
        difference=max(difference, 0.0),
        ties=ties,
        repair_now=step.kind in ("repair", "refer", "stop"),
    )


def answer_bits(forecasts: tuple[Forecast, ...]) -> float:
    """Entropy of the answer in bits: 0 when it is known beforehand."""
    shares = np.array([f.probability for f in forecasts if f.probability > 0.0])
    return float(-(shares * np.log2(shares)).sum()) if len(shares) else 0.0


def _why(plan: Plan, after: float) -> list[str]:
    step = plan.steps[0]
    cost = f"It costs about ${step.own_cost:.0f} now"
    lines = [f"{cost}; from there to the proven fix at most about ${step.cost_after:.0f}."]
    saved = plan.repair_now - step.total_cost
    if step.kind in ("ask", "look", "measure") and saved > 0.5:
        lines.append(f"Going on without any further look would cost about ${saved:.0f} more.")
    if step.kind in ("ask", "look", "measure"):
        lines.append(_gain(percent(plan.now.share), percent(after)))
    if step.kind == "repair":
        worked = next((f.probability for f in step.forecasts if f.outcome_id == WORKED), 0.0)
        lines.append(
            f"It is expected to put things right in {percent(worked)} of such cases, and another "
            "look first would cost more than it saves."
        )
    if step.kind == "prove":
        lines.append("Good enough: stop looking here and prove it.")
        lines.append("A repair is finished when it is proven, not when the part is in.")
    if _asks_danger(step):
        lines.append("Questions about danger come first, whatever else they tell.")
    if step.first:
        lines.append(f"First: {'; '.join(_act(act) for act in step.first)}.")
    return lines


def _gain(now: str, after: str) -> str:
    if now == after:
        return (
            f"The likeliest cause holds {now}, and is expected to hold as much after the answer: "
            "what pays is the answer that would change the course."
        )
    return (
        f"The likeliest cause now holds {now}; after the answer the likeliest one is expected "
        f"to hold {after}."
    )


def percent(share: float) -> str:
    """Return a share in whole percent; none and certain is only what is."""
    if 0.0 < share < 0.01:
        return "under 1%"
    return "over 99%" if 0.99 < share < 1.0 else f"{share:.0%}"


def _act(act: str) -> str:
    place = act.removeprefix("go to ")
    return act if place == act or place.startswith("the ") else f"go to the {place}"


def _asks_danger(step: Step) -> bool:
    return step.kind == "ask" and any(f.danger for f in step.forecasts)


def _against(
    step: Step, rest: tuple[Step, ...], difference: float, ties: tuple[str, ...]
) -> list[str]:
    if not rest:
        return []
    if step.kind == "prove":
        ties = ()
    if rest[0].target in ties:
        named = ", ".join(s.title for s in rest if s.target in ties)
        return [f"As good as equal: {named}. Take what is at hand."]
    if difference <= 0.0:
        return []
    if round(difference) == 0:
        return [f"Next best: {rest[0].title}, expected to cost about as much."]
    now = _more_or_less(rest[0].own_cost - step.own_cost)
    later = _more_or_less(rest[0].cost_after - step.cost_after)
    more = f"expected to cost ${difference:.0f} more: {now} now, {later} afterwards"
    return [f"Next best: {rest[0].title}, {more}."]


def _more_or_less(dollars: float) -> str:
    return f"${abs(dollars):.0f} {'more' if dollars >= 0.0 else 'less'}"


def _answer(step: Step, forecast: Forecast, titles: Mapping[str, str]) -> str:
    chance = f"{forecast.label} ({percent(forecast.probability)})"
    if forecast.danger:
        return f"{chance}: stop and get out of the danger."
    if after_trying(step, forecast):
        owed = "" if step.target == SYSTEM else "it has still to be proven; "
        return f"{chance}: then {owed}{left_behind(forecast, titles)}."
    if forecast.leading == NO_FAULT:
        return f"{chance}: then nothing is wrong, with {percent(forecast.share)}."
    leading = _words(forecast.leading, titles)
    return f"{chance}: then {leading} leads with {percent(forecast.share)}."


def after_trying(step: Step, forecast: Forecast) -> bool:
    """Whether the forecast is that of a system that was tried and works."""
    tried = step.target == SYSTEM or step.kind in ("repair", "refer")
    return tried and forecast.outcome_id == WORKED


def left_behind(forecast: Forecast, titles: Mapping[str, str]) -> str:
    """Say what may still be wrong with a system that works."""
    if forecast.leading != NO_FAULT:
        leading, share = _words(forecast.leading, titles), percent(forecast.share)
        return f"{leading} is still there with {share}, though it does not show now"
    other = 1.0 - forecast.share
    if other < LIKELY:
        return "hardly anything else is wrong"
    return f"with {percent(other)} something else is wrong that does not show now"


def _words(condition: str, titles: Mapping[str, str]) -> str:
    if condition == OTHER:
        return "something not in the list"
    return small(titles.get(condition, re.sub("[/_-]", " ", condition)))


def small(title: str) -> str:
    """Return a title as it stands within a sentence; what begins with a sign stays: Y shorted."""
    return title[:1].lower() + title[1:] if title[1:2].islower() else title

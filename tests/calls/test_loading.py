"""What to load, and what the call may still cost."""

import numpy as np
import pytest

from catchpan.calls.loading import (
    _check_cost,
    cheapest_repairs,
    cost_range,
    load_list,
    telling_checks,
)
from catchpan.calls.use_case import CallBook, Number
from catchpan.diagnosis.inference.belief import Belief
from tests.calls.one_home import answer, guide_of, on_site, open_call


def test_the_range_holds_the_expectation(book: CallBook) -> None:
    found = cost_range(guide_of(open_call(book)))
    assert 0.0 < found.minutes_low <= found.minutes <= found.minutes_high * 1.5
    assert 0.0 < found.dollars_low <= found.dollars_high
    assert 0.0 <= found.handed_over <= 1.0


def test_driving_is_counted_on_the_phone_only(book: CallBook) -> None:
    phone = cost_range(guide_of(open_call(book)))
    site = cost_range(guide_of(on_site(book, "c2")))
    assert phone.minutes_low > site.minutes_low


def test_knowing_the_cause_narrows_the_range(book: CallBook) -> None:
    before = cost_range(guide_of(on_site(book)))
    state = book.take_reading("c1", "capacitor/fan-microfarad", Number(0.0, "µF", 0.0))
    after = cost_range(guide_of(state))
    assert after.dollars_high - after.dollars_low < before.dollars_high - before.dollars_low


def test_what_lies_ahead_holds_the_proofs_owed_and_the_next_step(book: CallBook) -> None:
    on_site(book)
    guide = guide_of(book.do_repair("c1", "electrical/replace-run-capacitor", "worked"))
    owed = sum(guide.family.checks[p].minutes for p in guide.situation.unproven)
    found = cost_range(guide)
    assert owed > 0.0
    assert found.minutes_low >= owed
    assert found.dollars_low >= owed * guide.family.dollars_per_minute
    assert min(found.dollars, found.dollars_low) >= guide.plan.steps[0].own_cost


def test_a_known_cause_loads_its_part(book: CallBook) -> None:
    on_site(book)
    state = book.take_reading("c1", "capacitor/fan-microfarad", Number(0.0, "µF", 0.0))
    first = load_list(guide_of(state))[0]
    assert first.chance > 0.5
    parts = {i.name for i in load_list(guide_of(state)) if i.kind == "part" and i.chance > 0.5}
    assert any("capacitor" in name for name in parts)
    tools = {i.name for i in load_list(guide_of(state)) if i.kind == "tool" and i.chance > 0.5}
    assert {"multimeter", "capacitance meter", "clamp meter"} <= tools


def test_chances_of_use_are_probabilities_in_falling_order(book: CallBook) -> None:
    chances = [i.chance for i in load_list(guide_of(open_call(book)))]
    assert all(0.0 < c <= 1.0 + 1e-9 for c in chances)
    assert chances == pytest.approx(sorted(chances, reverse=True), abs=1e-3)


def test_the_chance_of_use_is_the_mass_of_the_worlds_that_need_it(book: CallBook) -> None:
    found = guide_of(open_call(book))
    family, chosen = found.family, cheapest_repairs(found.family)
    chance = found.belief.probabilities()
    item = next(i for i in load_list(found) if i.kind == "part")
    wanted = [
        any(item.name in found.data.repairs[chosen[c]].load for c in w.conditions if c in chosen)
        for w in family.worlds
    ]
    assert item.chance == pytest.approx(float(chance[np.array(wanted)].sum()))


def told(belief: Belief, check_id: str, condition: str) -> float:
    """Bits by which a check's answer under a condition differs from the usual one, all worlds."""
    table, chance = belief.table(belief.family.checks[check_id]), belief.probabilities()
    holds = chance * np.array([condition in w.conditions for w in belief.family.worlds])
    under, usual = holds @ table / holds.sum(), chance @ table
    return float((under * np.log2(under / usual)).sum())


def test_the_tool_is_the_one_that_tells_most_after_the_interview(book: CallBook) -> None:
    """The outdoor unit is silent and the blower runs: each likely cause has the tool that now tells
    it best, not the one that would have before anybody rang."""
    open_call(book)
    answer(book, "complaint/outdoor-unit-not-starting", "silent")
    found = guide_of(answer(book, "complaint/blower-not-running", "runs"))
    belief, data = found.belief, found.data
    now = telling_checks(belief, data)
    before = telling_checks(Belief.prior(found.family), data)
    likely = [r.id for r in found.causes.roots[:8]]
    assert any(now[c] != before[c] for c in likely)
    for condition in likely:
        rival = before[condition]
        assert told(belief, now[condition], condition) > 0.0
        if rival != now[condition]:
            best, other = (
                told(belief, c, condition) / _check_cost(found.family, found.family.checks[c])
                for c in (now[condition], rival)
            )
            assert best > other
    assert data.checks[now[likely[0]]].tool in {i.name for i in load_list(found)}

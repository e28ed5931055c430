"""What to load, and what the call may still cost."""

import numpy as np
import pytest

from catchpan.calls.loading import cheapest_repairs, cost_range, load_list
from catchpan.calls.use_case import CallBook, Number
from tests.calls.one_home import guide_of, on_site, open_call


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


def test_a_known_cause_loads_its_part(book: CallBook) -> None:
    on_site(book)
    state = book.take_reading("c1", "capacitor/fan-microfarad", Number(0.0, "µF", 0.0))
    first = load_list(guide_of(state))[0]
    assert first.chance > 0.5
    parts = {i.name for i in load_list(guide_of(state)) if i.kind == "part" and i.chance > 0.5}
    assert any("capacitor" in name for name in parts)


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

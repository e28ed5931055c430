"""A network of vessels is followed from event to event."""

import numpy as np
import pytest

from catchpan.physics.pan_network import Network, NeverSettles, Opening, Watch, run_water
from catchpan.units.errors import CatchpanError, OutOfRange


def test_three_vessels_in_a_row_spill_one_after_the_other() -> None:
    rims = [Opening(f"rim {n}", n, n + 1 if n < 2 else "floor", 0.1, np.inf) for n in range(3)]
    history = run_water(Network([1.0, 1.0, 2.0], rims), [0.001, 0, 0], [0, 0, 0], 1e6)
    assert [float(history.opening_time_s[f"rim {n}"]) for n in range(3)] == pytest.approx(
        [100.0, 200.0, 400.0]
    )
    assert history.volume_m3["rim 2"] == pytest.approx(0.001 * (1e6 - 400))


def test_two_openings_at_one_height_share_in_their_order() -> None:
    openings = [Opening("a", 0, "x", 0.1, 0.0004), Opening("b", 0, "y", 0.1, np.inf)]
    history = run_water(Network([1.0], openings), [0.001], [0.0], 1e4)
    assert history.flow_m3_s["a"] == pytest.approx(0.0004)
    assert history.flow_m3_s["b"] == pytest.approx(0.0006)


def test_water_above_a_rim_is_outside_at_once() -> None:
    history = run_water(Network([1.0], [Opening("rim", 0, "x", 0.1, np.inf)]), [0.0], [0.5], 1.0)
    assert history.level_m[-1][0] == pytest.approx(0.1)


def test_watch_without_power_to_stop_lets_the_level_rise_past() -> None:
    rim = Opening("rim", 0, "x", 0.2, np.inf)
    watch = Watch("float", 0, 0.1, [False, True])
    history = run_water(Network([1.0], [rim], [watch]), [0.001], [0.0], 1e4)
    assert history.watch_time_s["float"].tolist() == pytest.approx([100.0, 100.0])
    assert history.level_m[-1][:, 0].tolist() == pytest.approx([0.2, 0.1])


def test_run_ends_exactly_at_the_end() -> None:
    rim = Opening("rim", 0, "x", 0.2, np.inf)
    history = run_water(Network([1.0], [rim]), [0.001], [0.0], 55.0)
    assert history.time_s[-1] == 55.0
    assert history.level_m[-1][0] == pytest.approx(0.055)


def test_endless_run_is_refused() -> None:
    with pytest.raises(OutOfRange, match="duration"):
        run_water(Network([1.0], []), [0.0], [0.0], np.inf)


def test_never_settling_says_what_to_check() -> None:
    assert "leads back" in str(NeverSettles(7))
    assert issubclass(NeverSettles, CatchpanError)

"""The joint likelihood of panel readings, against sums over weather and degrees the long way."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from catchpan.diagnosis.worlds.family import Outcome
from catchpan.diagnosis.worlds.panel import RUNNING, STANDING, Panel, Weather, unit_covariance
from catchpan.diagnosis.worlds.panel_likelihood import PanelView, Taken, independent
from catchpan.diagnosis.worlds.panel_quantity import (
    QUANTITIES,
    VARIABLES,
    Array,
    PanelLook,
    SaturationChart,
    quantity,
)

NO_SLIP = 1e-12
BASE = np.array([281.0, 317.0, 288.0, 311.0, 345.0, 288.0, 315.0, 11.0, 9e-4, 0.5, 287.0])
SLOPES = np.array(
    [[0.2, 0.0, 0.4], [1.0, 0.0, 0.3], [0.3, 0.1, 0.3], [1.0, 0.0, 0.1], [1.2, 0.0, 0.2],
     [0.1, 0.5, 0.4], [1.1, 0.0, 0.2], [0.1, 0.0, 0.05], [0.0, -3e-5, 1e-4],
     [0.0, 0.0, 0.0], [0.1, 0.1, 0.7]]
)  # fmt: skip
MIDDLE = np.array([306.0, 299.5, 292.0])
AXES = (np.array([276.0, 336.0]), np.array([262.0, 322.0]), np.array([-23.0, 37.0]))


def alone(states: int) -> NDArray[np.int32]:
    """Each state its own neighbour: a degree that stands for itself only."""
    return np.arange(states, dtype=np.int32)[:, None].repeat(2, axis=1)


def linear_panel(shifts: Sequence[Sequence[float]], groups: Sequence[Sequence[float]]) -> Panel:
    """Build a panel that is straight in the weather; ``shifts`` tell its states apart."""
    nodes = np.array([(o, w, d) for o in AXES[0] for w in AXES[1] for d in AXES[2]])
    air = np.column_stack([nodes[:, 0], nodes[:, 1] + nodes[:, 2], nodes[:, 1]])
    means = [BASE + np.array(s) + (air - MIDDLE) @ SLOPES.T for s in shifts]
    pressure = np.geomspace(1e5, 4e6, 60)
    dew = 1.0 / (1.0 / 221.0 - np.log(pressure / 1e5) / 2500.0)
    charts = tuple(SaturationChart(n, pressure, dew + k, dew + k) for n, k in (("a", 0), ("b", 30)))
    sizes = [len(g) for g in groups]
    return Panel(
        "cool", AXES, np.array(means, dtype=np.float32), np.zeros(len(means), dtype=np.int8),
        np.zeros(len(means), dtype=np.int8), alone(len(means)), charts,
        np.arange(len(means), dtype=np.int32), np.concatenate([np.array(g) for g in groups]),
        np.cumsum([0, *sizes[:-1]]).astype(np.int32),
        np.array([*range(len(groups)), -1], dtype=np.int32),
        Weather(MIDDLE, np.array([2.0, 1.0, 1.5])),
    )  # fmt: skip


def shift(**by: float) -> list[float]:
    return [by.get(name, 0.0) for name in VARIABLES]


LOW = shift(evaporating_k=-3.0, suction_line_k=4.0, condensing_k=-2.0, discharge_k=6.0)
LOWER = [2.5 * s for s in LOW]
THREE = linear_panel([shift(), LOW, LOWER], [[1.0], [0.4, 0.6]])


def taken(of: str, value: float, spread: float, slip: float = NO_SLIP) -> Taken:
    return Taken(PanelLook("cool", of, spread), value, spread, 3, slip)


def long_way(panel: Panel, readings: Sequence[Taken], group: int) -> float:
    """Integrate over the weather on a fine grid and sum over the group's degrees."""
    rows = [quantity(t.look.of).rows() for t in readings]
    on, air = (np.array([r[k] for r in rows]) for k in (0, 1))
    noise = np.diag([t.sd_si**2 for t in readings]) + on @ unit_covariance(RUNNING) @ on.T
    steps = np.linspace(-5.0, 5.0, 41)
    grid = np.array([(a, b, c) for a in steps for b in steps for c in steps])
    weight = np.exp(-0.5 * (grid**2).sum(axis=1))
    weight /= weight.sum()
    weather = MIDDLE + grid * panel.usual.sd_k
    total = 0.0
    for node in np.flatnonzero(panel.node_group == group):
        base = panel.readings(MIDDLE)[panel.node_state[node]]
        mean = (base + (weather - MIDDLE) @ SLOPES.T) @ on.T + weather @ air.T
        miss = np.array([t.value_si for t in readings]) - mean
        square = np.einsum("gi,ij,gj->g", miss, np.linalg.inv(noise), miss)
        bell = np.exp(-0.5 * square) / np.sqrt(np.linalg.det(2.0 * np.pi * noise))
        total += float(panel.node_weight[node] * (weight @ bell))
    spans = np.prod([quantity(t.look.of).span / t.answers for t in readings])
    return float(np.log(total * spans))


@pytest.mark.parametrize(
    "readings",
    [
        [("suction_line", 290.0, 0.7)],
        [("superheat", 9.0, 1.0), ("subcooling", 4.0, 0.9)],
        [("suction_line", 291.0, 0.7), ("approach", 5.5, 1.0), ("split", -11.0, 1.0)],
        [("discharge_line", 352.0, 1.5), ("liquid_line", 312.0, 0.7), ("suction_line", 285.0, 0.7)],
    ],
)
def test_likelihood_equals_the_integral_over_weather_and_degrees(
    readings: list[tuple[str, float, float]],
) -> None:
    made = [taken(*r) for r in readings]
    found = PanelView.after(THREE, made).log_likelihood()
    for group in (0, 1):
        assert found[group] == pytest.approx(long_way(THREE, made, group), abs=0.02)


def test_a_degree_stands_for_all_up_to_half_way_to_the_next() -> None:
    """Against many degrees close together, evenly weighed, each standing for itself."""
    far = 4.0 * np.array(LOW)
    ways = np.linspace(0.0, 3.0, 301)
    many = linear_panel([(w * far).tolist() for w in ways], [[1.0 / len(ways)] * len(ways)])
    few = linear_panel([(w * far).tolist() for w in (0.5, 1.5, 2.5)], [[1.0 / 3.0] * 3])
    wide = replace(few, beside=np.array([[0, 1], [0, 2], [1, 2]], dtype=np.int32))
    looks = {"suction_line": 2, "discharge_line": 4}
    short = {}
    for away in (0.5, 1.0, 1.3, 2.0):
        made = [taken(of, BASE[i] + away * far[i], 0.3) for of, i in looks.items()]
        exact, ours, points = (
            float(PanelView.after(p, made).log_likelihood()[0]) for p in (many, wide, few)
        )
        assert ours == pytest.approx(exact, abs=0.25)
        short[away] = exact - points
    assert short[1.0] > 0.8


def test_the_weather_read_is_weather_known() -> None:
    """A wrong guess of the weather is made good by a thermometer, as in the integral."""
    hot = [taken("outdoor_air", 311.0, 0.5), taken("return_wet_bulb", 295.0, 0.5)]
    view = PanelView.after(THREE, [*hot, taken("suction_line", 291.0, 0.7)])
    assert view.weather.mean_k[0] == pytest.approx(306.0 + 5.0 * 4.0 / 4.25)
    assert view.weather.sd_k[0] < 0.5
    assert view.weather.sd_k[1] == 1.0
    expected, _ = view.expected(PanelLook("cool", "liquid_line", 0.7))
    cool, _ = PanelView.after(THREE, []).expected(PanelLook("cool", "liquid_line", 0.7))
    assert expected[0] > cool[0] + 4.0


def test_order_of_readings_does_not_matter() -> None:
    made = [taken("superheat", 9.0, 1.0), taken("outdoor_air", 308.0, 1.0),
            taken("subcooling", 4.0, 0.9)]  # fmt: skip
    one, two = (PanelView.after(THREE, m).log_likelihood() for m in (made, made[::-1]))
    assert one == pytest.approx(two, abs=1e-9)


def test_what_is_worked_out_of_two_readings_counts_once() -> None:
    pressure = THREE.charts[0].gauge_pa(np.array([280.0]), "dew")[0][0]
    parts = [taken("suction_pressure", pressure, 2e4), taken("suction_line", 290.0, 0.7)]
    both = PanelView.after(THREE, [*parts, taken("superheat", 10.0, 1.0)])
    assert both.log_likelihood() == pytest.approx(PanelView.after(THREE, parts).log_likelihood())
    assert len(independent([*parts[:1], taken("superheat", 10.0, 1.0)])) == 2


def test_a_slip_costs_a_bounded_amount_and_leaves_the_others_their_say() -> None:
    good = [taken("superheat", 20.0, 1.0, 0.02), taken("discharge_line", 358.0, 1.5, 0.02)]
    bad = taken("subcooling", 60.0, 0.9, 0.02)
    alone = PanelView.after(THREE, good).log_likelihood()
    spoilt = PanelView.after(THREE, [*good, bad]).log_likelihood()
    assert spoilt[1] - spoilt[0] == pytest.approx(alone[1] - alone[0], rel=0.2)
    assert spoilt[2] == pytest.approx(-3 * np.log(3))
    assert np.isfinite(spoilt).all()


def test_an_absurd_reading_is_a_slip_and_blurs_nothing_beside_it() -> None:
    """A reading a billion spreads off takes no digits from those beside it."""
    beside = [taken("suction_line", 289.0, 0.5, 0.02), taken("liquid_line", 310.0, 0.5, 0.02)]
    alone = PanelView.after(THREE, beside).log_likelihood()
    for absurd in (1e4, 1e9):
        wrong = taken("condensate", -absurd * 1e-4, 1e-4, 0.02)
        both = PanelView.after(THREE, [*beside, wrong]).log_likelihood()
        apart = both[:2] - alone[:2]
        assert apart[0] == pytest.approx(apart[1], abs=0.02)


def test_answers_add_up_and_follow_what_was_read() -> None:
    look = PanelLook("cool", "superheat", 1.0, reliability=1.0)
    answers = (Outcome("low", "low", None, 5.0), Outcome("usual", "usual", 5.0, 15.0),
               Outcome("high", "high", 15.0, None))  # fmt: skip
    before = PanelView.after(THREE, []).table(look, answers)
    assert before.sum(axis=1) == pytest.approx(1.0)
    assert before[0, 1] > before[1, 1]
    assert before[2] == pytest.approx(1 / 3)
    warm = PanelView.after(THREE, [taken("discharge_line", 356.0, 1.0)]).table(look, answers)
    assert warm[0, 2] > before[0, 2]


@given(st.integers(0, 3), st.floats(-3.0, 3.0))
def test_chance_of_an_answer_is_the_likelihood_it_would_get(which: int, off: float) -> None:
    """P(answer | readings) is the ratio of joint likelihoods, summed over a fine row of values."""
    of = ("superheat", "suction_line", "liquid_line", "split")[which]
    look = PanelLook("cool", of, 0.8, reliability=1.0)
    made = [taken("discharge_line", 349.0 + 3.0 * off, 1.5), taken("outdoor_air", 307.0, 0.9)]
    mean, spread = PanelView.after(THREE, made).expected(look)
    limit = float(mean[1] + 0.3)
    table = PanelView.after(THREE, made).table(
        look, (Outcome("a", "a", None, limit), Outcome("b", "b", limit, None))
    )
    values = np.linspace(limit - 9.0 * float(spread[1]), limit, 300)
    joint = [PanelView.after(THREE, [*made, taken(of, v, 0.8)]).log_likelihood()[1] for v in values]
    alone = PanelView.after(THREE, made).log_likelihood()[1]
    density = np.exp(np.array(joint) - alone) * 3.0 / quantity(of).span
    assert table[1, 0] == pytest.approx(np.trapezoid(density, values), abs=0.01)


def test_beliefs_from_the_model_s_own_readings_are_calibrated() -> None:
    """Of readings drawn as the model says, the truth's average share is what is to be expected."""
    panel = linear_panel(
        [shift(), LOW, LOWER, shift(condensing_k=6.0, liquid_line_k=4.0, compressor_a=1.5),
         shift(evaporating_k=4.0, condensing_k=-3.0, suction_line_k=5.0)],
        [[1.0], [0.5, 0.5], [1.0], [1.0]],
    )  # fmt: skip
    rng = np.random.default_rng(3)
    asked = ("suction_line", "liquid_line", "split", "discharge_line", "outdoor_air")
    hits, shares = [], []
    for _ in range(400):
        group = int(rng.integers(4))
        nodes = np.flatnonzero(panel.node_group == group)
        state = panel.node_state[rng.choice(nodes, p=panel.node_weight[nodes])]
        air = MIDDLE + rng.normal(size=3) * panel.usual.sd_k
        unit = rng.multivariate_normal(np.zeros(len(VARIABLES)), unit_covariance(RUNNING))
        shown = panel.readings(air)[state] + unit
        made = [_read(of, shown, air, rng) for of in asked]
        log = PanelView.after(panel, made).log_likelihood()[:4]
        share = np.exp(log - log.max()) / np.exp(log - log.max()).sum()
        hits.append(np.arange(4) == group)
        shares.append(share)
    told, true = np.array(shares).ravel(), np.array(hits).ravel()
    assert (np.array(shares).argmax(axis=1) == np.argmax(hits, axis=1)).mean() > 0.6
    for low, high in ((0.0, 0.1), (0.1, 0.3), (0.3, 0.6), (0.6, 0.9), (0.9, 1.01)):
        inside = (told >= low) & (told < high)
        spread = 3.0 * np.sqrt(0.25 / inside.sum())
        assert true[inside].mean() == pytest.approx(told[inside].mean(), abs=spread)


def _read(of: str, shown: Array, air: Array, rng: np.random.Generator) -> Taken:
    on, by = quantity(of).rows()
    return taken(of, float(on @ shown + by @ air + rng.normal() * 0.8), 0.8)


def test_standing_circuits_are_told_apart_by_their_spread() -> None:
    assert unit_covariance(STANDING)[2, 2] > unit_covariance(RUNNING)[2, 2]
    for kind in (RUNNING, STANDING):
        assert (np.linalg.eigvalsh(unit_covariance(kind)) > 0.0).all()


def test_another_chart_reads_another_pressure() -> None:
    """The same saturation temperature is another pressure in another refrigerant."""
    chart, other = THREE.charts
    temperatures = np.array([275.0, 290.0])
    assert (chart.gauge_pa(temperatures, "dew")[0] > other.gauge_pa(temperatures, "dew")[0]).all()
    for line in ("dew", "bubble"):
        pressure, slope = chart.gauge_pa(temperatures, line)
        back, back_slope = chart.temperature(float(pressure[0]), line)
        assert back == pytest.approx(275.0, abs=0.01)
        assert back_slope * slope[0] == pytest.approx(1.0, rel=0.02)


def test_every_quantity_names_known_readings() -> None:
    for name in QUANTITIES:
        on, air = quantity(name).rows()
        assert on.any() or air.any()

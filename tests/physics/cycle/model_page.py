"""The tables and plots of docs/models/refrigerant-and-cycle.md.

Run it to write the tables into the page and draw the plots anew:
``uv run python -m tests.physics.cycle.model_page``.
"""

from collections.abc import Callable, Iterator
from pathlib import Path

import matplotlib as mpl
import numpy as np
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from catchpan.physics.cycle.design import Design
from catchpan.physics.cycle.rating import TEST_A, Rating, cop_b_from_seer, cop_from_eer, fit_unit
from catchpan.physics.cycle.solve import operating_points
from catchpan.physics.cycle.unit import Departures, Unit, Weather
from catchpan.physics.refrigerant.fluid import REFRIGERANTS
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.physics.refrigerant.source import PropertySource
from catchpan.units.span import FloatArray
from tests.physics.cycle.conftest import cooling
from tests.physics.cycle.published import (
    MAKER_LIQUID_PSIG,
    MAKER_SUCTION_PSIG,
    OUTDOOR_F,
    charge_ratio,
    chart_superheat_degf,
    independent_point,
    ratios,
    regressed_heating,
    signs,
    superheat_chart,
)

PAGE = Path(__file__).parents[3] / "docs" / "models" / "refrigerant-and-cycle.md"
PLOTS = PAGE.parent / "plots"
FAULTS = (-0.30, -0.25, -0.20, -0.15, -0.10, -0.05, 0.10, 0.20, 0.30)
AIRFLOW = {
    "TP-5500-56354": (0.984, 0.966, 0.944),
    "Kim et al. 2019": (0.914, 0.862, 0.837),
}
"""Capacity with 10, 20 and 30 % less indoor air, in both published families."""

HEATING = np.array(
    [
        *([65, 36.5], [60, 34.5], [55, 32.5], [50, 30.4], [47, 29.0], [45, 28.1], [40, 26.1]),
        *([35, 24.1], [30, 22.6], [25, 20.9], [20, 19.2], [17, 18.2], [15, 17.5], [10, 15.7]),
        *([5, 13.9], [0, 12.1], [-5, 10.3], [-10, 8.5]),
    ]
)


def valve_unit() -> Unit:
    """R-410A with an expansion valve, 8.8 kW, SEER 13, charged like the heat pump measured."""
    return cooling("R-410A", 13.0, 11.2, Design(2.9))


def heat_pump() -> Unit:
    """R-410A heat pump rated as a maker's table at 47 and 17 degF."""
    rating = Rating(
        *(8800.0, cop_from_eer(11.7), None, cop_b_from_seer(14.3)),
        *(29.0e3 * 0.29307, 3.78, 18.2e3 * 0.29307, 2.55),
    )
    return fit_unit(refrigerant_table("R-410A"), rating, Design(3.4, indoor_air_m3_s=0.4955))


def property_rows() -> Iterator[str]:
    """Largest errors of the tables against CoolProp over -30 to 70 degC saturation."""
    for name, fluid in REFRIGERANTS.items():
        table, source = refrigerant_table(name), PropertySource(fluid)
        low, high = np.log(table.bubble_pressure_pa(np.array([243.15, 343.15]))).tolist()
        pressure = np.exp(np.random.default_rng(3).uniform(low, high, 400))
        sat = table.saturation(pressure)
        off = np.random.default_rng(4).uniform(0.0, 1.0, pressure.size) ** 2
        gas = source.single_phase(pressure, sat.dew_k + 100 * off, liquid=False)
        wet = source.single_phase(pressure, sat.bubble_k - 40 * off, liquid=True)
        over, under = (
            table.vapour_over_dew(pressure, 100 * off),
            table.liquid_under_bubble(pressure, 40 * off),
        )
        vapour = np.abs(sat.vapour_enthalpy_j_kg + over[0] - gas[:, 0]) / sat.latent_j_kg
        liquid = np.abs(sat.liquid_enthalpy_j_kg - under[0] - wet[:, 0]) / sat.latent_j_kg
        yield f"| {name} | {vapour.max() * 100:.2f} % | {liquid.max() * 100:.2f} % |"


def charge_rows() -> Iterator[str]:
    """Capacity and power over those at the right charge, at 26.7/19.4 degC in and 35 out."""
    unit = valve_unit()
    sound = operating_points(unit, TEST_A)
    for fault in FAULTS:
        found = ratios(operating_points(unit, TEST_A, Departures(charge=1 + fault)), sound)
        ours = [f"{float(each[0]):.2f}" for each in found]
        theirs = [f"{charge_ratio(q, fault, 26.67, 35.0):.2f}" for q in ("Q", "P")]
        yield f"| {fault:+.0%} | {ours[0]} | {theirs[0]} | {ours[1]} | {theirs[1]} |"


def airflow_rows() -> Iterator[str]:
    """Capacity with less indoor air, expansion valve and orifice."""
    units = (valve_unit(), cooling("R-410A", 13.0, 11.2, Design(2.5, is_valve=False)))
    for air, first, second in zip((0.9, 0.8, 0.7), *AIRFLOW.values(), strict=True):
        ours = [
            float(
                ratios(
                    operating_points(unit, TEST_A, Departures(indoor_air=air)),
                    operating_points(unit, TEST_A),
                )[0][0]
            )
            for unit in units
        ]
        yield f"| {air - 1:+.0%} | {ours[0]:.2f} | {ours[1]:.2f} | {first} | {second} |"


def sign_rows() -> Iterator[str]:
    """How readings of an R-22 orifice unit move, in kelvin."""
    unit = cooling("R-22", 11.0, 9.8, Design(2.7, is_valve=False), 10550.0)
    cases = {
        "charge -20 %": Departures(charge=0.8),
        "compressor valves -15 %": Departures(compressor=0.85),
        "liquid line restricted": Departures(restriction=0.5),
        "condenser air -40 %": Departures(outdoor_air=0.6),
        "evaporator air -30 %": Departures(indoor_air=0.7),
    }
    for name, off in cases.items():
        moved = " | ".join(f"{value:+.1f}" for value in signs(unit, TEST_A, off).values())
        yield f"| {name} | {moved} |"


def sweep_rows() -> Iterator[str]:
    """Sensitivities of the independent three-ton sample."""
    base, short, over = independent_point(), independent_point(0.95), independent_point(1.10)
    air, out = independent_point(indoor_air=0.6), independent_point(outdoor_air=0.5)
    rows: list[tuple[str, float, float, str]] = [
        (
            "subcooling per 1 % charge, K",
            (over["subcool_K"] - short["subcool_K"]) / 15,
            0.231,
            ".2f",
        ),
        (
            "condensing, charge 0.95 to 1.10, K",
            over["Tdew_cond_C"] - short["Tdew_cond_C"],
            1.65,
            ".1f",
        ),
        (
            "evaporating, charge 0.95 to 1.10, K",
            over["Tdew_evap_C"] - short["Tdew_evap_C"],
            -0.125,
            ".2f",
        ),
        (
            "condensing, condenser air -50 %, K",
            out["Tdew_cond_C"] - base["Tdew_cond_C"],
            5.17,
            ".1f",
        ),
        (
            "evaporating, evaporator air -40 %, K",
            air["Tdew_evap_C"] - base["Tdew_evap_C"],
            -2.85,
            ".1f",
        ),
        (
            "capacity, evaporator air -40 %, %",
            100 * (air["Q_evap_W"] / base["Q_evap_W"] - 1),
            -9.1,
            ".1f",
        ),
        ("capacity at the base, W (not fitted)", base["Q_evap_W"], 10310.0, ".0f"),
    ]
    for what, ours, theirs, form in rows:
        yield f"| {what} | {ours:{form}} | {theirs:g} |"


def superheat_rows() -> Iterator[str]:
    """Fit of units to the target-superheat chart, degF."""
    cells = superheat_chart()
    cells = cells[cells[:, 2] > 5.0]
    for name, seer, eer in (
        ("R-22", 10.0, 9.0),
        ("R-22", 11.0, 9.8),
        ("R-22", 13.0, 11.2),
        ("R-410A", 13.0, 11.2),
    ):
        unit = cooling(name, seer, eer, Design(2.7, is_valve=False), 10550.0)
        off = chart_superheat_degf(unit, cells) - cells[:, 2]
        yield f"| {name}, SEER {seer:g} | {np.sqrt(np.mean(off**2)):.1f} | {off.mean():+.1f} |"


RATED = list(HEATING[:, 0]).index(47)


def heating_ratio() -> FloatArray:
    """Heating capacity over the maker's table, by outdoor temperature."""
    out = (HEATING[:, 0] + 459.67) / 1.8
    points = operating_points(heat_pump(), Weather(294.261, 288.7, out), heating=True)
    return np.asarray(points.net_w / 293.07 / HEATING[:, 1])


def heating_shares() -> FloatArray:
    """Heating capacity over that at 47 degF: the model's, then both published regressions'."""
    ours = heating_ratio() * HEATING[:, 1]
    return np.stack([ours / ours[RATED], *regressed_heating(HEATING[:, 0])])


def heating_rows() -> Iterator[str]:
    """Heating capacity over the maker's table and the regressions at some temperatures."""
    rows = [0, 2, 4, 6, 8, 10, 12, 14, 15, 16, 17]
    ours, *theirs = heating_shares()
    columns = np.stack([HEATING[:, 0], heating_ratio(), *(ours / each for each in theirs)]).T
    for out, *ratios_ in columns[rows].tolist():
        yield f"| {out:.0f} | " + " | ".join(f"{ratio:.2f}" for ratio in ratios_) + " |"


TABLES: dict[str, Callable[[], Iterator[str]]] = {
    "properties": property_rows,
    "charge": charge_rows,
    "airflow": airflow_rows,
    "signs": sign_rows,
    "sweep": sweep_rows,
    "superheat": superheat_rows,
    "heating": heating_rows,
}


def draw_charge() -> None:
    """Draw capacity and power over the charge against the measured regression."""
    unit, charge = valve_unit(), np.linspace(0.6, 1.35, 76)
    found = operating_points(unit, TEST_A, Departures(charge=charge))
    ours = ratios(found, operating_points(unit, TEST_A))
    figure, axes = plt.subplots(figsize=(6, 4))
    for quantity, line, label in zip("QP", ours, ("capacity", "power"), strict=True):
        (drawn,) = axes.plot(charge, line, label=f"{label}, model")
        span = np.linspace(0.7, 1.3, 61)
        measured = [charge_ratio(quantity, float(c) - 1.0, 26.67, 35.0) for c in span]
        axes.plot(span, measured, "--", color=drawn.get_color(), label=f"{label}, NIST TN 1848")
    axes.set(xlabel="charge over the right charge", ylabel="over that at the right charge")
    _save(figure, axes, "charge")


def draw_airflow() -> None:
    """Draw capacity over the indoor air flow against both published families."""
    air = np.linspace(0.5, 1.0, 26)
    orifice = cooling("R-410A", 13.0, 11.2, Design(2.5, is_valve=False))
    figure, axes = plt.subplots(figsize=(6, 4))
    for name, unit in (("valve", valve_unit()), ("orifice", orifice)):
        found = operating_points(unit, TEST_A, Departures(indoor_air=air))
        axes.plot(air, ratios(found, operating_points(unit, TEST_A))[0], label=f"{name}, model")
    for name, published in AIRFLOW.items():
        axes.plot([1.0, 0.9, 0.8, 0.7], [1.0, *published], "o--", ms=3, label=name)
    axes.set(xlabel="indoor air over rated", ylabel="capacity over that at rated air")
    _save(figure, axes, "airflow")


def draw_pressures() -> None:
    """Draw gauge pressures in cooling against a maker's table."""
    found = operating_points(valve_unit(), Weather(299.817, 292.594, (OUTDOOR_F + 459.67) / 1.8))
    figure, axes = plt.subplots(figsize=(6, 4))
    for name, pascal, maker in (
        ("liquid", found.liquid_pa, MAKER_LIQUID_PSIG),
        ("suction", found.suction_pa, MAKER_SUCTION_PSIG),
    ):
        (drawn,) = axes.plot(OUTDOOR_F, (pascal - 101325.0) / 6894.757, label=f"{name}, model")
        axes.plot(OUTDOOR_F, maker, "o", ms=3, color=drawn.get_color(), label=f"{name}, maker")
    axes.set(xlabel="outdoor temperature, °F", ylabel="psig, R-410A, 80/67 °F return")
    _save(figure, axes, "pressures")


def draw_superheat() -> None:
    """Draw the target-superheat chart, published and from the unit's own model."""
    cells = superheat_chart()
    unit = cooling("R-22", 11.0, 9.8, Design(2.7, is_valve=False), 10550.0)
    ours = chart_superheat_degf(unit, cells)
    figure, axes = plt.subplots(figsize=(6, 4))
    for out in (55, 75, 95, 115):
        rows = cells[:, 0] == out
        (drawn,) = axes.plot(cells[rows, 1], ours[rows], label=f"{out} °F outdoors, model")
        axes.plot(cells[rows, 1], cells[rows, 2], "o", ms=3, color=drawn.get_color())
    axes.set(xlabel="return wet bulb, °F", ylabel="superheat, °F (points: published chart)")
    _save(figure, axes, "target-superheat")


def draw_heating() -> None:
    """Draw heating capacity against the maker's table."""
    figure, axes = plt.subplots(figsize=(6, 4))
    axes.plot(HEATING[:, 0], HEATING[:, 1] * heating_ratio(), label="model")
    axes.plot(HEATING[:, 0], HEATING[:, 1], "o", ms=3, label="maker's table (fitted at 47 and 17)")
    names = ("RESNET addendum 82", "TP-5500-56354")
    for name, share in zip(names, regressed_heating(HEATING[:, 0]), strict=True):
        axes.plot(HEATING[:, 0], HEATING[RATED, 1] * share, "--", lw=1, label=f"{name}, from 47")
    axes.set(xlabel="outdoor temperature, °F", ylabel="heating capacity, 1000 Btu/h")
    _save(figure, axes, "heating")


def _save(figure: Figure, axes: Axes, name: str) -> None:
    axes.legend(frameon=False, fontsize=8)
    axes.grid(alpha=0.3)
    figure.tight_layout()
    figure.savefig(PLOTS / f"{name}.svg", metadata={"Date": None})
    plt.close(figure)


def put_in(page: list[str], rows: list[str]) -> None:
    """Put a table's rows, in place, over those of the page that begin with the same cells."""
    names = [_name(row) for row in rows]
    starts = [i for i in range(len(page)) if [_name(x) for x in page[i : i + len(rows)]] == names]
    if len(starts) != 1:
        raise LookupError(f"{len(starts)} tables of the page have the rows {names}")
    page[starts[0] : starts[0] + len(rows)] = rows


def _name(row: str) -> str:
    """Return a row's first cell and how many there are."""
    cells = row.split("|")
    return f"{cells[1].strip()} of {len(cells)}" if len(cells) > 2 else ""


def main() -> None:
    """Write every table into the page and draw every plot."""
    page = PAGE.read_text(encoding="utf-8").splitlines()
    for rows in TABLES.values():
        put_in(page, list(rows()))
    PAGE.write_text("\n".join(page) + "\n", encoding="utf-8")
    PLOTS.mkdir(exist_ok=True)
    mpl.use("svg")
    mpl.rcParams["svg.hashsalt"] = "catchpan"
    for draw in (draw_charge, draw_airflow, draw_superheat, draw_heating, draw_pressures):
        draw()


if __name__ == "__main__":
    main()

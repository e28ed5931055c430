"""Units from nameplates: drawn at random, they reproduce their ratings."""

import numpy as np
import pytest

from catchpan.physics.cycle.nameplate import (
    Nameplate,
    understood,
    unit_from_nameplate,
)
from catchpan.physics.cycle.rating import TEST_A, TEST_B, TEST_H1, TEST_H3, rated
from catchpan.physics.refrigerant.shelf import refrigerant_table
from catchpan.units.errors import BadValue

NAMES = ("R-410A", "R-22", "R-32", "R-454B", "R-134a")
COUNT = 15
SEER2_OVER_SEER = 0.95
"""How much lower the newer rating of one split unit is: common practice, no source."""


def drawn(i: int) -> tuple[str, Nameplate]:
    """Return one of many nameplates: single-speed units of 1.5 to 5 tons.

    R-22 and R-134a are of their time; an R-134a orifice unit of SEER 14 is refused (see the page).
    """
    draw = np.random.default_rng(100 + i)
    name = NAMES[i % len(NAMES)]
    tons = float(draw.choice([1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0]))
    is_new_test = name in {"R-32", "R-454B"} or bool(draw.integers(2))
    old = name in {"R-22", "R-134a"}
    seer = float(draw.uniform(9.0, 11.0) if old else draw.uniform(13.0, 16.0))
    seer *= SEER2_OVER_SEER if is_new_test else 1.0
    eer = seer / 0.96 / float(draw.uniform(1.18, 1.30)) if draw.integers(2) else None
    charge = tons * float(draw.uniform(0.85, 1.35)) if draw.integers(2) else None
    return name, Nameplate(
        tons, seer, eer, is_new_test, is_valve=bool(draw.integers(2)), charge_kg=charge
    )


@pytest.mark.parametrize("i", range(COUNT))
def test_a_random_nameplate_is_reproduced_within_two_percent(i: int) -> None:
    name, nameplate = drawn(i)
    of_map = refrigerant_table("R-410A")
    unit = unit_from_nameplate(refrigerant_table(name), nameplate, of_map)
    rating = understood(nameplate).rating
    a, b = rated(unit, TEST_A), rated(unit, TEST_B)
    assert rating.cop_b is not None
    assert a.net_w[0] == pytest.approx(rating.capacity_w, rel=0.02)
    assert a.cop[0] == pytest.approx(rating.cop_a, rel=0.02)
    assert b.net_w[0] == pytest.approx(rating.capacity_w / 0.936, rel=0.02)
    assert b.cop[0] == pytest.approx(rating.cop_b, rel=0.02)
    assert a.limits[0] == 0


@pytest.mark.parametrize(
    ("name", "nameplate"),
    [
        ("R-410A", Nameplate(3.0, 14.3, is_new_test=True, is_heat_pump=True)),
        ("R-410A", Nameplate(2.0, 13.0, 11.0, charge_kg=2.4, is_heat_pump=True)),
        ("R-454B", Nameplate(2.5, 14.3, 11.7, is_new_test=True, is_heat_pump=True)),
        ("R-32", Nameplate(4.0, 15.2, 12.0, is_heat_pump=True, heating_w=13500.0)),
        ("R-22", Nameplate(3.0, 10.0, 9.0, is_valve=False, is_heat_pump=True, heating_cop=3.1)),
    ],
)
def test_a_heat_pump_is_reproduced_in_heating_too(name: str, nameplate: Nameplate) -> None:
    of_map = refrigerant_table("R-410A")
    unit = unit_from_nameplate(refrigerant_table(name), nameplate, of_map)
    rating = understood(nameplate).rating
    assert rating.heating_w is not None
    assert rating.heating_cop is not None
    h1, h3 = (rated(unit, test, heating=True) for test in (TEST_H1, TEST_H3))
    assert h1.net_w[0] == pytest.approx(rating.heating_w, rel=0.02)
    assert h1.cop[0] == pytest.approx(rating.heating_cop, rel=0.02)
    assert h3.net_w[0] == pytest.approx(0.626 * rating.heating_w, rel=0.02)
    assert h3.cop[0] == pytest.approx(rating.heating_cop / 1.356, rel=0.02)
    assert rated(unit, TEST_A).net_w[0] == pytest.approx(rating.capacity_w, rel=0.02)


def test_the_newer_rating_has_the_stronger_blower_in_it() -> None:
    old, new = (understood(Nameplate(3.0, 14.0, is_new_test=which)) for which in (False, True))
    assert new.design.indoor_fan_w_s_m3 == pytest.approx(0.441 / 4.719e-4, rel=1e-3)
    assert new.design.indoor_fan_w_s_m3 > 1.15 * old.design.indoor_fan_w_s_m3


@pytest.mark.published("resnet-82", "efficiency at test A from B: 1/1.244; Cd 0.08")
def test_what_is_not_printed_is_assumed_and_said() -> None:
    known = understood(Nameplate(3.0, 13.0))
    assert known.rating.cop_a * 3.412 == pytest.approx(13.0 / 0.96 / 1.244, rel=1e-3)
    assert [words.split()[0] for words in known.assumed] == ["EER", "charge"]
    full = understood(Nameplate(3.0, 13.0, 11.0, charge_kg=3.0))
    assert full.assumed == ()
    assert len(understood(Nameplate(3.0, 13.0, is_heat_pump=True)).assumed) == 5


@pytest.mark.parametrize(
    "nameplate", [Nameplate(36.0, 13.0), Nameplate(3.0, 130.0), Nameplate(3.0, 13.0, 110.0)]
)
def test_a_nameplate_that_cannot_be_is_refused(nameplate: Nameplate) -> None:
    with pytest.raises(BadValue, match="cannot be"):
        understood(nameplate)

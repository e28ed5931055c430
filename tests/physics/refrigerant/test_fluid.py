"""Names of refrigerants."""

import pytest

from catchpan.physics.refrigerant.fluid import refrigerant_named
from catchpan.units.errors import UnknownName


@pytest.mark.parametrize("spelling", ["R-410A", "r410a", "R 410 A"])
def test_a_refrigerant_is_found_however_it_is_written(spelling: str) -> None:
    assert refrigerant_named(spelling).components == "R410A"


def test_an_unknown_refrigerant_is_refused_with_what_it_may_have_been() -> None:
    with pytest.raises(UnknownName, match=r"unknown refrigerant 'R-140A'.*R-410A"):
        refrigerant_named("R-140A")

"""Finding a check by words."""

import pytest

from catchpan.calls.check_search import find_checks
from catchpan.catalog.load import catalog


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        ("contactor coil resistance", "contactor/coil-ohms"),
        ("outdoor fan during a call", "phone/outdoor-fan"),
        ("capacitor fan section", "capacitor/fan-microfarad"),
        ("smell of gas", "safety/gas-smell"),
        ("delta t", "air/cooling-split"),
        ("temperature split", "air/cooling-split"),
        ("410a", "option/refrigerant"),
        ("charge", "panel/superheat"),
        ("amp draw", "panel/compressor-amps"),
        ("mfd", "capacitor/herm-microfarad"),
    ],
)
def test_words_of_the_trade_find_the_check(words: str, wanted: str) -> None:
    found = [c.id for c in find_checks(words, catalog().checks.values())]
    assert wanted in found


def test_an_id_finds_itself_first() -> None:
    found = find_checks("capacitor/fan-microfarad", catalog().checks.values())
    assert found[0].id == "capacitor/fan-microfarad"


@pytest.mark.parametrize("words", ["", "   ", "qwxz zzyk", "###"])
def test_nonsense_finds_nothing(words: str) -> None:
    assert find_checks(words, catalog().checks.values()) == ()

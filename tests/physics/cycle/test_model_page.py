"""The numbers in docs/models/refrigerant-and-cycle.md are those of the model as it is."""

import pytest

from tests.physics.cycle.model_page import PAGE, PLOTS, TABLES


@pytest.mark.parametrize("name", TABLES)
def test_the_table_is_current(name: str) -> None:
    page = PAGE.read_text(encoding="utf-8").splitlines()
    assert [row for row in TABLES[name]() if row not in page] == []


@pytest.mark.parametrize("name", ["charge", "airflow", "target-superheat", "heating", "pressures"])
def test_the_plot_is_there_and_shown(name: str) -> None:
    assert (PLOTS / f"{name}.svg").stat().st_size > 1000
    assert f"(plots/{name}.svg)" in PAGE.read_text(encoding="utf-8")

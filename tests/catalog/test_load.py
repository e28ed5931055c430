"""Broken data files are reported whole: file, entry and field of every problem."""

from pathlib import Path

import pytest

from catchpan.catalog.errors import BrokenData
from catchpan.catalog.load import catalog, read_catalog
from catchpan.units.errors import EXIT_BROKEN_DATA

GOOD_HAZARD = """
[[hazard]]
id = "hot-lid"
title = "Hot lid"
caution = "Let it cool."
weight_dollars = { value = 1, basis = "assumed" }
basis = "assumed"
"""


def write(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return folder


def problems(folder: Path) -> list[str]:
    with pytest.raises(BrokenData) as caught:
        read_catalog(folder)
    assert caught.value.exit_code == EXIT_BROKEN_DATA
    return [str(p) for p in caught.value.problems]


def test_the_shipped_catalog_reads() -> None:
    data = catalog()
    assert set(data.archetypes) >= {
        "heat-pump-air-handler",
        "air-conditioner-furnace",
        "air-conditioner-condensing-furnace",
    }


def test_a_good_file_is_read(tmp_path: Path) -> None:
    assert list(read_catalog(write(tmp_path, hazards=GOOD_HAZARD)).hazards) == ["hot-lid"]


def test_a_missing_basis_names_file_entry_and_field(tmp_path: Path) -> None:
    text = GOOD_HAZARD.replace('{ value = 1, basis = "assumed" }', "{ value = 1 }")
    (found,) = problems(write(tmp_path, hazards=text))
    assert found.startswith("hazards.toml · hot-lid · weight_dollars.basis")


def test_an_unknown_field_is_an_error(tmp_path: Path) -> None:
    (found,) = problems(write(tmp_path, hazards=GOOD_HAZARD + 'colour = "red"\n'))
    assert "hot-lid · colour" in found


FAULT = """
[[fault]]
id = "air/odd"
title = "Odd"
plain = "Something odd."
kind = "root"
family = "air"
component = "air"
effects = [{ value = "air.filter", times = 35 }]
rate = { value = 2.0, basis = "assumed" }
seen_share = { value = 0.5, basis = "assumed" }
why = ["it was so"]
"""


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("value = 2.0", "value = -2.0", "rate: -2 is no amount; wanted 0 or more"),
        ("value = 2.0", "value = inf", "rate: inf is no amount"),
        ("value = 0.5", "value = 1.5", "seen_share: 1.5 is no chance; wanted 0 to 1"),
        ("value = 0.5", "value = nan", "seen_share: nan is no chance"),
    ],
)
def test_an_impossible_number_is_an_error(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert list(read_catalog(write(tmp_path, faults=FAULT)).faults) == ["air/odd"]
    (found,) = problems(write(tmp_path, faults=FAULT.replace(old, new)))
    assert f"air/odd · {told}" in found


def test_a_word_where_a_number_belongs_is_an_error(tmp_path: Path) -> None:
    (found,) = problems(write(tmp_path, hazards=GOOD_HAZARD.replace("value = 1", 'value = "1"')))
    assert "weight_dollars.value" in found


def test_an_id_used_twice_is_an_error(tmp_path: Path) -> None:
    (found,) = problems(write(tmp_path, a=GOOD_HAZARD, b=GOOD_HAZARD))
    assert found == "b.toml · hot-lid · id: this id is used twice"


def test_text_that_is_not_toml_is_named(tmp_path: Path) -> None:
    (found,) = problems(write(tmp_path, hazards="[[hazard]\n"))
    assert found.startswith("hazards.toml: not readable as TOML")


def test_an_unknown_table_lists_the_known_ones(tmp_path: Path) -> None:
    (found,) = problems(write(tmp_path, hazards='[[danger]]\nid = "x"\n'))
    assert "danger: unknown table; wanted one of [[fault]]" in found


def test_all_problems_come_at_once(tmp_path: Path) -> None:
    bad = GOOD_HAZARD.replace('title = "Hot lid"\n', "")
    assert len(problems(write(tmp_path, a=bad, b="x =", c='[[fault]]\nid = "Bad Id"\n'))) > 3


def test_a_root_without_a_rate_is_an_error(tmp_path: Path) -> None:
    text = """
[[fault]]
id = "lid/stuck"
title = "Lid stuck"
plain = "The lid is stuck."
kind = "root"
family = "lid"
component = "lid"
"""
    (found,) = problems(write(tmp_path, faults=text))
    assert "a root fault needs a rate" in found


def test_an_effect_of_two_forms_is_an_error(tmp_path: Path) -> None:
    text = """
[[fault]]
id = "lid/stuck"
title = "Lid stuck"
plain = "The lid is stuck."
kind = "root"
family = "lid"
component = "lid"
rate = { value = 1, basis = "assumed" }
effects = [{ branch = "a.b", do = "open", value = "a.c", to = 1 }]
"""
    (found,) = problems(write(tmp_path, faults=text))
    assert "exactly one of: branch with do; short; value" in found

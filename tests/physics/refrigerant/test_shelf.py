"""Tables are made once, kept, and made again when the file is no good."""

import sys
from pathlib import Path

import numpy as np
import pytest

from catchpan.physics.refrigerant import shelf
from catchpan.physics.refrigerant.shelf import default_cache_folder, refrigerant_table
from catchpan.physics.refrigerant.table import RefrigerantTable

NAME = "R-134a"
AT = np.array([1e6])


@pytest.fixture(autouse=True)
def fresh_memory() -> None:
    shelf._kept.cache_clear()


def _dew(table: RefrigerantTable) -> float:
    return float(table.saturation(AT).dew_k[0])


def test_a_table_read_back_is_the_table_that_was_made(tmp_path: Path) -> None:
    made = refrigerant_table(NAME, tmp_path)
    assert len(list(tmp_path.iterdir())) == 1
    shelf._kept.cache_clear()
    read = refrigerant_table(NAME, tmp_path)
    assert read is not made
    for column in ("lines", "log_pressures", "vapour", "liquid", "vapour_from_entropy"):
        assert np.array_equal(getattr(read, column).values, getattr(made, column).values)
    assert _dew(read) == _dew(made)


def test_the_second_time_in_a_program_it_is_the_same_object(tmp_path: Path) -> None:
    assert refrigerant_table(NAME, tmp_path) is refrigerant_table("r134a", tmp_path)


@pytest.mark.parametrize("damage", ["empty", "cut", "not a number"])
def test_a_damaged_file_is_made_anew(tmp_path: Path, damage: str) -> None:
    good = _dew(refrigerant_table(NAME, tmp_path))
    (file,) = tmp_path.iterdir()
    if damage == "not a number":
        with np.load(file) as kept:
            arrays = {name: kept[name] * np.nan for name in kept.files}
        np.savez(file, allow_pickle=False, **arrays)
    else:
        file.write_bytes(b"" if damage == "empty" else file.read_bytes()[:5000])
    shelf._kept.cache_clear()
    assert _dew(refrigerant_table(NAME, tmp_path)) == good
    shelf._kept.cache_clear()
    assert shelf._read(file, refrigerant_table(NAME, tmp_path).fluid) is not None


def test_another_version_of_coolprop_does_not_use_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    refrigerant_table(NAME, tmp_path)
    shelf._kept.cache_clear()
    monkeypatch.setattr(shelf, "coolprop_version", lambda: "0.0")
    refrigerant_table(NAME, tmp_path)
    assert len(list(tmp_path.iterdir())) == 2


def test_a_folder_that_cannot_be_written_is_no_obstacle(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    assert _dew(refrigerant_table(NAME, blocked / "below")) > 300.0


def test_the_folder_follows_the_users_wish(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "platform", "linux")
    assert default_cache_folder() == tmp_path / "catchpan" / "refrigerants"
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path))
    monkeypatch.setattr(sys, "platform", "win32")
    assert default_cache_folder() == tmp_path / "catchpan" / "refrigerants"

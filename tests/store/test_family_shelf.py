"""Arrays in files: kept whole, refused when damaged, never executed."""

import os
from pathlib import Path

import numpy as np
import pytest

from catchpan.store import family_shelf
from catchpan.store.family_shelf import FolderShelf

ARRAYS = {"a b": np.arange(5.0), "flags": np.array([True, False])}


def test_what_was_put_comes_back(tmp_path: Path) -> None:
    shelf = FolderShelf(tmp_path / "new" / "cache")
    assert shelf.get("k") is None
    shelf.put("k", ARRAYS)
    found = shelf.get("k")
    assert found is not None
    assert {n: a.tolist() for n, a in found.items()} == {n: a.tolist() for n, a in ARRAYS.items()}
    assert [p.name for p in shelf.folder.iterdir()] == ["k.npz"]


@pytest.mark.parametrize("kept", [0, 10, 100, -3])
def test_a_damaged_file_counts_as_missing(tmp_path: Path, kept: int) -> None:
    shelf = FolderShelf(tmp_path)
    shelf.put("k", ARRAYS)
    file = tmp_path / "k.npz"
    file.write_bytes(file.read_bytes()[:kept])
    assert shelf.get("k") is None
    shelf.put("k", ARRAYS)
    assert shelf.get("k") is not None


def test_flipped_bytes_are_noticed(tmp_path: Path) -> None:
    shelf = FolderShelf(tmp_path)
    shelf.put("k", {"a": np.arange(1000.0)})
    file = tmp_path / "k.npz"
    content = bytearray(file.read_bytes())
    for place in range(60, 120):
        content[place] ^= 0xFF
    file.write_bytes(bytes(content))
    assert shelf.get("k") is None


def test_an_array_of_objects_is_not_read(tmp_path: Path) -> None:
    np.savez(tmp_path / "k.npz", a=np.array([{"run": "me"}], dtype=object))
    assert FolderShelf(tmp_path).get("k") is None


def test_a_folder_that_cannot_be_made_keeps_nothing(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    shelf = FolderShelf(tmp_path / "file" / "cache")
    shelf.put("k", ARRAYS)
    assert shelf.get("k") is None


def test_the_oldest_files_make_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(family_shelf, "MOST_FILES", 2)
    shelf = FolderShelf(tmp_path)
    for age, key in ((300, "old"), (200, "used"), (100, "new")):
        shelf.put(key, ARRAYS)
        moment = (tmp_path / f"{key}.npz").stat().st_mtime - age
        os.utime(tmp_path / f"{key}.npz", (moment, moment))
    assert {p.stem for p in tmp_path.iterdir()} == {"used", "new"}
    shelf.get("used")
    shelf.put("newest", ARRAYS)
    assert {p.stem for p in tmp_path.iterdir()} == {"used", "newest"}

from pathlib import Path

import pytest

from catchpan.store.errors import StorageError
from catchpan.store.photo_folder import PhotoFolder
from catchpan.units.errors import BadValue


def test_a_photo_is_kept_and_sending_it_again_changes_nothing(tmp_path: Path) -> None:
    photos = PhotoFolder(tmp_path / "photos")
    assert not photos.has("c1", "p1")
    assert photos.get("c1", "p1") is None
    photos.put("c1", "p1", b"one")
    photos.put("c1", "p1", b"two")
    assert photos.has("c1", "p1")
    assert photos.get("c1", "p1") == b"one"
    assert [f.name for f in (tmp_path / "photos" / "c1").iterdir()] == ["p1.jpg"]


@pytest.mark.parametrize("name", ["../x", "", "a/b", ".hidden", "a" * 65, "x\0"])
def test_a_name_that_leads_elsewhere_is_refused(tmp_path: Path, name: str) -> None:
    photos = PhotoFolder(tmp_path)
    with pytest.raises(BadValue, match="is no id"):
        photos.put(name, "p1", b"one")
    with pytest.raises(BadValue, match="is no id"):
        photos.put("c1", name, b"one")


def test_a_folder_that_refuses_is_told(tmp_path: Path) -> None:
    (tmp_path / "photos").write_text("a file in the way")
    with pytest.raises(StorageError, match="could not be kept"):
        PhotoFolder(tmp_path / "photos").put("c1", "p1", b"one")

from datetime import UTC, datetime
from pathlib import Path

from catchpan.store.set_aside import set_aside

NOW = datetime(2025, 7, 4, 12, 30, 15, tzinfo=UTC)


def test_a_file_is_renamed_with_the_time_and_the_reason_is_told(tmp_path: Path) -> None:
    path = tmp_path / "device-id"
    path.write_text("???")
    notice = set_aside(path, "it is no id", NOW)
    assert not path.exists()
    assert notice.aside.name == "device-id.broken-20250704T123015Z"
    assert notice.aside.read_text() == "???"
    assert "it is no id" in str(notice)


def test_nothing_that_was_set_aside_before_is_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "device-id"
    kept = []
    for text in ("first", "second", "third"):
        path.write_text(text)
        kept.append(set_aside(path, "broken", NOW).aside)
    assert [file.read_text() for file in kept] == ["first", "second", "third"]


def test_the_files_that_belong_to_it_go_along(tmp_path: Path) -> None:
    path = tmp_path / "db"
    path.write_text("main")
    (tmp_path / "db-wal").write_text("log")
    notice = set_aside(path, "broken", NOW, ("-wal", "-shm"))
    assert sorted(file.name for file in tmp_path.iterdir()) == [
        notice.aside.name,
        f"{notice.aside.name}-wal",
    ]

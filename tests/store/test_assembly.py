from datetime import UTC, datetime
from pathlib import Path

import pytest

from catchpan.assembly import (
    DATABASE_NAME,
    DEVICE_NAME,
    SystemClock,
    assemble,
    home_folder,
    prepare_home,
    read_device_id,
)
from catchpan.store.errors import StorageError
from catchpan.units.errors import UnknownName

NOW = datetime(2025, 7, 4, tzinfo=UTC)
USER = Path("/a/house/of/sam")


@pytest.mark.parametrize(
    ("environ", "platform", "expected"),
    [
        ({}, "linux", USER / ".local/share/catchpan"),
        ({"XDG_DATA_HOME": "/data"}, "linux", Path("/data/catchpan")),
        ({"XDG_DATA_HOME": "relative"}, "linux", USER / ".local/share/catchpan"),
        ({"CATCHPAN_HOME": "/shop", "XDG_DATA_HOME": "/data"}, "linux", Path("/shop")),
        ({"CATCHPAN_HOME": ""}, "linux", USER / ".local/share/catchpan"),
        ({"XDG_DATA_HOME": "/data"}, "darwin", USER / "Library/Application Support/catchpan"),
        ({"LOCALAPPDATA": "/local"}, "win32", Path("/local/catchpan")),
        ({}, "win32", USER / "AppData/Local/catchpan"),
    ],
)
def test_the_folder_is_chosen_by_variable_then_by_platform(
    environ: dict[str, str], platform: str, expected: Path
) -> None:
    assert home_folder(environ, platform, USER) == expected


def test_a_relative_folder_is_made_absolute_and_a_tilde_is_the_users(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    assert home_folder({"CATCHPAN_HOME": "shop"}) == tmp_path / "shop"
    assert home_folder({"CATCHPAN_HOME": "~/shop"}) == tmp_path / "shop"


def test_everything_is_made_on_the_first_start_and_found_on_the_second(tmp_path: Path) -> None:
    environ = {"CATCHPAN_HOME": str(tmp_path / "new" / "home")}
    with assemble(environ) as first:
        book = first.call_book()
        call_id = book.open_call({"caller": "tenant"}).call_id
        assert first.notices == ()
    with assemble(environ) as second:
        assert second.device_id == first.device_id
        assert second.call_book().resume(call_id).opened.caller == "tenant"
        assert {path.name for path in second.home.iterdir()} >= {DATABASE_NAME, DEVICE_NAME}


def test_another_database_file_can_be_named(tmp_path: Path) -> None:
    database = tmp_path / "other.sqlite3"
    with assemble({"CATCHPAN_HOME": str(tmp_path / "home")}, database) as opened:
        assert opened.store.path == database
    assert database.exists()
    assert not (tmp_path / "home" / DATABASE_NAME).exists()


def test_the_name_check_reaches_the_call_book(tmp_path: Path) -> None:
    def nothing_is_known(thing: str, name: str) -> None:
        raise UnknownName(thing, name)

    with assemble({"CATCHPAN_HOME": str(tmp_path)}) as opened:
        book = opened.call_book(nothing_is_known)
        with pytest.raises(UnknownName, match="unknown archetype 'x'"):
            book.open_call({"archetype": "x"})


def test_a_folder_that_cannot_be_made_is_told_with_the_way_out(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StorageError, match="CATCHPAN_HOME") as caught:
        assemble({"CATCHPAN_HOME": str(tmp_path / "file" / "home")})
    assert caught.value.exit_code == 6
    assert caught.value.where == str(tmp_path / "file" / "home")


def test_a_folder_that_cannot_be_written_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_args: object, **_kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("tempfile.TemporaryFile", refuse)
    with pytest.raises(StorageError, match="cannot be written: Permission denied"):
        prepare_home(tmp_path)


def test_broken_files_are_set_aside_and_told(tmp_path: Path) -> None:
    environ = {"CATCHPAN_HOME": str(tmp_path)}
    (tmp_path / DEVICE_NAME).write_bytes(b"\xff\xfe oops")
    (tmp_path / DATABASE_NAME).write_bytes(b"oops" * 2000)
    with assemble(environ) as opened:
        assert [notice.path.name for notice in opened.notices] == [DEVICE_NAME, DATABASE_NAME]
        assert opened.store.calls() == ()
    with assemble(environ) as again:
        assert again.notices == ()
        assert again.device_id == opened.device_id


def test_a_device_id_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / DEVICE_NAME).mkdir()
    with pytest.raises(StorageError, match="cannot read the device id"):
        read_device_id(tmp_path, NOW)


def test_the_system_clock_tells_utc() -> None:
    assert SystemClock().now_utc().tzinfo is UTC

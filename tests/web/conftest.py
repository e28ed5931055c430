"""A shop in a folder of its own, with a small family, and devices that talk to its server."""

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from catchpan.calls.known_names import name_check
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.store.photo_folder import PhotoFolder
from catchpan.store.shared import SharedEventStore
from catchpan.store.sqlite import SqliteEventStore
from catchpan.web.application import make_application
from catchpan.web.family_maker import FamilyMaker
from catchpan.web.shop import Shop

TOKEN = "let-me-in"  # noqa: S105 - invented


class StandingClock:
    def now_utc(self) -> datetime:
        return datetime(2025, 7, 4, 15, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder where compiled families are kept for all tests of a process."""
    return tmp_path_factory.mktemp("kept")


@pytest.fixture
def shop(tmp_path: Path, kept: Path) -> Iterator[Shop]:
    clock = StandingClock()
    app_folder = tmp_path / "app"
    app_folder.mkdir()
    with SqliteEventStore(tmp_path / "calls.sqlite3") as store:
        yield Shop(
            book=CallBook(SharedEventStore(store), clock, "server", name_check(catalog())),
            photos=PhotoFolder(tmp_path / "photos"),
            data=catalog(),
            maker=FamilyMaker(kept, catalog(), clock, apart=False, size=Size(1, 150)),
            app_folder=app_folder,
            token=TOKEN,
        )


@pytest.fixture
def stranger(shop: Shop) -> Iterator[TestClient]:
    """A device that was not let in."""
    with TestClient(make_application(shop), follow_redirects=False) as client:
        yield client


@pytest.fixture
def device(stranger: TestClient) -> TestClient:
    """A device that was let in."""
    assert stranger.get(f"/pair/{TOKEN}").status_code == 303
    return stranger


NewDevice = Callable[[], TestClient]

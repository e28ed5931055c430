"""A shop with small families behind a real port, which can go away and come back."""

from __future__ import annotations

import socket
import threading
import time
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

import uvicorn

from catchpan.calls.known_names import name_check
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.store.photo_folder import PhotoFolder
from catchpan.store.shared import SharedEventStore
from catchpan.store.sqlite import SqliteEventStore
from catchpan.web.application import make_application
from catchpan.web.family_maker import FamilyMaker
from catchpan.web.serve import APP
from catchpan.web.shop import Shop
from tools.shell import ROOT

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SIZE: Final = Size(settings=2, pairs=150)
KEPT: Final = ROOT / ".cache" / "families-of-field-tests"
"""Compiled families, kept from one run to the next; they are found by all they depend on."""

HERE: Final = "127.0.0.1"
PATIENCE_S: Final = 20.0


class RealClock:
    def now_utc(self) -> datetime:
        return datetime.now(UTC)


@contextmanager
def small_shop(folder: Path) -> Iterator[Server]:
    """Serve a shop that keeps its calls in a folder."""
    with SqliteEventStore(folder / "calls.sqlite3") as store:
        served = Server(make_shop(store, folder))
        served.start()
        try:
            yield served
        finally:
            served.stop()


def make_shop(store: SqliteEventStore, folder: Path) -> Shop:
    data, clock = catalog(), RealClock()
    return Shop(
        book=CallBook(SharedEventStore(store), clock, "server", name_check(data)),
        photos=PhotoFolder(folder / "photos"),
        data=data,
        maker=FamilyMaker(KEPT, data, clock, size=SIZE),
        app_folder=APP,
    )


@dataclass
class Server:
    """The shop at one port; stopped and started as often as wanted."""

    shop: Shop
    port: int = 0
    _running: uvicorn.Server | None = None
    _thread: threading.Thread = field(default_factory=threading.Thread)

    @property
    def address(self) -> str:
        return f"http://{HERE}:{self.port}"

    def start(self) -> None:
        door = socket.socket()
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        door.bind((HERE, self.port))
        self.port = door.getsockname()[1]
        config = uvicorn.Config(
            make_application(self.shop),
            log_level="warning",
            timeout_graceful_shutdown=1,
        )
        running = uvicorn.Server(config)
        self._thread = threading.Thread(target=running.run, args=([door],), daemon=True)
        self._thread.start()
        until = time.monotonic() + PATIENCE_S
        while not running.started:
            assert time.monotonic() < until, "the server did not start"
            time.sleep(0.02)
        self._running = running

    def stop(self) -> None:
        if self._running is not None:
            self._running.should_exit = True
            self._thread.join(PATIENCE_S)
            self._running = None

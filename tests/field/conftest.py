"""The field app as it is built, on a real server, in a real browser."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

import pytest

from tests.field.device import Device
from tests.field.small_shop import Server, small_shop
from tests.web.browsing import PHONE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser

NewDevice = "Callable[..., Device]"


@pytest.fixture
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with small_shop(tmp_path_factory.mktemp("shop")) as served:
        yield served


@pytest.fixture
def new_device(browser: Browser, server: Server) -> Iterator[Callable[..., Device]]:
    """Make a device: a browser of its own that has never seen the app."""
    with contextlib.ExitStack() as closing:

        def make(size: tuple[int, int] = PHONE, *, saves_data: bool = True) -> Device:
            device = Device(browser, server.address, size, saves_data=saves_data)
            closing.callback(device.close)
            return device

        yield make


@pytest.fixture
def device(new_device: Callable[..., Device]) -> Device:
    return new_device()

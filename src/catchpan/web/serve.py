"""Running the server: the real folder, the code that lets a device in, the address to scan."""

from __future__ import annotations

import contextlib
import os
import secrets
import sys
import threading
import webbrowser
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Final

import uvicorn

from catchpan.calls.known_names import name_check
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.store.errors import StorageError
from catchpan.store.photo_folder import PhotoFolder
from catchpan.store.shared import SharedEventStore
from catchpan.units.errors import CatchpanError
from catchpan.web.address import ANYWHERE, HERE, listening, network_address, qr_code
from catchpan.web.application import make_application
from catchpan.web.family_maker import FamilyMaker
from catchpan.web.shop import Shop

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from socket import socket

    from catchpan.assembly import Assembly

CODE_NAME: Final = "pairing-code"
CODE_BYTES: Final = 16
APP: Final = Path(str(resources.files("catchpan.web"))) / "app"
FARTHEST_CALLS: Final = 20
"""Open calls whose systems are compiled ahead, when the server starts."""


@dataclass(frozen=True)
class Wishes:
    """How to serve.

    Parameters
    ----------
    host : str
        The address to listen at; ``0.0.0.0`` is every network this machine is in.
    port : int
        The port; another free one is taken where it is not.
    certificate, key : Path or None
        Files for HTTPS, both or neither.
    new_code : bool
        Whether devices that were let in before have to be let in again.
    browser : bool
        Whether to open a browser on this machine, where there is one.
    """

    host: str = ANYWHERE
    port: int = 8321
    certificate: Path | None = None
    key: Path | None = None
    new_code: bool = False
    browser: bool = True


def pairing_code(home: Path, *, new: bool = False) -> str:
    """Return the code that lets a device in, made up once and kept where only we can read it.

    Raises
    ------
    StorageError
        When it cannot be kept.
    """
    path = home / CODE_NAME
    try:
        kept = path.read_text().strip() if path.is_file() and not new else ""
        if len(kept) >= CODE_BYTES:
            return kept
        code = secrets.token_urlsafe(CODE_BYTES)
        path.unlink(missing_ok=True)
        with open(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:  # noqa: PTH123 - with rights of its own
            file.write(f"{code}\n")
    except OSError as error:
        raise StorageError(path, f"cannot keep the code: {error.strerror}", "check it") from error
    return code


def shop_of(opened: Assembly, code: str) -> Shop:
    """Return the shop of an opened program."""
    data = catalog()
    store = SharedEventStore(opened.store)
    return Shop(
        book=CallBook(store, opened.clock, opened.device_id, name_check(data)),
        photos=PhotoFolder(opened.home / "photos"),
        data=data,
        maker=FamilyMaker(opened.home / "cache", data, opened.clock),
        app_folder=APP,
        token=code,
    )


def compile_ahead(shop: Shop) -> None:
    """Compile the systems of the open calls, so that nobody waits for them."""
    for line in shop.book.store.calls(FARTHEST_CALLS):
        with contextlib.suppress(CatchpanError):
            if shop.state(line.call_id).closed is None:
                shop.maker.carried(shop.description(line.call_id))


def running_call(shop: Shop) -> str:
    """Return the id of the open call that was worked on last; empty where all are closed."""
    lines = shop.book.store.calls(FARTHEST_CALLS)
    return next((c.call_id for c in lines if shop.state(c.call_id).closed is None), "")


def addresses(wishes: Wishes, port: int, code: str, start: str) -> tuple[str, str]:
    """Return the address for other devices and the one for this machine."""
    scheme = "https" if wishes.certificate else "http"
    outside = network_address() if wishes.host == ANYWHERE else wishes.host
    inside = HERE if wishes.host in {ANYWHERE, HERE} else wishes.host
    there, here = (f"{scheme}://{name}:{port}/pair/{code}?to={start}" for name in (outside, inside))
    return there, here


def greeting(there: str, here: str) -> Sequence[str]:
    """Return the lines that say where the server is."""
    lines = ["catchpan is being served. On this machine:", "", f"    {here}", ""]
    if there != here:
        lines += ["On a phone in the same network, scan the code or open:", "", f"    {there}", ""]
        lines += qr_code(there).splitlines()
    return [
        *lines,
        "The address lets a device in: show it only to those who may see the calls.",
        "Stop with Ctrl-C.",
    ]


def has_screen() -> bool:
    """Whether a browser can be opened here."""
    drawn = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    return bool(drawn) or sys.platform in {"darwin", "win32"}


def serve(opened: Assembly, wishes: Wishes, say: Callable[[str], None]) -> None:
    """Serve until stopped.

    Parameters
    ----------
    opened : Assembly
        The opened program.
    wishes : Wishes
        How to serve.
    say : callable
        Takes each line of what the person should see.

    Raises
    ------
    CatchpanError
        When the address cannot be listened at or the code cannot be kept.
    """
    code = pairing_code(opened.home, new=wishes.new_code)
    shop = shop_of(opened, code)
    with listening(wishes.host, wishes.port, any_port=True) as door:
        call_id = running_call(shop)
        start = f"/field/%23/call/{call_id}" if call_id else "/field/"
        there, here = addresses(wishes, door.getsockname()[1], code, start)
        for line in greeting(there, here):
            say(line)
        threading.Thread(target=compile_ahead, args=(shop,), daemon=True).start()
        if wishes.browser and has_screen():
            threading.Timer(1.0, webbrowser.open, [here]).start()
        run_at(door, shop, wishes)


def run_at(door: socket, shop: Shop, wishes: Wishes) -> None:
    """Answer at a socket until stopped."""
    config = uvicorn.Config(
        make_application(shop),
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=2,
        ssl_certfile=wishes.certificate,
        ssl_keyfile=wishes.key,
    )
    with contextlib.suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[door])

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

from catchpan.calls.known_names import name_check
from catchpan.calls.use_case import CallBook
from catchpan.catalog.load import catalog
from catchpan.store.errors import StorageError
from catchpan.store.photo_folder import PhotoFolder
from catchpan.store.shared import SharedEventStore
from catchpan.units.errors import CatchpanError
from catchpan.web.address import ANYWHERE, HERE, listening, network_address, qr_code
from catchpan.web.application import make_application
from catchpan.web.authority import (
    Authority,
    is_private,
    kept_authority,
    own_names,
    write_secret,
    write_server_files,
)
from catchpan.web.doors import Door, answer_at
from catchpan.web.family_maker import FamilyMaker
from catchpan.web.shop import Secure, Shop

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import datetime

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
        The port; another free one is taken where it is not. The next one is for HTTPS.
    certificate, key : Path or None
        Files for HTTPS, both or neither. With them nothing is answered without HTTPS.
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

    @property
    def outside(self) -> str:
        """The address by which other devices reach this machine."""
        return network_address() if self.host == ANYWHERE else self.host

    @property
    def inside(self) -> str:
        """The address by which this machine reaches itself."""
        return HERE if self.host == ANYWHERE else self.host


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
        write_secret(path, f"{code}\n".encode())
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
                shop.maker.carried_ahead(shop.description(line.call_id))


def running_call(shop: Shop) -> str:
    """Return the id of the open call that was worked on last; empty where all are closed."""
    lines = shop.book.store.calls(FARTHEST_CALLS)
    return next((c.call_id for c in lines if shop.state(c.call_id).closed is None), "")


def open_doors(
    wishes: Wishes, home: Path, authority: Authority, now_utc: datetime
) -> tuple[Door, ...]:
    """Return where to answer: at one port, and at another over HTTPS for phones.

    With a certificate of somebody else's only over that; without one by our own authority, where
    it may vouch for this machine and another machine is meant to reach it.

    Raises
    ------
    CatchpanError
        When an address cannot be listened at or a file not be written.
    """
    if wishes.certificate is not None:
        found = listening(wishes.host, wishes.port, any_port=True)
        return (Door(found, wishes.certificate, wishes.key),)
    plain = Door(listening(wishes.host, wishes.port, any_port=True))
    if wishes.outside == HERE or not is_private(wishes.outside):
        return (plain,)
    names = own_names(wishes.outside)
    certificate, key = write_server_files(home, authority, names, now_utc)
    port = plain.port + 1 if wishes.port else 0
    return plain, Door(listening(wishes.host, port, any_port=True), certificate, key)


def greeting(wishes: Wishes, doors: Sequence[Door], code: str, start: str) -> list[str]:
    """Return the lines that say where the server is."""
    first = doors[0]
    here = f"{first.scheme}://{wishes.inside}:{first.port}/pair/{code}?to={start}"
    page = "phone" if len(doors) > 1 else "pair"
    there = f"{first.scheme}://{wishes.outside}:{first.port}/{page}/{code}?to={start}"
    lines = ["catchpan is being served. On this machine:", "", f"    {here}", ""]
    if wishes.outside != HERE:
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
    code, now_utc = pairing_code(opened.home, new=wishes.new_code), opened.clock.now_utc()
    authority = kept_authority(opened.home, now_utc)
    doors = open_doors(wishes, opened.home, authority, now_utc)
    with contextlib.ExitStack() as closing:
        for door in doors:
            closing.enter_context(door.socket)
        shop = shop_of(opened, code)
        if len(doors) > 1:
            shop.secure = Secure(f"https://{wishes.outside}:{doors[1].port}", authority.pem)
        call_id = running_call(shop)
        start = f"/field/%23/call/{call_id}" if call_id else "/field/"
        for line in greeting(wishes, doors, code, start):
            say(line)
        threading.Thread(target=compile_ahead, args=(shop,), daemon=True).start()
        if wishes.browser and has_screen():
            here = f"{doors[0].scheme}://{wishes.inside}:{doors[0].port}/pair/{code}?to={start}"
            threading.Timer(1.0, webbrowser.open, [here]).start()
        answer_at(doors, make_application(shop))

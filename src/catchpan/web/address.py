"""Where the server is found: this machine's address in its network, and the code to scan."""

from __future__ import annotations

import io
import socket
from typing import ClassVar, Final

import segno

from catchpan.units.errors import EXIT_BAD_INPUT, CatchpanError

MOST_WAITING: Final = 128
"""Connections that wait for the server to begin."""

ANYWHERE: Final = "0.0.0.0"  # noqa: S104 - the phone is another machine
HERE: Final = "127.0.0.1"
SOMEWHERE: Final = ("192.0.2.1", 9)
"""An address for documentation (RFC 5737): the way there starts at our own; nothing is sent."""


class CannotListenError(CatchpanError):
    """The server cannot be reached at the address wanted."""

    exit_code: ClassVar[int] = EXIT_BAD_INPUT

    def __init__(self, host: str, port: int, problem: OSError) -> None:
        super().__init__(
            f"cannot listen at {host}, port {port}: {problem.strerror}",
            hint="name another port with --port, or an address of this machine with --host",
        )


def network_address() -> str:
    """Return this machine's address in its network; the loopback's where it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(SOMEWHERE)
            found = str(probe.getsockname()[0])
        except OSError:
            return HERE
    return found if found != ANYWHERE else HERE


def listening(host: str, port: int, *, any_port: bool) -> socket.socket:
    """Return a socket that listens at a host and a port, or at any free port for a taken one.

    Raises
    ------
    CannotListenError
        When the host is not ours, or the port is taken and no other will do.
    """
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    for wanted in (port, 0) if any_port else (port,):
        try:
            found.bind((host, wanted))
            found.listen(MOST_WAITING)
        except OSError as error:
            problem = error
        else:
            return found
    found.close()
    raise CannotListenError(host, port, problem)


def qr_code(address: str) -> str:
    """Return an address as a QR code in characters, two dots to a character."""
    drawn = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out=drawn, compact=True, border=2)
    return drawn.getvalue()

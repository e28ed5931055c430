"""Answering at several sockets at once, until a person stops it."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import signal
from dataclasses import dataclass
from typing import TYPE_CHECKING

import uvicorn

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path
    from socket import socket

    from fastapi import FastAPI


@dataclass(frozen=True)
class Door:
    """A socket to answer at; over HTTPS where it has a certificate and a key."""

    socket: socket
    certificate: Path | None = None
    key: Path | None = None

    @property
    def port(self) -> int:
        """The port it listens at."""
        return int(self.socket.getsockname()[1])

    @property
    def scheme(self) -> str:
        """``http`` or ``https``."""
        return "https" if self.certificate else "http"


class _Server(uvicorn.Server):
    """A server that leaves signals to whoever runs several of them."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


class CutOff(logging.Filter):
    """Keeps quiet about answers that stopping cut off: whoever stopped the server knows."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether a line is to be shown."""
        error = record.exc_info[1] if record.exc_info else None
        said = record.getMessage()
        return not isinstance(error, asyncio.CancelledError) and "graceful shutdown" not in said


def answer_at(doors: Sequence[Door], app: FastAPI) -> None:
    """Answer at all doors until interrupted or terminated; the application begins and ends once."""
    servers = [_Server(_config(door, app, first=door is doors[0])) for door in doors]
    logging.getLogger("uvicorn.error").addFilter(CutOff())
    asyncio.run(_together(servers, doors))


def _config(door: Door, app: FastAPI, *, first: bool) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        lifespan="on" if first else "off",
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_graceful_shutdown=2,
        ssl_certfile=door.certificate,
        ssl_keyfile=door.key,
    )


async def _together(servers: Sequence[uvicorn.Server], doors: Sequence[Door]) -> None:
    def stop(*_: object) -> None:
        for server in servers:
            server.should_exit = True

    for wanted in (signal.SIGINT, signal.SIGTERM):
        signal.signal(wanted, stop)
    pairs = zip(servers, doors, strict=True)
    await asyncio.gather(*(server.serve(sockets=[door.socket]) for server, door in pairs))

"""The demo's call from complaint to summary, with and without signal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from catchpan.calls.trail import fold
from tests.field.demo_call import DemoCall
from tests.field.device import PATIENCE_MS
from tests.web.browsing import SIZES

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.calls.state import CallState
    from tests.field.device import Device
    from tests.field.small_shop import Server

ROOTS = {"low-voltage/short-yc-outdoor", "capacitor/herm-open"}


def _closed(device: Device, server: Server) -> CallState:
    """Return the one call as the server knows it, once it is told of the end, or as it is then."""
    for _ in range(PATIENCE_MS // 250):
        (line,) = server.shop.book.store.calls()
        state = fold(server.shop.book.trail(line.call_id))
        if state.closed is not None:
            break
        device.page.wait_for_timeout(250)
    return state


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_demo_call_from_complaint_to_summary(
    new_device: Callable[..., Device], server: Server, size: tuple[int, int]
) -> None:
    device, call = new_device(size), DemoCall()
    call.begin(device)
    kinds: set[str] = set()

    def looked_at(seen: Device) -> bool:
        kind = seen.step()[0]
        if kind not in kinds:
            kinds.add(kind)
            assert seen.findings() == [], kind
        return False

    call.play(device, looked_at)
    assert kinds >= {"ask", "look", "measure", "repair", "prove"}
    call.finish(device)
    assert device.findings() == []
    for name in ("Why", "Drawings", "Known"):
        device.tab(name)
        assert device.findings() == [], name
    assert device.complaints.found == []
    state = _closed(device, server)
    assert state.closed is not None
    assert state.closed.outcome == "fixed"
    assert set(state.closed.causes) & ROOTS
    assert not call.home.conditions & ROOTS
    assert call.home.works()


def test_without_signal_from_the_arrival_on_and_after_the_browser_was_closed(
    new_device: Callable[..., Device], server: Server
) -> None:
    device, call = new_device(), DemoCall()
    call.begin(device)
    device.page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    call.play(device, lambda seen: seen.heading().startswith("What it may be"))
    device.page.wait_for_timeout(1500)
    server.stop()
    device.context.set_offline(True)
    call.play(device, lambda seen: seen.step()[0] == "repair")
    step, facts, address = device.step(), device.facts(), device.page.url
    device.page.close()
    device.page = device.context.new_page()
    device.page.goto(address)
    device.page.wait_for_selector("[data-step]")
    assert device.step() == step
    assert device.facts() == facts
    call.play(device)
    call.finish(device)
    assert "What was wrong" in device.page.locator("main").inner_text()
    entered = len(device.known())
    server.start()
    device.context.set_offline(False)
    device.page.locator(".signal.there").wait_for()
    state = _closed(device, server)
    assert state.closed is not None
    said = [e for e in state.timeline if e.body.kind != "call_opened"]
    assert len(said) + 1 == entered  # the opening is one line of what is known
    assert not call.home.conditions & ROOTS

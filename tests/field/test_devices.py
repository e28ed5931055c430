"""Two devices on one call, undo, a call that begins without signal, what the phone refuses."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from catchpan.calls.carried.container import FORM
from tests.field.device import COMPILING_MS

if TYPE_CHECKING:
    from collections.abc import Callable

    from tests.field.device import Device
    from tests.field.small_shop import Server

KIND = "Air conditioner with gas furnace, not condensing"
FIRST_KIND = "Air conditioner with electric air handler"
POLLING_MS = 500

SPOIL = """
() => new Promise((resolve, reject) => {
  const opening = indexedDB.open('catchpan');
  opening.onsuccess = () => {
    const store = opening.result.transaction('compiled', 'readwrite').objectStore('compiled');
    const all = store.getAll();
    all.onsuccess = () => {
      for (const one of all.result) {
        new Uint8Array(one.bytes)[one.bytes.byteLength - 9] ^= 1;
        store.put(one);
      }
      store.transaction.oncomplete = () => { opening.result.close(); resolve(all.result.length); };
    };
  };
  opening.onerror = reject;
})
"""
AGE = """
form => new Promise((resolve, reject) => {
  const opening = indexedDB.open('catchpan');
  opening.onsuccess = () => {
    const store = opening.result.transaction('compiled', 'readwrite').objectStore('compiled');
    const all = store.getAll();
    all.onsuccess = () => {
      for (const one of all.result) {
        new DataView(one.bytes).setUint32(8, form, true);
        store.put(one);
      }
      store.transaction.oncomplete = () => { opening.result.close(); resolve(all.result.length); };
    };
  };
  opening.onerror = reject;
})
"""
OLDEN = """
hash => new Promise((resolve, reject) => {
  const opening = indexedDB.open('catchpan');
  opening.onsuccess = () => {
    const store = opening.result.transaction('facts', 'readwrite').objectStore('facts');
    const asked = store.get('catalog');
    asked.onsuccess = () => {
      const found = asked.result.catalog;
      if (hash) store.put({ ...asked.result, catalog: hash }, 'catalog');
      store.transaction.oncomplete = () => { opening.result.close(); resolve(found); };
    };
  };
  opening.onerror = reject;
})
"""
"""Gives the hash of the catalog that is kept; with another it is kept as that one's."""
SKEWED = """
const Real = Date, off = HOURS * 3600e3;
globalThis.Date = class extends Real {
  constructor(...given) { given.length ? super(...given) : super(Real.now() + off); }
  static now() { return Real.now() + off; }
};
"""
COUNT_KINDS = """
() => new Promise(resolve => {
  const opening = indexedDB.open('catchpan');
  opening.onsuccess = () => {
    const asked = opening.result.transaction('compiled').objectStore('compiled').count();
    asked.onsuccess = () => { opening.result.close(); resolve(asked.result); };
  };
})
"""
FULL = """
const put = IDBObjectStore.prototype.put;
IDBObjectStore.prototype.put = function (...given) {
  if (this.name === window.noRoom) throw new DOMException('', 'QuotaExceededError');
  return put.apply(this, given);
};
"""


def test_two_devices_meet_on_one_call(new_device: Callable[..., Device]) -> None:
    one, two = new_device(), new_device()
    one.begin(KIND)
    one.page.wait_for_timeout(800)
    two.open()
    two.page.locator("ul.calls a").first.click()
    two.page.wait_for_selector("[data-step]")
    assert two.step() == one.step()
    one.context.set_offline(True)
    two.context.set_offline(True)
    for device, words in ((one, "Written by the first"), (two, "Written by the second")):
        device.press("Photo, note")
        device.field("Note").fill(words)
        device.press("Keep it")
        device.page.wait_for_selector("[data-step]")
    for device in (one, two):
        device.context.set_offline(False)
        device.page.evaluate("dispatchEvent(new Event('online'))")
        device.page.wait_for_timeout(1000)
    one.page.evaluate("dispatchEvent(new Event('online'))")
    one.page.wait_for_timeout(1000)
    known = one.known()
    assert known == two.known()
    assert sum("Written by" in line for line in known) == 2


def test_undo_takes_back_the_last_answer_and_only_that(device: Device) -> None:
    device.begin(KIND)
    step, facts = device.step(), device.facts()
    answers = device.page.locator("[data-answer]")
    device.after(answers.last.click)
    assert device.facts() != facts
    device.after(lambda: device.press("Undo"))
    assert (device.step(), device.facts()) == (step, facts)


def test_a_call_begins_without_signal_on_a_site_never_seen(
    new_device: Callable[..., Device], server: Server
) -> None:
    device = new_device(saves_data=False)
    device.open()
    device.page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    for _ in range(COMPILING_MS // POLLING_MS):
        if device.page.evaluate(COUNT_KINDS):
            break
        device.page.wait_for_timeout(POLLING_MS)
    server.stop()
    device.context.set_offline(True)
    device.page.reload()
    device.begin(FIRST_KIND)
    device.arrive()
    assert device.step()[0] in {"look", "measure", "ask"}
    device.after(device.page.locator("[data-answer]").first.click)


def test_a_damaged_compiled_call_is_refused_and_fetched_anew(device: Device) -> None:
    device.begin(KIND)
    step, address = device.step(), device.page.url
    device.page.goto("about:blank")
    device.open()
    assert device.page.evaluate(SPOIL) == 1
    device.page.goto("about:blank")
    device.page.goto(address)
    alert = device.page.get_by_role("alert")
    alert.wait_for()
    assert "damaged" in alert.inner_text()
    assert "Load the call again" in alert.inner_text()
    device.press("Understood")
    device.page.wait_for_selector("[data-step]")
    assert device.step() == step


def test_a_newer_compiled_call_is_refused_and_the_way_out_is_said(
    device: Device, server: Server
) -> None:
    device.begin(KIND)
    step, address = device.step(), device.page.url
    device.page.goto("about:blank")
    device.open()
    device.page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    assert device.page.evaluate(AGE, FORM + 1) == 1
    device.page.goto("about:blank")
    server.stop()
    device.context.set_offline(True)
    device.page.goto(address)
    alert = device.page.get_by_role("alert")
    alert.wait_for()
    assert "newer catchpan" in alert.inner_text()
    assert "with signal" in alert.inner_text()
    device.page.locator("main").get_by_text("There is no signal").first.wait_for()
    assert device.page.get_by_role("link", name="Back to the calls").count() == 1
    assert device.findings() == []
    server.start()
    device.context.set_offline(False)
    device.page.goto("about:blank")
    device.page.goto(address)
    device.page.wait_for_selector("[data-step]", timeout=COMPILING_MS)
    assert device.step() == step


def test_texts_of_an_older_server_are_replaced_when_there_is_signal(device: Device) -> None:
    device.begin(KIND)
    step, address = device.step(), device.page.url
    device.page.goto(f"{device.address}/")  # the office: no app runs there that would mend it
    right = device.page.evaluate(OLDEN, "")
    assert device.page.evaluate(OLDEN, "of an older server") == right
    assert device.page.evaluate(OLDEN, "") == "of an older server"
    device.page.goto("about:blank")
    device.page.goto(address)
    device.page.wait_for_selector("[data-step]", timeout=COMPILING_MS)
    device.page.locator(".signal.there").wait_for()
    assert device.page.evaluate(OLDEN, "") == right
    assert device.step() == step
    assert device.complaints.found == []


@pytest.mark.parametrize("hours", [-30, 30], ids=["behind", "ahead"])
def test_a_wrong_clock_does_not_reorder_causes_and_effects(
    new_device: Callable[..., Device], hours: int
) -> None:
    one, two = new_device(), new_device()
    two.context.add_init_script(SKEWED.replace("HOURS", str(hours)))
    one.begin(KIND)
    one.page.wait_for_timeout(800)
    two.open(f"#/call/{one.page.url.rpartition('/')[2]}")
    two.page.wait_for_selector("[data-step]")
    for turn, device in enumerate((two, one, two)):
        device.page.evaluate("dispatchEvent(new Event('online'))")
        device.page.wait_for_timeout(1000)
        device.press("Photo, note")
        device.field("Note").fill(f"Said as number {turn}")
        device.press("Keep it")
        device.page.wait_for_selector("[data-step]")
        device.page.wait_for_timeout(800)
    for device in (one, two):
        device.page.evaluate("dispatchEvent(new Event('online'))")
        device.page.wait_for_timeout(1000)
        known = "\n".join(device.known())
        assert re.findall(r"Said as number (\d)", known) == ["2", "1", "0"]


def test_a_full_device_says_so_and_keeps_what_was_typed(device: Device) -> None:
    device.context.add_init_script(FULL)
    device.begin(KIND)
    device.press("Photo, note")
    device.page.evaluate("window.noRoom = 'events'")
    device.field("Note").fill("Stain above the hall")
    device.press("Keep it")
    alert = device.page.get_by_role("alert")
    alert.wait_for()
    assert "no room left" in alert.inner_text()
    assert device.field("Note").input_value() == "Stain above the hall"


def test_a_device_too_full_for_a_compiled_call_goes_on_while_there_is_signal(
    device: Device,
) -> None:
    device.context.add_init_script(FULL + "window.noRoom = 'compiled';")
    device.begin(KIND)
    alert = device.page.get_by_role("alert")
    alert.wait_for()
    assert "no room left" in alert.inner_text()
    device.press("Understood")
    first = device.step()
    assert first[0] == "ask"
    device.after(device.page.locator("[data-answer]").last.click)
    assert device.step() != first

"""A whole call without touching the screen: Tab, arrows, Enter, and what is typed."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from tests.field.demo_call import KIND, DemoCall
from tests.field.device import COMPILING_MS, Device

if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from tests.field.small_shop import Server

MOST_TABS = 250
SAYS = """
words => {
  const e = document.activeElement;
  if (!e || !['BUTTON', 'A', 'SUMMARY'].includes(e.tagName)) return false;
  return (e.innerText || e.ariaLabel || '').includes(words);
}
"""
HAS = "wanted => document.activeElement?.matches(wanted) ?? false"
CHOICE = "document.activeElement.closest('label')?.innerText ?? ''"


class Keyboard(Device):
    """A device of which only the keys are used."""

    def reach(self, test: str, wanted: str) -> None:
        """Press Tab until what is wanted has the focus."""
        for _ in range(MOST_TABS):
            if self.page.evaluate(test, wanted):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{wanted!r} is not reached by the keyboard")

    def press(self, words: str) -> None:
        self.reach(SAYS, words)
        self.page.keyboard.press("Enter")

    def choose(self, name: str, label: str) -> None:
        self.reach(HAS, f"input[name={name}]")
        for _ in range(MOST_TABS):
            if label in self.page.evaluate(CHOICE):
                self.page.keyboard.press("Space")
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"{label!r} is not reached by the keyboard")

    def answer(self, value: str) -> None:
        if self.page.locator(f"[data-answer='{value}']").count():
            self.reach(HAS, f"[data-answer='{value}']")
            self.after(functools.partial(self.page.keyboard.press, "Enter"))
            return
        if value == "OL":
            self.after(lambda: self.press("It shows OL"))
            return
        self.reach(HAS, ".number input")
        self.page.keyboard.type(value.split(maxsplit=1)[0])
        self.after(functools.partial(self.page.keyboard.press, "Enter"))

    def write(self, field: str, words: str) -> None:
        """Type into a field."""
        self.reach(HAS, field)
        self.page.keyboard.type(words)


def test_a_whole_call_by_keyboard_alone(browser: Browser, server: Server) -> None:
    device, call = Keyboard(browser, server.address, (390, 844), saves_data=True), DemoCall()
    try:
        begin(device, call)
        call.play(device)
        device.press("Finish the call")
        device.wait_for("Finish the call")
        for words in ("All right here", "Nothing got wet"):
            while device.page.get_by_role("button", name=words).count():
                device.after(functools.partial(device.press, words))
        device.reach(HAS, "section[aria-label='How the call ends'] button")
        device.page.keyboard.press("Enter")
        device.wait_for("Summary")
        assert device.complaints.found == []
        assert call.home.works()
    finally:
        device.close()


def begin(device: Keyboard, call: DemoCall) -> None:
    """Begin the demo's call."""
    device.open()
    device.press("Begin a call")
    device.page.wait_for_selector("#words")
    device.write("#words", call.script["caller"]["words"])
    device.choose("season", "Cooling")
    device.choose("kind", KIND)
    device.choose("location", "Basement")
    device.write("#age", f"{call.script['system']['age_years']}")
    device.press("Go on")
    device.wait_for("Is any of this so right now?", COMPILING_MS)
    device.press("None of these")
    device.page.wait_for_selector("[data-step]", timeout=COMPILING_MS)

"""The demo's call on a device: its hidden home answers every step."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from catchpan.catalog.load import catalog
from catchpan.cli.player import home_of, read_script

if TYPE_CHECKING:
    from collections.abc import Callable

    from catchpan.calls.hidden_home import HiddenHome
    from tests.field.device import Device

MOST_STEPS: Final = 90
KIND: Final = "Air conditioner with condensing gas furnace"


class DemoCall:
    """Plays the demo's call on devices; the home remembers what was repaired."""

    def __init__(self) -> None:
        self.script: dict[str, Any] = read_script()
        self.home: HiddenHome = home_of(self.script, catalog())
        self.steps: list[tuple[str, str]] = []

    def begin(self, device: Device) -> None:
        """Begin the call as the caller tells it."""
        device.open()
        device.press("Begin a call")
        device.page.fill("#words", self.script["caller"]["words"])
        self._tick(device, "Thermostat display")
        device.choose("season", "Cooling")
        device.choose("kind", KIND)
        device.choose("location", "Basement")
        device.page.fill("#age", f"{self.script['system']['age_years']}")
        device.page.fill("#caller", self.script["caller"]["caller"])
        device.page.fill("#address", self.script["caller"]["address"])
        device.press("Go on")
        device.no_danger()

    @staticmethod
    def _tick(device: Device, title: str) -> None:
        found = device.page.locator(f"label:has-text('{title}') input[type=checkbox]")
        if found.count():
            found.first.check(force=True)

    def play(self, device: Device, until: Callable[[Device], bool] | None = None) -> None:
        """Answer step after step, to the end or until something holds."""
        for _ in range(MOST_STEPS):
            if until is not None and until(device):
                return
            kind, target = device.step()
            self.steps.append((kind, target))
            if device.heading().startswith("What it may be"):
                device.after(lambda: device.press("I have arrived"))
                continue
            if target == "leave":
                return
            self._answer(device, kind, target)
        raise AssertionError(f"no end after {MOST_STEPS} steps: {self.steps[-5:]}")

    def _answer(self, device: Device, kind: str, target: str) -> None:
        match kind:
            case "ask" | "look" | "measure":
                shown = self.home.shows(target)
                if shown is None:
                    device.after(lambda: device.press("t now"))
                else:
                    device.answer(shown)
            case "repair":
                device.answer("worked" if self.home.repair(target) else "did_not")
            case "prove":
                works = "pass" if self.home.works() else "fail"
                device.answer(works if target == "system" else self.home.proves(target))
            case _:
                raise AssertionError(f"nothing says what to do at {kind} {target}")

    @staticmethod
    def finish(device: Device) -> None:
        """Go through what comes before the end, and close the call."""
        device.press("Finish the call")
        device.wait_for("Finish the call")
        while device.page.get_by_role("button", name="All right here").count():
            device.after(lambda: device.press("All right here"))
        if device.page.get_by_role("button", name="Nothing got wet").count():
            device.after(lambda: device.press("Nothing got wet"))
        device.page.locator("section[aria-label='How the call ends'] button").first.click()
        device.wait_for("Summary")

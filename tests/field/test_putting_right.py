"""What must not wait and what can be put right: dangers, odd numbers, what is settled later."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.field.device import COMPILING_MS

if TYPE_CHECKING:
    from tests.field.device import Device

KIND = "Air conditioner with gas furnace, not condensing"
OUTDOOR = "panel/outdoor-air"
NAMEPLATE = "option/refrigerant"
TOLD = "Is any of this so right now?"


def test_dangers_are_asked_and_answered_while_the_system_is_compiled(device: Device) -> None:
    device.page.route("**/compiled*", lambda route: route.abort())
    begin(device)
    device.wait_for(TOLD)
    assert device.page.locator("nav.tabs").count() == 0
    assert device.findings() == []
    device.press("Do you smell gas")
    device.wait_for("Stop, and get out of the danger")
    assert "call the gas company" in device.page.locator("main").inner_text()
    assert device.findings() == []
    device.press("Made safe by phone; going there")
    device.wait_for("One moment")
    device.page.unroute("**/compiled*")
    device.page.evaluate("dispatchEvent(new Event('online'))")
    device.page.wait_for_selector("[data-step]", timeout=COMPILING_MS)
    device.wait_for("What it may be, and what to take along")
    assert "Made safe by phone" in device.page.locator("main .caution").first.inner_text()
    assert device.findings() == []
    device.press("I have arrived")
    device.wait_for("Stop, and get out of the danger")
    assert "look for yourself" in device.page.locator("main").inner_text()
    device.press("I am on site and have dealt with it")
    device.page.wait_for_selector("[data-step]")


def test_undo_takes_back_none_of_these_at_once(device: Device) -> None:
    device.begin(KIND)
    device.press("Undo")
    device.wait_for(TOLD)


def test_a_number_that_cannot_be_is_asked_back_and_an_entered_one_is_replaced(
    device: Device,
) -> None:
    device.begin(KIND)
    device.arrive()
    call = device.page.evaluate("location.hash").split("/")[2]
    assert "catchpan" in device.page.title() != "catchpan"
    enter_at(device, call, OUTDOOR, "350 F")
    note = device.page.locator("form .wrong")
    assert "outside" in note.inner_text()
    assert device.page.locator(".number input").input_value() == "350 F"
    assert device.findings() == []
    device.press("Enter it all the same")
    device.page.wait_for_selector("[data-step]")
    enter_at(device, call, OUTDOOR, "95")
    device.page.wait_for_selector("[data-step]")
    known = [line for line in device.known() if "Outdoor" in line]
    assert len(known) == 1, known
    assert "95 °F" in known[0]
    device.tab("Step")
    device.press("Undo")
    known = [line for line in device.known() if "Outdoor" in line]
    assert len(known) == 1, known
    assert "350 °F" in known[0]
    enter_at(device, call, OUTDOOR, "96", replaces=False)
    device.page.wait_for_selector("[data-step]")
    assert len([line for line in device.known() if "Outdoor" in line]) == 2


def test_what_the_nameplate_says_is_compiled_anew(device: Device) -> None:
    device.begin(KIND)
    device.arrive()
    call = device.page.evaluate("location.hash").split("/")[2]
    device.open(f"#/call/{call}/find/{NAMEPLATE.replace('/', '%2F')}")
    with device.page.expect_response("**/compiled", timeout=COMPILING_MS):
        device.page.locator("[data-answer='r22']").click()
    device.page.get_by_text("Worked out anew").wait_for(timeout=COMPILING_MS)
    device.open(f"#/call/{call}/drawings/cycle")
    device.page.locator("table.numbers").wait_for(timeout=COMPILING_MS)
    assert "R-22" in device.page.locator("main").inner_text()
    assert "R-410A" not in device.page.locator("figure").inner_text()


def begin(device: Device) -> None:
    device.open()
    device.press("Begin a call")
    device.choose("season", "Cooling")
    device.choose("kind", KIND)
    device.press("Go on")


def enter_at(device: Device, call: str, check: str, number: str, *, replaces: bool = True) -> None:
    """Enter a number of a check, whatever the present step is."""
    device.page.goto("about:blank")
    device.open(f"#/call/{call}/find/{check.replace('/', '%2F')}")
    field = device.page.locator(".number input")
    field.wait_for()
    if not replaces:
        device.page.get_by_label("Replace the earlier reading").uncheck()
    field.fill(number)
    device.press("Enter the reading")

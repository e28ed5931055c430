"""What people type and press: wrong inputs, the keyboard alone, readings out of order."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PIL import Image

from catchpan.diagnosis.cases.symptom_search import search_symptoms
from tests.field.device import COMPILING_MS

if TYPE_CHECKING:
    from pathlib import Path

    from tests.field.device import Device

KIND = "Air conditioner with gas furnace, not condensing"


def test_a_wrong_age_is_told_beside_the_field_and_nothing_is_lost(device: Device) -> None:
    device.open("#/new")
    device.page.fill("#words", "no cooling")
    device.page.fill("#age", "old")
    device.press("Go on")
    note = device.page.locator("#age-note")
    assert "not a number of years" in note.inner_text()
    assert device.page.locator("#age").get_attribute("aria-invalid") == "true"
    assert device.page.input_value("#words") == "no cooling"
    assert device.findings() == []
    device.page.fill("#age", "180")
    device.press("Go on")
    assert "from 0 to 80" in note.inner_text()


def test_readings_out_of_order_and_numbers_that_cannot_be(device: Device) -> None:
    device.begin(KIND)
    device.arrive()
    before = device.facts()
    device.press("Something else")
    device.field("What did you look at").fill("volts contactor coil")
    assert device.findings() == []
    device.page.get_by_role("link", name="Voltage at the contactor coil").click()
    number = device.page.locator(".number input")
    for typed, said in (("warm", "not a number"), ("", "Nothing entered"), ("99999", "more than")):
        number.fill(typed)
        device.press("Enter the reading")
        assert said in device.page.locator("form .wrong").inner_text()
        assert number.input_value() == typed
    number.fill("24,6")
    device.press("Enter the reading")
    device.page.wait_for_selector("[data-step]")
    assert device.facts() != before
    assert any("Voltage at the contactor coil: 24.6 V" in line for line in device.known())


def test_photos_are_kept_and_other_files_are_not(device: Device, tmp_path: Path) -> None:
    device.begin(KIND)
    device.press("Photo, note")
    text = tmp_path / "list.txt"
    text.write_text("no picture")
    device.page.set_input_files("#photo", text)
    assert "not an image" in device.page.get_by_role("alert").inner_text()
    picture = tmp_path / "pan.png"
    Image.new("RGB", (2400, 1200), "steelblue").save(picture)
    device.page.set_input_files("#photo", picture)
    device.page.get_by_alt_text("The photo to be kept").wait_for()
    device.field("Note").fill("Pan, full to the rim")
    device.press("Keep it")
    device.page.wait_for_selector("[data-step]")
    device.tab("Known")
    shown = device.page.get_by_alt_text("Pan, full to the rim")
    shown.wait_for()
    assert shown.evaluate("image => [image.naturalWidth, image.naturalHeight]") == [1600, 800]
    assert device.findings() == []


def test_a_danger_stops_the_call_until_it_is_dealt_with(device: Device) -> None:
    device.open()
    device.press("Begin a call")
    device.choose("kind", KIND)
    device.press("Go on")
    device.wait_for("Is any of this so right now?")
    assert device.findings() == []
    device.press("Do you smell gas")
    device.wait_for("Stop, and get out of the danger")
    assert "call the gas company" in device.page.locator("main").inner_text()
    assert device.findings() == []
    device.after(lambda: device.press("That was entered by mistake"))
    device.page.wait_for_selector("[data-step]", timeout=COMPILING_MS)
    assert device.step()[0] == "ask"


def test_a_call_by_keyboard_alone(device: Device) -> None:
    device.open()
    keys = device.page.keyboard
    reach(device, "Begin a call")
    keys.press("Enter")
    device.page.wait_for_selector("#words")
    device.page.wait_for_function("() => document.activeElement.tagName === 'H1'")
    keys.press("Tab")
    keys.type("no cooling")
    reach(device, "Go on")
    keys.press("Enter")
    device.wait_for("Is any of this so right now?")
    reach(device, "None of these")
    keys.press("Enter")
    device.page.wait_for_selector("[data-step]", timeout=COMPILING_MS)
    first = device.step()
    device.page.wait_for_function("() => document.activeElement.tagName === 'H1'")
    keys.press("Tab")
    keys.press("Enter")
    device.page.wait_for_function(
        "step => document.querySelector('[data-step]')?.dataset.step !== step", arg=first[1]
    )


def reach(device: Device, words: str) -> None:
    """Press Tab until what says so has the focus."""
    for _ in range(60):
        device.page.keyboard.press("Tab")
        focused = device.page.evaluate("document.activeElement.innerText ?? ''")
        if words in focused and len(focused) < 3 * len(words):
            return
    raise AssertionError(f"{words!r} is not reached by the keyboard")


def test_a_system_taken_for_another_is_put_right(device: Device) -> None:
    device.begin(KIND)
    device.tab("Known")
    device.press("The call and its system")
    device.choose("kind", "Heat pump with air handler")
    device.page.get_by_label("Is there a capped tee").select_option(label="Yes")
    device.field("Address").fill("The brick house")
    assert device.findings() == []
    device.press("Keep this")
    device.page.wait_for_selector("[data-step]", timeout=COMPILING_MS)
    device.page.get_by_text("Working out").wait_for(state="detached")
    known = "\n".join(device.known())
    assert "Heat pump with air handler" in known
    assert "The brick house" in known


SAYINGS = (
    "The house is hot and the thermostat screen is blank since the lawn was mowed yesterday",
    "water dripping from the ceiling under the attic, and the ac won't come on",
    "the thing outside just hums and doesn't spin",
    "blowing warm air; furnce trips the breaker every time",
)


@pytest.mark.parametrize("words", SAYINGS)
def test_a_callers_words_are_understood_as_python_understands_them(
    device: Device, words: str
) -> None:
    found = search_symptoms(words, archetype="air-conditioner-furnace", limit=20)
    fitting = [match for match in found if match.answer_id]
    wanted = [m for m in fitting if m.score >= 0.6 * fitting[0].score][:6]
    device.open("#/new")
    device.page.wait_for_selector("#words")
    device.choose("kind", KIND)
    device.page.fill("#words", words)
    ticks = device.page.locator("label:has(input[type=checkbox])")
    ticks.first.wait_for()
    assert ticks.all_inner_texts() == [f"{m.title}: {m.label}" for m in wanted]

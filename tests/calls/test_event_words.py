"""Events as lines a person reads."""

from catchpan.calls.body import PhotoTaken, SystemDescribed
from catchpan.calls.event_words import event_words
from catchpan.catalog.load import catalog


def test_a_system_is_told_by_titles_and_what_nobody_knows_by_its_name() -> None:
    said = SystemDescribed(
        settings={"float_switch": "in_r", "spare_part": "unknown"}, archetype="igloo"
    )
    words = event_words(catalog(), said)
    switch = "Where the drain's float switch is wired: Breaks R"
    assert words == f"System: igloo; {switch}; spare part: unknown"


def test_a_photo_is_told_by_its_words() -> None:
    assert event_words(catalog(), PhotoTaken(photo_id="p1", words="the pan")) == "Photo: the pan"
    assert event_words(catalog(), PhotoTaken(photo_id="p1")) == "Photo: no words"

"""What is not worth anybody's time."""

from catchpan.calls.use_case import Answer, CallBook
from catchpan.catalog.load import catalog
from catchpan.diagnosis.planning.practice import out_of_season, practice_of
from catchpan.diagnosis.planning.worthwhile import idle_repairs
from tests.calls.one_home import guide_of, on_site, open_call


def test_nobody_is_asked_to_try_heat_in_summer() -> None:
    found = out_of_season(catalog(), "cooling")
    assert {"complaint/no-heat", "phone/heating-works"} <= found
    assert "complaint/no-cooling" not in found
    assert "phone/display-lit" not in found


def test_cooling_is_left_alone_in_winter() -> None:
    found = out_of_season(catalog(), "heating")
    assert "complaint/no-cooling" in found
    assert "complaint/no-heat" not in found


def test_trouble_with_both_leaves_every_question() -> None:
    assert out_of_season(catalog(), None) == frozenset()


def test_one_thing_is_not_asked_twice_in_other_words() -> None:
    found = practice_of(catalog(), None).answered_alike(
        frozenset({"complaint/outdoor-fan-not-turning"})
    )
    assert "phone/outdoor-fan" in found
    assert "complaint/outdoor-fan-not-turning" not in found
    assert "phone/compressor-sound" not in found


def test_history_is_never_alike() -> None:
    history = {c.id for c in catalog().checks.values() if c.observe.quantity == "history"}
    assert not practice_of(catalog(), None).answered_alike(frozenset(history))


def test_a_caller_who_got_it_going_is_let_try_nothing_more(book: CallBook) -> None:
    open_call(book)
    state = book.do_repair("c1", "phone/set-thermostat", "worked")
    belief = guide_of(state).belief
    assert idle_repairs(belief, on_phone=True) == frozenset(belief.family.repairs)


def test_a_try_that_no_world_needs_is_idle_and_a_likely_one_is_not(book: CallBook) -> None:
    on_site(book)
    state = book.take_reading("c1", "complaint/thermostat-blank", Answer("lit"))
    state = book.take_reading("c1", "phone/fan-on-blower", Answer("turning"))
    state = book.take_reading("c1", "phone/outdoor-fan", Answer("humming"))
    idle = idle_repairs(guide_of(state).belief, on_phone=False)
    assert "electrical/replace-run-capacitor" not in idle
    assert "phone/open-registers" in idle or "phone/switch-on" in idle

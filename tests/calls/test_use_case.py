import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catchpan.calls.errors import CallClosedError, EventClashError, NothingToUndoError
from catchpan.calls.ports import NamedThing
from catchpan.calls.state import CallState
from catchpan.calls.use_case import Answer, CallBook, Number
from catchpan.units.errors import BadValue, UnknownName

KNOWN = {"display", "float", "flush", "drain-runs", "attic", "heat-pump", "trap"}


def catalog(thing: NamedThing, name: str) -> None:
    """Know a handful of names, whatever they name."""
    if name not in KNOWN:
        raise UnknownName(thing, name, KNOWN)


def answers(state: CallState) -> list[str | None]:
    return [entry.body.answer for entry in state.readings]


@pytest.fixture
def open_book(book: CallBook) -> CallBook:
    book.open_call({"complaint_words": "water on the ceiling"}, call_id="c1", event_id="open")
    return book


def test_a_whole_call_can_be_resumed_from_its_events(open_book: CallBook) -> None:
    number = Number(76.0, "degF", 297.594, 0.5)
    open_book.describe("c1", {"float": "unknown"}, archetype="heat-pump")
    open_book.take_reading("c1", "display", Answer("blank"), reported_by="caller")
    open_book.go("c1", "attic")
    open_book.set_power("c1", "disconnect", on=False)
    open_book.take_reading("c1", "pan-temperature", number)
    open_book.defer("c1", "coil-look", "panel screws stripped")
    open_book.do_repair("c1", "flush", "worked")
    open_book.do_proof("c1", "drain-runs", "pass", number=Number(1.0, "gal/h", 1.05e-6))
    open_book.do_proof("c1", "trips", "pass")
    open_book.find_latent("c1", "no-trap", "none fitted")
    open_book.note("c1", "dog")
    last = open_book.close("c1", "fixed", causes=["drain-plugged"], words="runs")
    again = open_book.resume("c1")
    assert again == last
    assert again.opened.complaint_words == "water on the ceiling"
    assert again.archetype == "heat-pump"
    assert [entry.body.place for entry in again.readings] == ["phone", "attic"]
    assert again.readings[1].body.si_sd == 0.5
    assert dict(again.deferred) == {"coil-look": "panel screws stripped"}
    assert again.proofs[0].body.si_value == 1.05e-6
    assert again.closed is not None
    assert again.closed.causes == ("drain-plugged",)
    assert len(again.timeline) == 13


def test_an_over_limit_display_is_kept_as_infinity(open_book: CallBook) -> None:
    state = open_book.take_reading("c1", "winding", Number(math.inf, "Mohm", math.inf))
    assert state.readings[0].body.number_si == math.inf
    assert state.readings[0].body.unit == "Mohm"


@pytest.mark.parametrize("value", [math.nan, -math.inf])
def test_a_number_that_is_none_is_refused(open_book: CallBook, value: float) -> None:
    with pytest.raises(BadValue):
        open_book.take_reading("c1", "winding", Number(value, "ohm", value))
    assert open_book.resume("c1").readings == ()


def test_sending_an_act_again_changes_nothing(open_book: CallBook) -> None:
    acts: list[Callable[[], CallState]] = [
        lambda: open_book.take_reading("c1", "float", Answer("open"), event_id="e1"),
        lambda: open_book.go("c1", "attic", event_id="e2"),
        lambda: open_book.describe("c1", {"trap": "present"}, event_id="e3"),
        lambda: open_book.do_repair("c1", "flush", "worked", event_id="e4"),
        lambda: open_book.undo_last("c1", event_id="e5"),
        lambda: open_book.redo_last("c1", event_id="e6"),
        lambda: open_book.close("c1", "fixed", causes=["a", "b"], event_id="e7"),
    ]
    for act in acts:
        act()
    once = open_book.trail("c1")
    for act in acts:
        act()
    open_book.open_call({"complaint_words": "water on the ceiling"}, call_id="c1", event_id="open")
    assert open_book.trail("c1") == once
    assert len(once.events) == 8


def test_another_act_under_the_same_id_is_refused(open_book: CallBook) -> None:
    open_book.note("c1", "dog", event_id="e1")
    with pytest.raises(EventClashError, match="e1"):
        open_book.note("c1", "cat", event_id="e1")


def test_an_unknown_call_is_named_with_those_that_look_like_it(open_book: CallBook) -> None:
    with pytest.raises(UnknownName, match=r"unknown call 'c11'; did you mean 'c1'"):
        open_book.resume("c11")


@pytest.mark.parametrize(
    "act",
    [
        lambda book: book.open_call({"archetype": "nonsense"}),
        lambda book: book.describe("c1", {}, archetype="nonsense"),
        lambda book: book.describe("c1", {"nonsense": 1}),
        lambda book: book.take_reading("c1", "nonsense", Answer("x")),
        lambda book: book.defer("c1", "nonsense", ""),
        lambda book: book.go("c1", "nonsense"),
        lambda book: book.do_repair("c1", "nonsense", "worked"),
        lambda book: book.do_proof("c1", "nonsense", "pass"),
        lambda book: book.withdraw("c1", "nonsense"),
        lambda book: book.restore("c1", "nonsense"),
    ],
)
def test_a_name_nobody_knows_is_refused_and_leaves_no_event(
    open_book: CallBook, act: Callable[[CallBook], CallState]
) -> None:
    with pytest.raises(UnknownName, match="nonsense"):
        act(replace(open_book, require=catalog))
    assert len(open_book.trail("c1").events) == 1


def test_known_names_pass_the_check(open_book: CallBook) -> None:
    strict = replace(open_book, require=catalog)
    state = strict.describe("c1", {"trap": "present"}, archetype="heat-pump")
    assert state.archetype == "heat-pump"


def test_a_closed_call_takes_notes_and_undo_but_no_work(open_book: CallBook) -> None:
    open_book.close("c1", "fixed")
    with pytest.raises(CallClosedError, match="undo the closing"):
        open_book.go("c1", "attic")
    open_book.note("c1", "called back, all well")
    ending = open_book.trail("c1").events[1]
    assert open_book.withdraw("c1", ending.id).closed is None
    assert open_book.go("c1", "attic").place == "attic"


def test_undo_walks_back_and_redo_walks_forth_again(open_book: CallBook) -> None:
    for answer in ("a", "b", "c"):
        open_book.take_reading("c1", "float", Answer(answer))
    assert answers(open_book.undo_last("c1")) == ["a", "b"]
    assert answers(open_book.undo_last("c1")) == ["a"]
    assert answers(open_book.redo_last("c1")) == ["a", "b"]
    assert answers(open_book.redo_last("c1")) == ["a", "b", "c"]
    assert answers(open_book.undo_last("c1")) == ["a", "b"]
    assert answers(open_book.redo_last("c1")) == ["a", "b", "c"]
    with pytest.raises(NothingToUndoError, match="nothing to redo"):
        open_book.redo_last("c1")


def test_undo_never_takes_back_the_opening(open_book: CallBook) -> None:
    with pytest.raises(NothingToUndoError, match="nothing to undo"):
        open_book.undo_last("c1")
    assert open_book.resume("c1").opened.complaint_words == "water on the ceiling"


def test_undo_leaves_what_other_devices_did(
    open_book: CallBook, new_book: Callable[..., CallBook]
) -> None:
    open_book.note("c1", "mine")
    new_book("office", open_book.store).note("c1", "theirs")
    state = open_book.undo_last("c1")
    assert [entry.body.text for entry in state.notes] == ["theirs"]


def test_restore_brings_an_event_back_however_often_it_was_taken_back(
    open_book: CallBook, new_book: Callable[..., CallBook]
) -> None:
    open_book.note("c1", "mine", event_id="n1")
    office = new_book("office")
    office.receive(open_book.trail("c1").events)
    office.withdraw("c1", "n1")
    open_book.withdraw("c1", "n1")
    open_book.receive(office.trail("c1").events)
    assert open_book.resume("c1").withdrawn == ("n1",)
    assert open_book.restore("c1", "n1").withdrawn == ()


def test_receiving_events_again_changes_nothing(
    open_book: CallBook, new_book: Callable[..., CallBook]
) -> None:
    other = new_book("office")
    events = open_book.trail("c1").events
    assert [other.receive(events), other.receive(events)] == [1, 0]
    assert other.resume("c1") == open_book.resume("c1")


def test_opening_without_a_call_id_makes_a_new_call(book: CallBook) -> None:
    first, second = book.open_call({}), book.open_call({})
    assert first.call_id != second.call_id
    assert len(book.store.calls()) == 2


def test_opening_again_corrects_the_first_opening(open_book: CallBook) -> None:
    state = open_book.open_call({"address": "green house"}, call_id="c1")
    assert state.opened.address == "green house"
    assert state.opened.complaint_words == "water on the ceiling"


@given(st.lists(st.sampled_from(["read", "undo", "redo", "office"]), max_size=25))
def test_any_sequence_of_acts_agrees_with_a_plain_undo_list(
    new_book: Callable[..., CallBook], acts: list[str]
) -> None:
    """Compare with a list and a redo pile; a new reading after an undo keeps the pile."""
    book = new_book("van")
    office = new_book("office", book.store)
    book.open_call({}, call_id="c1")
    done: list[str] = []
    pile: list[str] = []
    for n, act in enumerate(acts):
        if act == "read":
            book.take_reading("c1", "float", Answer(str(n)))
            done.append(str(n))
        elif act == "office":
            office.note("c1", str(n))
        elif act == "undo" and done:
            book.undo_last("c1")
            pile.append(done.pop())
        elif act == "redo" and pile:
            book.redo_last("c1")
            done = sorted([*done, pile.pop()], key=int)
    assert answers(book.resume("c1")) == done
    assert len(book.resume("c1").withdrawn) == len(pile)

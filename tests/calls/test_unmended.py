"""Mending what is likelier than not before leaving."""

from dataclasses import replace

from catchpan.calls.use_case import CallBook, Number
from catchpan.diagnosis.planning.ending import LEAVE_ID
from catchpan.diagnosis.planning.situation import Step
from catchpan.diagnosis.planning.unmended import mend_before_leaving, roots_share
from tests.calls.one_home import guide_of, on_site, open_call

CAPACITOR = "electrical/replace-run-capacitor"
LEAVING = [Step("refer", LEAVE_ID, "Hand the job over", 20.0, 5.0)]


def test_a_root_likelier_than_not_is_mended_before_leaving(book: CallBook) -> None:
    on_site(book)
    found = guide_of(book.take_reading("c1", "capacitor/fan-microfarad", Number(0.0, "µF", 0.0)))
    assert roots_share(found.belief, found.family.repairs[CAPACITOR]) > 0.5
    steps = mend_before_leaving(found.belief, found.situation, LEAVING)
    assert [s.target for s in steps] == [CAPACITOR, LEAVE_ID]
    assert steps[0].kind == "repair"
    assert steps[0].cost_after == LEAVING[0].total_cost
    done = replace(found.situation, done=found.situation.done | {CAPACITOR})
    assert mend_before_leaving(found.belief, done, LEAVING) == LEAVING


def test_leaving_stays_first_while_nothing_is_likelier_than_not(book: CallBook) -> None:
    found = guide_of(on_site(book))
    assert mend_before_leaving(found.belief, found.situation, LEAVING) == LEAVING


def test_on_the_phone_and_with_other_steps_nothing_is_put_first(book: CallBook) -> None:
    phone = guide_of(open_call(book))
    assert mend_before_leaving(phone.belief, phone.situation, LEAVING) == LEAVING
    steps = [Step("look", "contactor/pulled-in", "Contactor", 1.0, 9.0)]
    assert (
        mend_before_leaving(phone.belief, replace(phone.situation, on_phone=False), steps) == steps
    )

"""The guide of a call: what follows from its trail."""

import numpy as np
import pytest

from catchpan.calls.described import NoSystemYetError, known_options
from catchpan.calls.guide import CLEARED, guide
from catchpan.calls.use_case import Answer, CallBook, Number
from catchpan.catalog.load import catalog
from catchpan.diagnosis.planning.forecast import SYSTEM as WHOLE
from catchpan.diagnosis.planning.safety_order import SWITCH_ON, prepare
from tests.calls.one_home import OPTIONS, SYSTEM, answer, guide_of, on_site, open_call, small_family

CAPACITOR = "electrical/replace-run-capacitor"
FUSE = "control/replace-low-voltage-fuse"


def test_a_call_without_a_system_says_so(book: CallBook) -> None:
    with pytest.raises(NoSystemYetError, match="names no kind of system"):
        guide(book.open_call({}, call_id="c1"), catalog(), small_family)


def test_a_call_begins_on_the_phone_and_asks_about_danger_first(book: CallBook) -> None:
    found = guide_of(open_call(book))
    assert found.phase == "phone"
    assert found.plan.steps[0].kind == "ask"
    assert found.plan.steps[0].target.startswith("safety/")


def test_arriving_ends_the_phone_and_costs_the_drive(book: CallBook) -> None:
    found = guide_of(on_site(book))
    assert found.phase == "visit"
    assert found.spent.minutes == found.family.dispatch_minutes
    assert found.situation.place == ""


def test_a_reading_moves_the_belief_and_the_technician(book: CallBook) -> None:
    before = guide_of(on_site(book))
    number = Number(0.0, "µF", 0.0)
    after = guide_of(book.take_reading("c1", "capacitor/fan-microfarad", number))
    share = {s.id: s.probability for s in after.causes.roots}
    assert after.situation.place == "outdoor_unit"
    assert after.situation.power_off
    assert "outdoor_unit" in after.situation.opened
    assert share["capacitor/fan-open"] > 0.4
    assert max(share, key=share.__getitem__) == "capacitor/fan-open"
    assert after.spent.minutes > before.spent.minutes


def test_undoing_a_reading_restores_the_guide(book: CallBook) -> None:
    before = guide_of(on_site(book))
    answer(book, "phone/outdoor-fan", "humming")
    after = guide_of(book.undo_last("c1"))
    np.testing.assert_array_equal(after.belief.log_weights, before.belief.log_weights)
    assert after.situation == before.situation


def test_the_guide_depends_on_the_trail_alone(book: CallBook) -> None:
    on_site(book)
    state = answer(book, "phone/outdoor-fan", "humming")
    one, other = guide_of(state), guide_of(book.resume("c1"))
    assert [s.target for s in one.plan.steps] == [s.target for s in other.plan.steps]
    assert one.explanation.why == other.explanation.why


def test_a_repair_that_worked_owes_its_proofs_until_they_pass(book: CallBook) -> None:
    on_site(book)
    book.take_reading("c1", "capacitor/fan-microfarad", Number(0.0, "µF", 0.0))
    mended = guide_of(book.do_repair("c1", CAPACITOR, "worked"))
    owed = set(mended.situation.unproven)
    assert owed
    assert mended.plan.steps[0].kind == "prove"
    for proof in sorted(owed):
        state = book.do_proof("c1", proof, "pass")
    proven = guide_of(state)
    assert not proven.situation.unproven
    assert proven.plan.steps[0].kind == "stop"


def test_a_failed_proof_brings_the_doubt_back(book: CallBook) -> None:
    on_site(book)
    mended = guide_of(book.do_repair("c1", CAPACITOR, "worked"))
    proof = next(p for p in mended.situation.unproven if "fan" in p)
    failed = guide_of(book.do_proof("c1", proof, "fail"))
    assert failed.causes.no_fault < mended.causes.no_fault


def test_a_blown_fuse_is_not_replaced_twice_in_a_row(book: CallBook) -> None:
    on_site(book)
    tried = guide_of(book.do_repair("c1", FUSE, "did_not"))
    assert FUSE in tried.situation.deferred
    assert FUSE not in tried.situation.done
    again = guide_of(book.do_repair("c1", "control/clear-outdoor-short", "did_not"))
    assert FUSE not in again.situation.deferred


def test_running_the_whole_system_is_a_verdict(book: CallBook) -> None:
    on_site(book)
    assert guide_of(book.do_proof("c1", WHOLE, "pass")).belief.verdict is True
    assert guide_of(book.do_proof("c1", WHOLE, "fail")).belief.verdict is False


def test_danger_leaves_only_leaving_until_it_is_dealt_with_on_site(book: CallBook) -> None:
    on_site(book)
    stopped = guide_of(answer(book, "safety/gas-smell", "yes"))
    assert {s.target for s in stopped.plan.steps} == {"danger"}
    book.open_call({"site": {f"{CLEARED}safety/gas-smell": True}}, call_id="c1")
    assert not guide_of(book.resume("c1")).dangers


def test_what_was_put_off_is_not_proposed(book: CallBook) -> None:
    first = guide_of(on_site(book)).plan.steps[0].target
    later = guide_of(book.defer("c1", first, "too dark"))
    assert first not in [s.target for s in later.plan.steps]


def test_a_technician_settles_an_option_and_a_caller_does_not(book: CallBook) -> None:
    book.open_call({"archetype": SYSTEM}, call_id="c1")
    question = next(
        c for c in catalog().checks.values() if c.observe.of == "metering" and not c.archetypes
    )
    said = Answer("orifice")
    state = book.take_reading("c1", question.id, said, reported_by="caller")
    assert "metering" not in known_options(state, catalog())
    state = book.take_reading("c1", question.id, said)
    assert known_options(state, catalog())["metering"] == "orifice"


def test_a_check_this_system_has_not_is_named_and_passed_over(book: CallBook) -> None:
    on_site(book)
    missing = min(set(catalog().checks) - set(guide_of(book.resume("c1")).family.checks))
    found = guide_of(book.take_reading("c1", missing, Answer("yes")))
    options = {c.id for c in catalog().checks.values() if c.observe.quantity == "option"}
    assert (missing in found.unused) == (missing not in options)
    assert missing in found.situation.done


def test_the_likeliest_setting_has_every_known_option(book: CallBook) -> None:
    assert OPTIONS.items() <= guide_of(open_call(book)).likeliest_setting.items()


def test_a_failed_proof_takes_back_that_the_system_works(book: CallBook) -> None:
    """It has to be run and judged anew; what was passed before does not close the call."""
    on_site(book)
    book.take_reading("c1", "capacitor/fan-microfarad", Number(0.0, "µF", 0.0))
    mended = guide_of(book.do_repair("c1", CAPACITOR, "worked"))
    assert mended.belief.verdict is True
    proof = min(mended.situation.unproven)
    failed = guide_of(book.do_proof("c1", proof, "fail"))
    assert failed.belief.verdict is None
    assert failed.plan.steps[0].kind != "stop"
    assert not any(s.kind == "stop" for s in failed.plan.steps)


def test_a_proof_that_the_contactor_opens_is_made_with_the_power_on(book: CallBook) -> None:
    """With the power off the volts are gone whatever the contacts do."""
    on_site(book)
    found = guide_of(book.do_repair("c1", "electrical/replace-contactor", "not_yet_known"))
    assert found.situation.power_off
    check = found.family.checks["electrical/contactor-opens"]
    ready = prepare(found.family, found.situation, check.place, check.requires)
    assert ready.acts == (SWITCH_ON, "set the thermostat to off")


def test_who_says_how_it_runs_after_a_repair_has_switched_it_on(book: CallBook) -> None:
    on_site(book)
    found = guide_of(book.do_repair("c1", "electrical/replace-contactor", "worked"))
    assert not found.situation.power_off


def test_what_was_looked_at_settles_how_the_system_is_built(book: CallBook) -> None:
    book.open_call({"archetype": SYSTEM}, call_id="c1")
    book.take_reading("c1", "drain/outlet-running", Answer("no"), reported_by="caller")
    assert known_options(book.resume("c1"), catalog()) == {}
    state = book.take_reading("c1", "drain/outlet-running", Answer("no"))
    assert known_options(state, catalog()) == {"drain": "gravity"}


def test_what_is_not_there_settles_nothing(book: CallBook) -> None:
    book.open_call({"archetype": SYSTEM}, call_id="c1")
    state = book.take_reading("c1", "drain/outlet-running", Answer("absent"))
    assert known_options(state, catalog()) == {}


def test_a_basement_has_no_defects_of_an_attic(book: CallBook) -> None:
    found = {d.id for d in guide_of(on_site(book)).latents}
    assert "latent/co-alarm-missing" in found
    assert not {"latent/attic-access-poor", "latent/drain-uninsulated"} & found

"""The end of a call in words."""

import pytest

from catchpan.calls.progress import Mended
from catchpan.calls.summary import (
    BY_ITSELF,
    NAMED,
    _found,
    confirmed_causes,
    found_and_mended,
    homeowner_summary,
    is_wet,
    technician_summary,
)
from catchpan.calls.use_case import Answer, CallBook, Number
from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.causes import Share
from tests.calls.one_home import guide_of, on_site, open_call

CAPACITOR = "electrical/replace-run-capacitor"


def mended(book: CallBook) -> None:
    on_site(book)
    book.take_reading("c1", "capacitor/fan-microfarad", Number(0.0, "µF", 0.0))
    book.do_repair("c1", CAPACITOR, "worked")


def test_a_repair_that_helped_names_its_cause(book: CallBook) -> None:
    mended(book)
    found = guide_of(book.resume("c1"))
    assert confirmed_causes(found) == ("capacitor/fan-open",)
    assert found_and_mended(found)[0].outcome == "worked"


def test_the_homeowner_is_told_the_fault_where_it_is_sure_and_else_the_part(book: CallBook) -> None:
    mended(book)
    found = guide_of(book.resume("c1"))
    cause = found_and_mended(found)[0].cause
    assert cause is not None
    plain = catalog().faults[cause.id].plain if cause.probability >= NAMED else ""
    wanted = plain or "the run capacitor had failed."
    assert f"What was wrong: {wanted}" in homeowner_summary(found)
    assert "The repair has not been tested yet." in homeowner_summary(found)


def test_tests_that_passed_are_counted(book: CallBook) -> None:
    mended(book)
    for proof in sorted(guide_of(book.resume("c1")).situation.unproven):
        book.do_proof("c1", proof, "pass")
    lines = homeowner_summary(guide_of(book.resume("c1")))
    assert any(line.startswith("We tested it:") for line in lines)


def test_nothing_mended_is_said_plainly(book: CallBook) -> None:
    lines = homeowner_summary(guide_of(on_site(book)))
    assert lines[0] == "No fault has been put right on this visit."


def test_a_latent_defect_is_told_to_both(book: CallBook) -> None:
    mended(book)
    found = guide_of(book.find_latent("c1", "latent/co-alarm-missing"))
    parts = dict(technician_summary(found))
    assert "carbon monoxide" in parts["Latent"][0].casefold()
    assert any("carbon monoxide" in line for line in homeowner_summary(found))


def test_water_in_the_house_brings_the_drying_advice(book: CallBook) -> None:
    on_site(book)
    assert not is_wet(guide_of(book.resume("c1")))
    for check in ("complaint/water-on-floor", "phone/water-on-floor", "drain/floor-wet"):
        if check in guide_of(book.resume("c1")).family.checks:
            wet = catalog().checks[check].answers[0].id
            book.take_reading("c1", check, Answer(wet))
    found = guide_of(book.resume("c1"))
    assert is_wet(found) == ("Water damage" in dict(technician_summary(found)))


def test_a_cause_that_was_a_guess_is_not_stated_as_found(book: CallBook) -> None:
    open_call(book)
    found = guide_of(book.do_repair("c1", "phone/set-thermostat", "worked"))
    technician = dict(technician_summary(found))["Found and done"]
    assert technician[0].startswith("Cause not pinned down; supposed: ")
    homeowner = homeowner_summary(found)
    assert "the thermostat had failed" not in " ".join(homeowner)
    assert homeowner[0].endswith("put right by this: set the thermostat right.")


def test_a_measured_test_shows_its_last_reading_beside_what_was_wanted(book: CallBook) -> None:
    mended(book)
    proof = "refrigerant/proof-superheat"
    book.do_proof("c1", proof, "fail", number=Number(60.0, "delta °F", 60.0 / 1.8))
    found = guide_of(book.do_proof("c1", proof, "pass", number=Number(12.5, "delta °F", 6.944)))
    first, last = dict(technician_summary(found))["Proven"]
    assert first.partition(": ")[2].startswith("fail (read 60 °F; passes at ")
    assert last.partition(": ")[2].startswith("pass (read 12.5 °F; passes at ")
    (line,) = (one for one in homeowner_summary(found) if one.startswith("Measured: "))
    assert "12.5 °F; wanted " in line
    assert line.endswith(" °F: as it should be.")


def test_several_causes_put_right_together_are_all_named() -> None:
    shares = tuple(
        Share(name, p) for name, p in (("a", 0.42), ("b", 0.35), ("c", 0.1), ("d", 0.02))
    )
    left = (Share("pan", 0.9),)
    found = _found(Mended("flush", "worked", shares, left), {"a": 0.01, "b": 0.01})
    assert (found.cause, [s.id for s in found.among]) == (None, ["a", "b", "c"])
    alone = _found(Mended("flush", "worked", shares[:1], ()), {})
    assert alone.cause is not None
    assert alone.cause.probability == pytest.approx(0.42 / (0.42 + 0.58 * BY_ITSELF))
    assert _found(Mended("flush", "did_not", shares, left), {"a": 0.4}).among == ()
    assert _found(Mended("fuse", "worked", shares[2:], left), {}).cause is None

import math

import pytest

from catchpan.calls.body import (
    BODIES,
    Body,
    CallOpened,
    Closed,
    LatentFound,
    Noted,
    PhotoTaken,
    PowerSet,
    ProofDone,
    ReadingTaken,
    RepairDone,
    StepDeferred,
    SystemDescribed,
    WentTo,
    Withdrawn,
    body_fields,
    make_body,
    parse_body,
)
from catchpan.calls.event import EventKind
from catchpan.units.errors import BadValue

SAMPLES: list[Body] = [
    CallOpened(),
    CallOpened(caller="tenant", site={"age_years": 12, "place": "unknown"}),
    SystemDescribed(settings={"float_switch": "unknown", "heat_strips": True}),
    ReadingTaken(check_id="display", answer="blank", reported_by="caller"),
    ReadingTaken(check_id="r-c", value=26.4, unit="V", si_value=26.4, si_sd=0.2),
    ReadingTaken(check_id="winding", unit="ohm", over_limit=True),
    ReadingTaken(check_id="capacitor", value=44.0, unit="µF", si_value=4.4e-5, printed=45.0),
    Withdrawn(event_id="e1"),
    StepDeferred(step_id="attic", reason="too hot before evening"),
    WentTo(place="attic"),
    PowerSet(where="disconnect", on=False),
    RepairDone(repair_id="flush", outcome="not_yet_known"),
    ProofDone(proof_id="drain-runs", result="too_close", value=1.0, unit="gal/h", si_value=1e-6),
    LatentFound(latent_id="trap-missing", words="no trap at all"),
    PhotoTaken(photo_id="p-1", words="the pan", step_id="drain/pan-look"),
    Noted(text="dog in the yard"),
    Closed(outcome="fixed", causes=("drain-plugged", "float-open")),
]


def test_every_kind_has_a_body_and_a_sample() -> None:
    assert set(BODIES) == set(EventKind)
    assert {sample.kind for sample in SAMPLES} == set(EventKind)


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: str(sample.kind))
def test_a_body_comes_back_from_its_fields(sample: Body) -> None:
    assert parse_body(sample.kind, body_fields(sample)) == sample
    assert make_body(type(sample), body_fields(sample)) == sample


def test_a_kind_of_a_newer_version_has_no_body() -> None:
    assert parse_body("drone_flown", {}) is None


def test_fields_of_a_newer_version_are_passed_over() -> None:
    assert parse_body("noted", {"text": "a", "mood": "good"}) == Noted(text="a")


@pytest.mark.parametrize(
    "fields",
    [
        {"check_id": "a"},
        {"check_id": "a", "answer": "yes", "value": 1.0, "unit": "V", "si_value": 1.0},
        {"check_id": "a", "answer": "yes", "over_limit": True},
        {"check_id": "a", "value": 1.0},
        {"check_id": "a", "value": 1.0, "unit": "V"},
        {"check_id": "a", "over_limit": True},
        {"check_id": "a", "over_limit": True, "unit": "ohm", "value": 1.0},
        {"check_id": "a", "value": 1.0, "unit": "V", "si_value": 1.0, "si_sd": -1.0},
        {"check_id": "a", "value": "1", "unit": "V", "si_value": 1.0},
        {"check_id": "a", "value": 1.0, "unit": "V", "si_value": 1.0, "printed": 0.0},
        {"check_id": "a", "answer": "yes", "printed": 40.0},
        {"check_id": "a", "answer": "yes", "reported_by": "neighbour"},
        {"check_id": "", "answer": "yes"},
        {"answer": "yes"},
    ],
)
def test_a_reading_is_an_answer_or_a_whole_number_with_its_unit(fields: dict[str, object]) -> None:
    with pytest.raises(BadValue, match=r"^reading_taken: "):
        make_body(ReadingTaken, fields)


def test_all_bad_fields_are_told_at_once() -> None:
    with pytest.raises(BadValue, match=r"proof_id.*result = 'maybe'") as caught:
        make_body(ProofDone, {"result": "maybe"})
    assert "fields out of proof_id, result" in caught.value.hint


def test_over_limit_is_an_infinite_number() -> None:
    assert ReadingTaken(check_id="winding", unit="ohm", over_limit=True).number_si == math.inf
    assert ReadingTaken(check_id="display", answer="blank").number_si is None


def test_the_settings_of_a_body_cannot_be_changed() -> None:
    body = make_body(SystemDescribed, {"settings": {"trap": "present"}})
    with pytest.raises(TypeError):
        body.settings["trap"] = "absent"  # type: ignore[index]

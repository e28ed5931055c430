"""Judging an acceptance test."""

import pytest

from catchpan.calls.body import ReadingTaken
from catchpan.calls.progress import reading_of
from catchpan.calls.proving import judge, limits_words, measured_proof
from catchpan.calls.use_case import Number
from catchpan.catalog.entry import ProofEntry
from catchpan.catalog.load import catalog


def proof(**changes: object) -> ProofEntry:
    fields = {
        "id": "electrical/volts",
        "title": "Volts under load",
        "how": ["Across the load side."],
        "place": "outdoor_unit",
        "minutes": {"value": 2.0, "basis": "assumed"},
        "observe": {"quantity": "voltage", "between": ["contactor.T1", "contactor.T2"]},
        "unit": "V",
        "low": 197.0,
        "high": 253.0,
        "uncertainty": {"value": 2.0, "basis": "assumed"},
    }
    return ProofEntry.model_validate(fields | changes)


@pytest.mark.parametrize(
    ("volts", "result"),
    [
        (230.0, "pass"),
        (150.0, "fail"),
        (260.0, "fail"),
        (198.0, "too_close"),
        (196.0, "too_close"),
        (252.5, "too_close"),
        (199.5, "pass"),
    ],
)
def test_a_reading_near_a_limit_is_too_close_to_call(volts: float, result: str) -> None:
    assert judge(proof(), Number(volts, "V", volts)) == result


def test_a_temperature_difference_is_judged_in_kelvin() -> None:
    rise = proof(
        observe={"quantity": "signal", "of": "supply.rise_k", "demand": "heat"},
        unit="°F", low=16.7, high=33.3, uncertainty={"value": 0.8, "basis": "assumed"},
    )  # fmt: skip
    assert judge(rise, Number(45.0, "°F", 25.0)) == "pass"
    assert judge(rise, Number(80.0, "°F", 44.4)) == "fail"


def test_what_must_be_shown_is_said_with_units() -> None:
    assert limits_words(proof()) == "197.0 V to 253.0 V."
    assert limits_words(proof(high=None)) == "197.0 V or more."


def test_a_proof_without_a_unit_is_judged_by_eye() -> None:
    seen = proof(observe={"quantity": "signal", "of": "burner.lit", "demand": "heat"}, unit="")
    assert measured_proof(seen) is None
    assert limits_words(seen) == ""


@pytest.mark.parametrize(
    ("micro", "printed", "result"),
    [(44.0, 45.0, "pass"), (40.0, 45.0, "fail"), (50.0, 45.0, "fail"), (40.0, None, "pass")],
)
def test_a_new_capacitor_is_judged_by_its_own_print(
    micro: float, printed: float | None, result: str
) -> None:
    entry = catalog().proofs["electrical/capacitor-herm"]
    assert judge(entry, Number(micro, "µF", micro * 1e-6, printed=printed)) == result
    assert limits_words(entry) == "94 to 106 % of what is printed."


@pytest.mark.parametrize(
    ("check_id", "value", "scale", "printed", "answer"),
    [
        ("capacitor/herm-microfarad", 32.0, 1e-6, 35.0, "weak"),
        ("capacitor/herm-microfarad", 34.5, 1e-6, 35.0, "good"),
        ("capacitor/herm-microfarad", 34.5, 1e-6, None, "weak"),
        ("capacitor/fan-microfarad", 7.0, 1e-6, 7.5, "weak"),
        ("capacitor/fan-microfarad", 0.0, 1e-6, 7.5, "dead"),
        ("gas/manifold-pressure", 9.8, 249.09, 10.0, "good"),
        ("gas/manifold-pressure", 9.8, 249.09, None, "high"),
        ("gas/inlet-pressure", 9.0, 249.09, 11.0, "low"),
    ],
)
def test_a_number_counts_as_its_share_of_what_is_printed(
    check_id: str, value: float, scale: float, printed: float | None, answer: str
) -> None:
    body = ReadingTaken(
        check_id=check_id, value=value, unit="-", si_value=value * scale, printed=printed
    )
    assert reading_of(body, catalog().checks[check_id]).outcome_id == answer

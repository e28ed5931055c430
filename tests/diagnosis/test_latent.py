"""Latent defects weighed by hand."""

from dataclasses import replace

import pytest

from catchpan.catalog.entry import AnswerEntry, CheckEntry, FaultEntry
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.latent import Latent, evidence, latent_defects, option_shares
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.diagnosis.worlds.description import Description
from tests.diagnosis.small_catalog import SMALL, small_catalog

ASSUMED = "assumed for this test"
SYSTEM = Description("air-conditioner-furnace")


def number(value: float) -> dict[str, object]:
    return {"value": value, "basis": ASSUMED}


def defect(**fields: object) -> FaultEntry:
    plain = {
        "id": "latent/loose-lid", "title": "Loose lid", "plain": "The lid is loose.",
        "kind": "latent", "family": "latent", "component": "pan", "rate": number(100.0),
    }  # fmt: skip
    return FaultEntry.model_validate({**plain, **fields})


def look(base: float, chance: float, reliability: float) -> CheckEntry:
    given = [{"fault": "latent/loose-*", "chance": number(chance)}]
    answers = [
        {"id": "loose", "label": "Loose", "base": number(base), "given": given},
        {"id": "tight", "label": "Tight"},
    ]
    return CheckEntry.model_validate(
        {
            "id": "latent/lid-look", "title": "Look at the lid", "ask": "Is it loose?",
            "place": "indoor_unit", "minutes": number(1.0), "reliability": number(reliability),
            "observe": {"quantity": "history"}, "answers": answers,
        }
    )  # fmt: skip


def data_of(fault: FaultEntry, check: CheckEntry) -> Catalog:
    return replace(catalog(), faults={fault.id: fault}, checks={check.id: check})


def weighed(data: Catalog, *readings: Reading, shares: object = None) -> Latent:
    options = shares if isinstance(shares, dict) else {}
    (found,) = latent_defects(SYSTEM, data, readings, options)
    return found


def test_without_a_reading_the_share_is_the_rate() -> None:
    data = data_of(defect(), look(0.05, 0.9, 1.0))
    assert weighed(data).share == pytest.approx(0.1)
    assert not weighed(data).named


def test_a_look_that_finds_it_follows_the_rule_of_bayes() -> None:
    data = data_of(defect(), look(0.05, 0.9, 0.98))
    there, without = 1.0 - 0.95 * 0.1, 0.05
    there, without = (0.98 * x + 0.02 / 2 for x in (there, without))
    odds = 0.1 / 0.9 * there / without
    found = weighed(data, Reading("latent/lid-look", "loose"))
    assert found.share == pytest.approx(odds / (1 + odds), rel=1e-4)
    assert found.named
    assert found.because == ("latent/lid-look",)
    assert weighed(data, Reading("latent/lid-look", "tight")).share < 0.02


def test_a_caller_counts_for_less_than_a_technician() -> None:
    check = look(0.05, 0.9, 0.98)
    seen = evidence(check, "latent/loose-lid", Reading(check.id, "loose"))
    told = evidence(check, "latent/loose-lid", Reading(check.id, "loose", reporter="caller"))
    assert 0.0 < told < seen


def test_another_check_says_nothing() -> None:
    check = look(0.05, 0.9, 0.98)
    assert evidence(check, "drain/other", Reading(check.id, "loose")) == 0.0


def test_an_option_it_needs_limits_its_share() -> None:
    fault = defect(needs_option={"aux_pan": ["plain", "with_drain"]})
    data = data_of(fault, look(0.05, 0.9, 1.0))
    shares = {"aux_pan": {"plain": 0.2, "with_drain": 0.1, "none": 0.7}}
    assert weighed(data, shares=shares).share == pytest.approx(0.3 * 0.1)
    assert latent_defects(SYSTEM, data, (), {"aux_pan": {"none": 1.0}}) == ()


def test_a_defect_that_only_the_way_of_building_shows_has_the_share_of_that_way() -> None:
    fault = defect(needs_option={"float_switch": ["unwired"]})
    asked = catalog().checks["option/float-switch"]
    data = data_of(fault, asked)
    found = weighed(data, shares={"float_switch": {"unwired": 0.6, "none": 0.4}})
    assert found.share == pytest.approx(0.6)
    assert found.found_by == ("option/float-switch",)


def test_a_defect_of_other_systems_is_left_out() -> None:
    data = data_of(defect(archetypes=["heat-pump-air-handler"]), look(0.05, 0.9, 1.0))
    assert latent_defects(SYSTEM, data, (), {}) == ()


def test_option_shares_are_those_of_the_settings_or_the_prior() -> None:
    data = small_catalog()
    family = compiled(SYSTEM, data, size=SMALL)
    shares = option_shares(SYSTEM, data, Belief.prior(family))
    for values in shares.values():
        assert sum(values.values()) == pytest.approx(1.0, abs=1e-6)
    assert shares["drain"]["gravity"] > shares["drain"]["pump_wired"]


@pytest.mark.parametrize("answer", [AnswerEntry(id="odd", label="Odd")])
def test_an_answer_the_check_does_not_have_says_nothing(answer: AnswerEntry) -> None:
    check = look(0.05, 0.9, 0.98)
    assert evidence(check, "latent/loose-lid", Reading(check.id, answer.id)) == 0.0

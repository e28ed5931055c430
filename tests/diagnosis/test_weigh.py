"""Weighing a case on a small part of the catalog, against the belief it rests on."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catchpan.catalog.load import Catalog
from catchpan.catalog.system import options_of
from catchpan.diagnosis.cases.case import ABSENT, Case, Tried, allowed_answers
from catchpan.diagnosis.cases.weigh import log_score, weigh
from catchpan.diagnosis.cases.weighing import Weighing
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.worlds.compiled import compiled
from catchpan.diagnosis.worlds.description import Description
from tests.diagnosis.small_catalog import SMALL, small_catalog

KNOWN = {
    name: option.values[-1].id
    for name, option in options_of("air-conditioner-furnace", small_catalog()).items()
} | {
    "float_switch": "none",
    "aux_pan": "none",
    "drain": "gravity",
    "blower": "psc",
    "disconnect": "plain",
    "metering": "txv",
    "thermostat_power": "c_wire",
    "ignition": "hot_surface",
}
FURNACE = Description("air-conditioner-furnace", KNOWN, season="cooling")
NO_COOLING = Reading("complaint/no-cooling", "yes", reporter="caller")
WEAK = Reading("capacitor/herm-microfarad", value_si=12e-6)
PULLED_IN = Reading("contactor/pulled-in", "yes")


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("catchpan.diagnosis.cases.weigh.Size", lambda: SMALL)
    monkeypatch.setattr("catchpan.diagnosis.cases.weigh.SMALL", SMALL)


@pytest.fixture
def data() -> Catalog:
    return small_catalog()


def case_of(*history: Reading | Tried, system: Description = FURNACE) -> Case:
    return Case(((system, 1.0),), history)


def share_of(weighing: Weighing, cause: str) -> float:
    return next((c.share for c in weighing.ranking if c.id == cause), 0.0)


def test_a_measured_value_names_the_cause(data: Catalog) -> None:
    weighing = weigh(case_of(NO_COOLING, PULLED_IN, WEAK), data=data)
    assert weighing.ranking[0].id == "capacitor/herm-weak"
    assert weighing.ranking[0].component == "capacitor"
    assert weighing.ranking[0].share > 0.7


def test_any_value_within_an_answer_weighs_the_same(data: Catalog) -> None:
    shares = [
        share_of(
            weigh(case_of(NO_COOLING, Reading(WEAK.check_id, value_si=farad)), data=data, steps=0),
            "capacitor/herm-weak",
        )
        for farad in (5e-6, 16e-6, 30e-6)
    ]
    assert shares[0] == pytest.approx(shares[1]) == pytest.approx(shares[2])


def test_shares_are_those_of_the_belief(data: Catalog) -> None:
    weighing = weigh(case_of(NO_COOLING, PULLED_IN), data=data, steps=0)
    belief = Belief.prior(compiled(FURNACE, data, size=SMALL)).observe_all([NO_COOLING, PULLED_IN])
    chance = belief.probabilities()
    family = belief.family
    for cause in weighing.ranking:
        there = np.array([cause.id in w.roots for w in family.worlds])
        assert cause.share == pytest.approx(float(chance[there].sum()), abs=1e-6)
    assert weighing.none_of_these == pytest.approx(float(chance[family.other].sum()))
    assert weighing.no_fault == pytest.approx(float(chance[family.lasts].sum()))


def test_what_a_reading_says_is_the_change_it_made_in_the_log_odds(data: Catalog) -> None:
    full = weigh(case_of(NO_COOLING, PULLED_IN, WEAK), data=data, steps=0)
    less = weigh(case_of(NO_COOLING, PULLED_IN), data=data, steps=0)
    cause = full.ranking[0]
    said = next(s for s in cause.speaks if s.entry == 3)
    before, after = share_of(less, cause.id), cause.share
    odds = math.log(after / (1 - after)) - math.log(before / (1 - before))
    assert said.log_odds == pytest.approx(odds, abs=1e-6)
    assert said.words == "Run capacitor, compressor section: 12.0 µF"
    assert [abs(s.log_odds) for s in cause.speaks] == sorted(
        (abs(s.log_odds) for s in cause.speaks), reverse=True
    )


def test_the_order_of_readings_does_not_matter(data: Catalog) -> None:
    one = weigh(case_of(NO_COOLING, PULLED_IN, WEAK), data=data, steps=0)
    two = weigh(case_of(WEAK, NO_COOLING, PULLED_IN), data=data, steps=0)
    shares = {c.id: c.share for c in two.ranking}
    assert {c.id: c.share for c in one.ranking} == pytest.approx(shares)


def test_a_repair_that_did_not_help_speaks_against_its_cause(data: Catalog) -> None:
    before = weigh(case_of(NO_COOLING), data=data, steps=0)
    tried = Tried("electrical/replace-run-capacitor", worked=False)
    after = weigh(case_of(NO_COOLING, tried), data=data, steps=0)
    assert share_of(after, "capacitor/herm-open") < 0.3 * share_of(before, "capacitor/herm-open")
    said = next(c for c in after.ranking if c.id == "contactor/insects").speaks
    assert any(s.entry == 2 and s.log_odds > 0 and "still fails" in s.words for s in said)


def test_a_repair_that_helped_leaves_nothing_wrong(data: Catalog) -> None:
    tried = Tried("electrical/replace-run-capacitor", worked=True)
    weighing = weigh(case_of(NO_COOLING, WEAK, tried), data=data)
    assert weighing.no_fault > 0.8
    assert weighing.steps[0].kind in {"prove", "stop"}


def test_the_kind_of_system_is_weighed_too(data: Catalog) -> None:
    systems = tuple(
        (Description(kind, season="heating"), 0.5)
        for kind in ("air-conditioner-furnace", "heat-pump-air-handler")
    )
    blind = weigh(Case(systems, ()), data=data, steps=0)
    assert [s.share for s in blind.systems] == pytest.approx([0.5, 0.5], abs=1e-6)
    burner = Reading("complaint/furnace-not-lighting", "none", reporter="caller")
    found = weigh(Case(systems, (burner,)), data=data, steps=0)
    assert found.systems[0].archetype == "air-conditioner-furnace"
    assert found.systems[0].share > 0.8
    assert found.ranking[0].id == "gas/ignitor-cracked"


def test_a_reading_the_system_has_nothing_for_is_set_aside_and_named(data: Catalog) -> None:
    burner = Reading("complaint/furnace-not-lighting", "none", reporter="caller")
    pump = Description("heat-pump-air-handler", season="heating")
    weighing = weigh(case_of(burner, system=pump), data=data, steps=0)
    assert list(weighing.set_aside) == [1]
    assert "Furnace does not light" in weighing.set_aside[1]


def test_an_option_nobody_knows_gets_shares_that_sum_to_one(data: Catalog) -> None:
    known = {k: v for k, v in KNOWN.items() if k != "drain"}
    system = Description("air-conditioner-furnace", known, season="cooling")
    weighing = weigh(case_of(NO_COOLING, system=system), data=data, steps=0)
    (option,) = weighing.options
    assert option.id == "drain"
    assert sum(v.probability for v in option.values) == pytest.approx(1.0, abs=0.05)


def test_a_reading_that_repeats_the_description_changes_nothing(data: Catalog) -> None:
    told = Reading("option/drain", "gravity")
    one = weigh(case_of(NO_COOLING), data=data, steps=0)
    two = weigh(case_of(told, NO_COOLING), data=data, steps=0)
    assert [(c.id, c.share) for c in one.ranking] == [(c.id, c.share) for c in two.ranking]
    assert two.set_aside == {}
    assert all(s.entry == 2 for s in two.ranking[0].speaks)


def test_steps_say_what_they_cost_and_what_the_answers_mean(data: Catalog) -> None:
    weighing = weigh(case_of(NO_COOLING, PULLED_IN), data=data, steps=3)
    assert 1 <= len(weighing.steps) <= 3
    totals = [s.dollars + s.dollars_after for s in weighing.steps]
    assert totals == sorted(totals)
    assert all(s.why for s in weighing.steps)
    assert weigh(case_of(NO_COOLING), data=data, steps=0).steps == ()


def test_a_case_from_the_phone_asks_on_the_phone(data: Catalog) -> None:
    phone = weigh(case_of(NO_COOLING), data=data, steps=5)
    assert {s.kind for s in phone.steps} <= {"ask", "go", "repair", "stop", "refer"}
    site = weigh(case_of(NO_COOLING, PULLED_IN), data=data, steps=5)
    assert "go" not in {s.kind for s in site.steps}


def test_the_log_score_is_the_log_of_the_share_of_the_truth(data: Catalog) -> None:
    weighing = weigh(case_of(NO_COOLING, PULLED_IN, WEAK), data=data, steps=0)
    share = share_of(weighing, "capacitor/herm-weak")
    assert log_score(weighing, ["capacitor/herm-weak"]) == pytest.approx(math.log(share))
    both = log_score(weighing, ["capacitor/herm-weak", "capacitor/herm-open"])
    assert math.log(share) <= both <= 0.0
    assert log_score(weighing, ["no/such-fault"]) == -math.inf


def test_readings_that_do_not_fit_are_named_with_the_cheapest_to_repeat(data: Catalog) -> None:
    history = [
        NO_COOLING,
        PULLED_IN,
        WEAK,
        Reading("contactor/coil-volts", "none"),
        Reading("phone/display-lit", "blank"),
        Reading("phone/outdoor-fan", "turning"),
        Reading("phone/compressor-sound", "running"),
    ]
    weighing = weigh(case_of(*history), data=data, steps=0)
    assert weighing.doubt is not None
    assert weighing.doubt.repeat in weighing.doubt.entries
    assert len(weighing.doubt.words) == len(weighing.doubt.entries)


def _entries() -> st.SearchStrategy[Reading | Tried]:
    data = small_catalog()
    answered = [c for c in data.checks.values() if c.observe.quantity != "option"]
    readings = st.sampled_from(answered).flatmap(
        lambda c: st.builds(
            Reading,
            st.just(c.id),
            st.sampled_from([*allowed_answers(c, data), ABSENT]),
            reporter=st.sampled_from(["caller", "technician"]),
        )
    )
    repairs = st.builds(
        Tried, st.sampled_from(sorted(data.repairs)), st.sampled_from([True, False, None])
    )
    return st.one_of(readings, readings, readings, repairs)


@given(st.lists(_entries(), max_size=8))
@settings(max_examples=40)
def test_any_history_can_be_weighed(history: list[Reading | Tried]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("catchpan.diagnosis.cases.weigh.Size", lambda: SMALL)
        weighing = weigh(case_of(*history), data=small_catalog(), steps=2)
    shares = [c.share for c in weighing.ranking]
    assert shares == sorted(shares, reverse=True)
    assert all(0.0 <= share <= 1.0 + 1e-9 for share in shares)
    assert 0.0 <= weighing.none_of_these <= 1.0
    assert weighing.steps
    assert set(weighing.set_aside) <= set(range(1, len(history) + 1))


def test_a_defect_of_how_it_is_built_is_named_where_it_is_known(data: Catalog) -> None:
    weighing = weigh(case_of(NO_COOLING), data=data, steps=0)
    assert "latent/no-float-switch" in {d.id for d in weighing.latent}
    fitted = Description("air-conditioner-furnace", {**KNOWN, "float_switch": "in_r"})
    other = weigh(case_of(NO_COOLING, system=fitted), data=data, steps=0)
    assert "latent/no-float-switch" not in {d.id for d in other.latent}

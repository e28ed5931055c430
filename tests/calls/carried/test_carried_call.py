"""The compiled call holds what the family holds: exactly where it is weighed."""

from datetime import UTC, datetime
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from catchpan.calls.carried.carried_call import carried_call
from catchpan.calls.carried.checks_part import significant
from catchpan.calls.carried.container import Parts, read_parts
from catchpan.calls.ladder import ladders
from catchpan.catalog.load import catalog
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.latent import latent_defects, option_shares
from catchpan.diagnosis.inference.questioned import RULES
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family
from tests.calls.one_home import OPTIONS, SYSTEM, small_family

KNOWN = Description(SYSTEM, OPTIONS, "cooling")
NOW = datetime(2025, 7, 4, tzinfo=UTC)


def family() -> Family:
    return small_family(KNOWN)


@cache
def parts() -> Parts:
    return read_parts(carried_call(KNOWN, family(), catalog(), "key", NOW))


def test_worlds_come_back_with_their_conditions_roots_and_prior() -> None:
    found, held = parts(), family()
    names = found.header["worlds"]["conditions"]
    for name, sets in (
        ("conditions", [w.conditions for w in held.worlds]),
        ("roots", [w.roots for w in held.worlds]),
    ):
        start, members = found.arrays[f"{name}.start"], found.arrays[f"{name}.list"]
        read = [frozenset(names[j] for j in members[a:b]) for a, b in pairwise(start)]
        assert read == sets
    assert found.arrays["log_prior"].tolist() == held.log_prior.tolist()
    assert found.arrays["works"].astype(bool).tolist() == held.works.tolist()


def test_every_likelihood_comes_back_exactly() -> None:
    found, held = parts(), family()
    for entry, check in zip(found.header["checks"], held.checks.values(), strict=True):
        where, width = entry["table"], len(check.outcomes)
        rows = found.arrays["tables"][where["at"] : where["at"] + where["rows"] * width]
        partition = where["partition"]
        classes = found.arrays[f"partitions.{partition['type']}"][partition["row"]]
        assert np.array_equal(rows.reshape(-1, width)[classes], check.table), check.id


def test_numbers_come_back_to_four_digits() -> None:
    found, held = parts(), family()
    measured = 0
    for entry, check in zip(found.header["checks"], held.checks.values(), strict=True):
        if check.numeric is None:
            assert entry["numbers"] is None
            continue
        where = entry["numbers"]
        classes = found.arrays[f"partitions.{where['partition']['type']}"][
            where["partition"]["row"]
        ].astype(np.int64)
        dead = found.arrays["dead"][where["at"] + classes].astype(bool)
        mean = found.arrays["means"][where["at"] + classes]
        assert np.array_equal(dead, check.numeric.dead)
        alive = check.numeric.mean_si[~dead]
        finite = np.isfinite(alive)
        assert np.array_equal(np.isfinite(mean[~dead]), finite)
        assert mean[~dead][finite] == pytest.approx(alive[finite], rel=5.1e-4)
        measured += 1
    assert measured > 50


def test_repairs_places_and_costs_are_all_there() -> None:
    header, held = parts().header, family()
    assert [r["id"] for r in header["repairs"]] == list(held.repairs)
    assert all(set(r["fixes"]) == held.repairs[r["id"]].fixes for r in header["repairs"])
    assert {p["id"] for p in header["places"]} == set(held.places)
    assert header["costs"]["call_back_dollars"] == held.call_back_dollars
    assert header["returning"]


def test_latents_can_be_weighed_from_the_file_alone() -> None:
    data, held = catalog(), family()
    said = [
        Reading(e["check_id"], e["answer_id"])
        for latent in parts().header["latents"]
        for e in latent["evidence"][:1]
    ]
    belief = Belief.prior(held)
    readings = list({r.check_id: r for r in said}.values())
    wanted = {
        d.id: d.share
        for d in latent_defects(KNOWN, data, readings, option_shares(KNOWN, data, belief))
    }
    found = {}
    for latent in parts().header["latents"]:
        shares = {o: {OPTIONS.get(o, ""): 1.0} for o in latent["needs_option"]}
        possible = np.prod(
            [
                sum(shares[o].get(v, 0.0) for v in values)
                for o, values in latent["needs_option"].items()
            ]
        )
        if possible <= 0.0:
            continue
        odds = latent["log_odds"] + sum(
            e["technician"]
            for e in latent["evidence"]
            if any((r.check_id, r.outcome_id) == (e["check_id"], e["answer_id"]) for r in readings)
        )
        found[latent["id"]] = possible if latent["by_option"] else possible / (1 + np.exp(-odds))
    assert found == pytest.approx(wanted, rel=1e-9)
    assert len(found) > 10


@pytest.mark.parametrize(
    "fault", ["low-voltage/fuse-blown", "capacitor/herm-open", "drain/trap-plugged"]
)
def test_the_wiring_reads_as_the_ladder_does(fault: str) -> None:
    found = parts()
    for k, drawn in enumerate(found.header["ladders"]):
        assert drawn["setting"] == 0
        table = found.arrays[f"ladder.{k}.volts"]
        places = found.arrays[f"ladder.{k}.position"]
        row = 1 + drawn["faults"].index(fault)
        wrong = drawn["assumed"][row - 1]
        assert fault in wrong
        lines = [
            line for circuit in ladders(KNOWN, wrong, drawn["demand"]) for line in circuit.lines
        ]
        assert [line.words for line in lines] == [
            line["words"] for circuit in drawn["circuits"] for line in circuit["lines"]
        ]
        assert table[0] == pytest.approx([line.volts[0] for line in lines], abs=0.051)
        assert table[row] == pytest.approx([line.volts[1] for line in lines], abs=0.051)
        then = [("", "closed", "open")[p] for p in places[row]]
        assert then == [line.position[1] for line in lines]


def test_a_plugged_trap_is_drawn_with_the_full_pan_it_leaves_behind() -> None:
    drawn = parts().header["ladders"][0]
    assumed = dict(zip(drawn["faults"], drawn["assumed"], strict=True))
    assert "water/primary-pan-full" in assumed["drain/trap-plugged"]


def test_constants_are_named_by_module() -> None:
    constants = parts().header["constants"]
    assert constants["aftermath.comes_back"] == 0.5
    assert constants["family.likelihood_floor"] == 1e-6


@pytest.mark.parametrize(
    ("value", "rounded"), [(0.0, 0.0), (123.456, 123.5), (-0.00123456, -0.001235), (9.9999e8, 1e9)]
)
def test_significant_digits(value: float, rounded: float) -> None:
    assert significant(np.array([value]))[0] == pytest.approx(rounded, rel=1e-12)


def test_what_is_not_finite_stays() -> None:
    assert np.isinf(significant(np.array([np.inf]))[0])


def test_a_panel_comes_back_as_the_family_holds_it() -> None:
    found, held = parts(), family()
    listed = found.header["circuit"]["panels"]
    assert [p["demand"] for p in listed] == list(held.panels)
    for k, panel in enumerate(held.panels.values()):
        array = {n.removeprefix(f"panel.{k}."): a for n, a in found.arrays.items()}
        assert np.array_equal(array["means"], panel.means)
        assert np.array_equal(array["node_state"], panel.node_state)
        assert np.array_equal(array["node_weight"], panel.node_weight)
        group = array["group_of"].astype(np.int64)
        inside = panel.group_of >= 0
        assert np.array_equal(group[inside], panel.group_of[inside])
        assert (group[~inside] == len(panel.group_start)).all()


def test_the_look_of_a_check_names_a_panel_and_a_quantity_that_are_there() -> None:
    header = parts().header
    demands = {p["demand"] for p in header["circuit"]["panels"]}
    looks = [c["look"] for c in header["checks"] if c["look"] is not None]
    assert len(looks) > 10
    assert {look["demand"] for look in looks} <= demands
    assert {look["of"] for look in looks} <= header["circuit"]["quantities"].keys()


def test_what_is_asked_back_is_told_in_the_words_used_here() -> None:
    said = parts().header["questions"]
    assert [rule["text"] for rule in said["rules"]] == [rule.text for rule in RULES]
    for rule in said["rules"]:
        told = {rule[key] for key in ("upper", "lower", "of") if key in rule}
        assert told <= parts().header["circuit"]["quantities"].keys()
    assert said["other_chart"].format(plate="R-410A", other="R-22").count("R-") == 2


def test_the_states_of_a_world_come_back() -> None:
    found, held = parts(), family()
    calm = found.arrays["calm"].astype(bool)
    assert calm.tolist() == [w.calm for w in held.worlds]
    assert 0 < calm.sum() < len(calm)
    assert found.arrays["lasts"].astype(bool).tolist() == held.lasts.tolist()
    assert held.struggling is not None
    assert found.arrays["struggling"].astype(bool).tolist() == held.struggling.tolist()

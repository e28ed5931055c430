"""A home whose faults are hidden answers as its plant does."""

import pytest

from catchpan.calls.hidden_home import HiddenHome
from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.measured_value import read_value
from catchpan.diagnosis.worlds.description import Description
from tests.calls.one_home import OPTIONS, SYSTEM


def home(*conditions: str, **told: str) -> HiddenHome:
    described = Description(SYSTEM, OPTIONS, "cooling")
    return HiddenHome(described, set(conditions), told, catalog())


def test_a_sound_home_works_and_a_faulty_one_does_not() -> None:
    assert home().works()
    assert not home("capacitor/herm-open").works()


def test_what_a_motor_does_is_read_off_the_plant() -> None:
    assert home().shows("phone/outdoor-fan") == "turning"
    assert home("capacitor/fan-open").shows("phone/outdoor-fan") == "humming"


def test_a_number_comes_with_its_unit_and_can_be_read_back() -> None:
    shown = home().shows("capacitor/fan-microfarad")
    assert shown is not None
    entry = catalog().checks["capacitor/fan-microfarad"]
    assert read_value(entry, shown) == pytest.approx(5.0e-6, rel=0.02)


def test_every_check_of_the_catalog_can_be_answered_or_is_not_there() -> None:
    here = home("capacitor/herm-open", "drain/trap-plugged", "water/primary-pan-full")
    for name, entry in catalog().checks.items():
        shown = here.shows(name)
        known = {a.id for a in entry.answers} | {"absent"}
        if shown is not None and entry.observe.quantity not in {"reset", "option"}:
            assert shown in known or read_value(entry, shown) is not None


def test_a_repair_removes_what_it_fixes() -> None:
    here = home("capacitor/herm-open")
    assert here.repair("electrical/replace-run-capacitor")
    assert here.conditions == set()


def test_a_fuse_blows_again_while_its_short_is_there() -> None:
    here = home("low-voltage/short-yc-outdoor", "low-voltage/fuse-blown")
    assert not here.repair("control/replace-low-voltage-fuse")
    assert "low-voltage/fuse-blown" in here.conditions
    here.repair("control/clear-outdoor-short")
    assert here.repair("control/replace-low-voltage-fuse")


def test_what_physics_cannot_know_is_told_or_usual() -> None:
    check = "history/trimming-digging"
    assert home().shows(check) == "no"
    assert home(**{check: "yes"}).shows(check) == "yes"


def test_proofs_fail_before_the_repair_and_pass_after_it() -> None:
    here = home("capacitor/fan-open")
    proof = next(p for p in catalog().proofs.values() if p.observe.of == "outdoor_fan.state")
    assert here.proves(proof.id) == "fail"
    here.repair("electrical/replace-run-capacitor")
    assert here.proves(proof.id) == "pass"

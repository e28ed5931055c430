"""What was reset or emptied runs again, but it is not mended while its cause is there.

Common practice in the trade, no source: a limit, a float, a pressure switch or a fuse did its job;
the system is not repaired until what made it act is found.
"""

from dataclasses import replace
from functools import cache
from typing import NamedTuple

import numpy as np
import pytest

from catchpan.calls.described import usual_setting
from catchpan.catalog.load import catalog
from catchpan.diagnosis.cases.case import Case, Tried
from catchpan.diagnosis.cases.weigh import weigh
from catchpan.diagnosis.inference.belief import Belief, Reading
from catchpan.diagnosis.inference.causes import rank_causes
from catchpan.diagnosis.planning.planner import Situation, plan
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family


class Scene(NamedTuple):
    """A root, what it left behind, the repair that puts only that back, and the one that mends."""

    system: str
    season: str
    root: str
    left: str
    reset: str
    cure: str


AIR_HANDLER = "air-conditioner-air-handler"
FURNACE = "air-conditioner-condensing-furnace"
FILTER = Scene(FURNACE, "heating", "air/filter-clogged", "gas/limit-tripped-hot",
               "gas/cure-overheating", "air/change-filter")  # fmt: skip
TRAP = Scene(AIR_HANDLER, "cooling", "drain/trap-plugged", "water/primary-pan-full",
             "drain/empty-primary-pan", "drain/clear-trap")  # fmt: skip
COIL = Scene(AIR_HANDLER, "cooling", "refrigerant/outdoor-coil-fouled",
             "refrigerant/high-pressure-tripped", "refrigerant/restore-pressure-switch",
             "refrigerant/wash-outdoor-coil")  # fmt: skip
SHORT = Scene(AIR_HANDLER, "cooling", "low-voltage/short-coil-wire-intermittent",
              "low-voltage/fuse-blown", "control/replace-low-voltage-fuse",
              "control/repair-control-wire")  # fmt: skip
SCENES = pytest.mark.parametrize("scene", [FILTER, TRAP, COIL, SHORT], ids=lambda s: s.root)

ROOTS = {
    *(s.root for s in (FILTER, TRAP, COIL, SHORT)),
    "gas/limit-failed-open",
    "gas/ignitor-cracked",
    "capacitor/fan-open",
}
CHECKS = ("complaint/no-", "gas/board-code", "air/filter", "drain/pan", "refrigerant/outdoor-coil")


@cache
def description(scene: Scene) -> Description:
    said = {"location": "attic", "float_switch": "in_r", "aux_pan": "none", "drain": "gravity"}
    options = usual_setting(scene.system, said, catalog())
    return Description(scene.system, options, season=scene.season)  # type: ignore[arg-type]


@cache
def family_of(scene: Scene) -> Family:
    whole = catalog()
    faults = {k: f for k, f in whole.faults.items() if k in ROOTS or f.kind != "root"}
    checks = {k: c for k, c in whole.checks.items() if k.startswith(CHECKS)}
    data = replace(whole, faults=faults, checks=checks)
    return compile_family(description(scene), data, size=Size(settings=1, pairs=20))


def tripped(scene: Scene) -> Belief:
    """What was left behind is there; three to two that its root is too, and nothing else."""
    family = family_of(scene)
    rooted = np.array([w.roots == {scene.root} and scene.left in w.conditions
                       for w in family.worlds])  # fmt: skip
    bare = np.array([w.conditions == {scene.left} for w in family.worlds])
    assert rooted.any()
    assert bare.any()
    chance = np.exp(family.log_prior)
    chance = 0.6 * chance * rooted / chance[rooted].sum() + 0.4 * bare / bare.sum()
    return Belief(family, np.log(np.maximum(chance, 1e-12)))


def share_of(belief: Belief, root: str) -> float:
    return next((s.probability for s in rank_causes(belief).roots if s.id == root), 0.0)


def lasting(belief: Belief) -> float:
    return float(belief.probabilities()[belief.family.lasts].sum())


@SCENES
def test_what_was_put_back_runs_but_does_not_last(scene: Scene) -> None:
    after = tripped(scene).repair_tried(scene.reset, worked=True)
    chance, family = after.probabilities(), after.family
    assert family.struggling is not None
    assert chance[family.works | family.struggling].sum() > 0.7
    assert share_of(after, scene.root) > 0.25
    assert lasting(after) < 0.75


@SCENES
def test_the_call_is_not_left_while_the_root_is_likely_there(scene: Scene) -> None:
    after = tripped(scene).repair_tried(scene.reset, worked=True)
    where = Situation("", done=frozenset({scene.reset}))
    assert plan(after.family, after, where).steps[0].kind not in {"stop", "refer"}


@SCENES
def test_once_the_root_is_mended_it_lasts(scene: Scene) -> None:
    after = tripped(scene).repair_tried(scene.reset, worked=True)
    cures = [r for r in after.family.repairs.values() if scene.root in r.fixes]
    mended = after.repair_tried(cures[0].id, worked=True, success=1.0)
    assert lasting(mended) > 0.95
    assert plan(mended.family, mended, Situation("")).steps[0].kind == "stop"


def test_a_root_that_shows_nothing_in_this_season_is_no_reason_to_stay() -> None:
    """A furnace's cracked ignitor does not keep a call about cooling open."""
    summer = FILTER._replace(season="cooling")
    family = family_of(summer)
    mine = [i for i, w in enumerate(family.worlds) if w.conditions == {"gas/ignitor-cracked"}]
    assert mine
    assert family.lasts[mine].all()


def test_a_case_with_the_limit_reset_goes_on_to_the_filter(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("catchpan.diagnosis.cases.weigh.Size", lambda: Size(settings=1, pairs=20))
    whole = catalog()
    faults = {k: f for k, f in whole.faults.items() if k in ROOTS or f.kind != "root"}
    checks = {k: c for k, c in whole.checks.items() if k.startswith(CHECKS)}
    history = (
        Reading("complaint/no-heat", "yes", reporter="caller"),
        Reading("gas/board-code", "limit"),
        Tried(FILTER.reset, worked=True),
    )
    case = Case(((description(FILTER), 1.0),), history)
    weighing = weigh(case, data=replace(whole, faults=faults, checks=checks))
    assert weighing.ranking[0].id == FILTER.root
    assert weighing.no_fault < 0.5
    assert weighing.steps[0].kind not in {"stop", "refer"}

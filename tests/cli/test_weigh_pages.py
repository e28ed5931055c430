"""The pages about cases: what they show is read, and works."""

import re
import tomllib
from typing import Any

import pytest
import yaml

from catchpan.catalog.entry import FaultEntry, RepairEntry
from catchpan.catalog.load import catalog
from catchpan.catalog.system import effect
from catchpan.diagnosis.cases.case import read_case
from catchpan.diagnosis.cases.case_form import CaseForm, ReadingForm, RepairForm, SystemForm
from catchpan.diagnosis.cases.system_words import SPEAKS_FOR
from tests.cli.running import command
from tests.meta.source import ROOT


def blocks(page: str, language: str) -> list[str]:
    """Return the code blocks of a page in one language."""
    text = (ROOT / "docs" / page).read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def test_the_case_on_the_page_is_read_whole() -> None:
    (text,) = blocks("weigh.md", "yaml")
    case = read_case(text)
    assert len(case.history) == 5
    assert case.unanswered == ("phone/coil-ice",)


def test_the_system_on_its_page_is_read() -> None:
    (text,) = blocks("describe-a-system.md", "yaml")
    case = read_case(f"schema: 1\n{text}")
    assert case.systems[0][0].options == {"location": "basement", "drain": "pump_unwired"}


def test_every_kind_of_system_is_on_the_page() -> None:
    page = (ROOT / "docs" / "describe-a-system.md").read_text(encoding="utf-8")
    named = set(re.findall(r"^\| `([a-z-]+)` \|", page, re.MULTILINE))
    assert named == set(catalog().archetypes)
    pieces = {p for a in catalog().archetypes.values() for p in a.pieces}
    assert set().union(*SPEAKS_FOR.values()) <= pieces


def test_every_field_of_a_case_is_on_the_pages() -> None:
    pages = "".join(
        (ROOT / "docs" / name).read_text("utf-8") for name in ("weigh.md", "describe-a-system.md")
    )
    forms = (CaseForm, SystemForm, ReadingForm, RepairForm)
    names = {f.alias or n for form in forms for n, f in form.model_fields.items()}
    assert {n for n in names if n not in pages} == set()


def test_the_problems_on_the_page_are_what_the_program_says(
    capsys: pytest.CaptureFixture[str], tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = (ROOT / "docs" / "weigh.md").read_text(encoding="utf-8")
    (shown,) = re.findall(r"^```\n(catchpan: 2 problems.*?)^```", page, re.MULTILINE | re.DOTALL)
    readings = [
        {"check": "complaint/no-cooling", "answer": "yes"},
        {"check": "phone/outdoor-fan", "answer": "turning"},
        {"check": "capacitor/herm-microfarat", "value": 12},
        {"check": "capacitor/herm-microfarad", "value": "24 V"},
    ]
    monkeypatch.chdir(tmp_path)
    (tmp_path / "case.yaml").write_text(yaml.safe_dump({"schema": 1, "readings": readings}))
    assert command(capsys, "weigh", "case.yaml").err.strip() == shown.strip()


def test_the_entries_that_are_added_on_the_page_follow_the_schema() -> None:
    tables = [tomllib.loads(text) for text in blocks("add-a-fault.md", "toml")]
    (fault,) = (FaultEntry.model_validate(t["fault"][0]) for t in tables if "fault" in t)
    (repair,) = (RepairEntry.model_validate(t["repair"][0]) for t in tables if "repair" in t)
    assert fault.id not in catalog().faults
    assert repair.fixes == (fault.id,)
    assert set(repair.proofs) <= set(catalog().proofs)
    assert [effect(e) for e in fault.effects]
    text = (ROOT / "docs" / "add-a-fault.md").read_text(encoding="utf-8")
    (case,) = blocks("add-a-fault.md", "yaml")
    assert read_case(case).history
    assert "no repair fixes it" in text

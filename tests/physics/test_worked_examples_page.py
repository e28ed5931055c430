"""Every example listed in docs/models/worked-examples.md has its test, with a source beside it,
and so has what docs/models.md says of the refrigerant side."""

import ast
import re
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "models" / "worked-examples.md"
OVERVIEW = PAGE.parents[1] / "models.md"


def _marked(file: Path) -> set[str]:
    """Names of a file's tests that compare with a published value."""
    tests = [
        n
        for n in ast.parse(file.read_text(encoding="utf-8")).body
        if isinstance(n, ast.FunctionDef)
    ]
    return {t.name for t in tests if any("published" in ast.unparse(d) for d in t.decorator_list)}


def test_every_test_named_is_there_and_names_its_source() -> None:
    named = re.findall(r"`([\w/]+\.py)::(\w+)`", PAGE.read_text(encoding="utf-8"))
    assert len(named) >= 24
    assert [f"{file}::{name}" for file, name in named if name not in _marked(HERE / file)] == []


def test_what_the_refrigerant_side_had_to_show_names_tests_and_plots_that_are_there() -> None:
    text = OVERVIEW.read_text(encoding="utf-8")
    named = re.findall(r"`([\w/]+\.py)::(\w+)`", text)
    assert len(named) >= 30
    tests = HERE.parent
    for file, name in named:
        assert f"def {name}(" in (tests / file).read_text(encoding="utf-8"), (file, name)
    shown = re.findall(r"\((\S+\.svg)\)", text)
    assert len(shown) >= 5
    assert [plot for plot in shown if not (OVERVIEW.parent / plot).is_file()] == []

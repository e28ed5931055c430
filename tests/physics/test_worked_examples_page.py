"""Every example listed in docs/models/worked-examples.md has its test, with a source beside it."""

import ast
import re
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "models" / "worked-examples.md"


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

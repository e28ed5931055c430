"""The rooms stay apart, functions and files stay short, and units stay at the edges."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.meta.source import (
    CODE_FOLDERS,
    PACKAGE,
    ROOT,
    body_lines,
    functions,
    modules,
    our_files,
    public_definitions,
    spot,
    tree_of,
)

LONGEST_BODY = 60
LONGEST_MODULE = 450
ROOMS_WITH_FIELD_UNITS = ("units", "cli")
FIELD_UNITS = (
    "psi|psig|psia|degf|degc|fahrenheit|celsius|inwc|inhg|gpm|gph|cfm|btu|btuh|mbh|ton|tons|"
    "lb|lbm|lbs|oz|gal|gallon|gallons|ft|feet|inch|inches|sqft|grains|mil|mils|kcmil|"
    "mfd|uf|ma|mv|kv|kpa|kw|kva|kohm|mohm|mm|cm"
)
ENDS_IN_FIELD_UNIT = re.compile(rf".+_({FIELD_UNITS})", re.IGNORECASE)
VAGUE_NAMES = {"utils", "util", "helpers", "helper", "common", "misc"}


def names_of(tree: ast.Module) -> Iterator[tuple[str, int]]:
    """Yield every name a module gives or uses for a value or a function, with its line."""
    for node in ast.walk(tree):
        match node:
            case ast.Name(id=name) | ast.arg(arg=name) | ast.Attribute(attr=name):
                yield name, node.lineno
            case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name):
                yield name, node.lineno
            case ast.keyword(arg=str(name)):
                yield name, node.value.lineno


def names_in_field_units(tree: ast.Module) -> list[tuple[str, int]]:
    """Return the names of a module that end in a technicians' unit, with their lines."""
    return sorted({found for found in names_of(tree) if ENDS_IN_FIELD_UNIT.fullmatch(found[0])})


def room_of(file: Path) -> str:
    """Return the room a source file belongs to."""
    return file.relative_to(PACKAGE).parts[0]


def test_rooms_import_only_from_rooms_below() -> None:
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("file", modules("src"), ids=lambda file: str(file.relative_to(PACKAGE)))
def test_functions_and_modules_stay_short(file: Path) -> None:
    text = file.read_text(encoding="utf-8").splitlines()
    assert len(text) <= LONGEST_MODULE
    lengths = {node.name: body_lines(node, text) for node in functions(tree_of(file))}
    assert {name: length for name, length in lengths.items() if length > LONGEST_BODY} == {}


def test_only_code_counts_towards_the_length_of_a_function() -> None:
    text = 'def f():\n    """Say."""\n    # why\n\n    a = (\n        1\n    )\n    return a\n'
    (function,) = functions(ast.parse(text))
    assert body_lines(function, text.splitlines()) == 4


def test_names_in_technicians_units_stay_at_the_edges() -> None:
    inside = [file for file in modules("src") if room_of(file) not in ROOMS_WITH_FIELD_UNITS]
    found = [
        f"{spot(file, line)} {name}"
        for file in inside
        for name, line in names_in_field_units(tree_of(file))
    ]
    assert found == []


def test_the_search_for_field_units_sees_arguments_attributes_and_keywords() -> None:
    sample = (
        "def f_cfm(a_psig):\n    b.c_degf = g(d_inwc=1)\n    e_gpm: int = x\n    pressure_pa = 1"
    )
    found = {name for name, _ in names_in_field_units(ast.parse(sample))}
    assert found == {"f_cfm", "a_psig", "c_degf", "d_inwc", "e_gpm"}


@pytest.mark.parametrize("file", modules("src"), ids=lambda file: str(file.relative_to(PACKAGE)))
def test_every_module_and_everything_public_says_what_it_is(file: Path) -> None:
    tree = tree_of(file)
    assert ast.get_docstring(tree), "the module has no docstring"
    silent = [node.name for node in public_definitions(tree) if not ast.get_docstring(node)]
    assert silent == []


def test_what_is_public_is_found_in_classes_too() -> None:
    sample = "class A:\n    def b(self): ...\n    def _c(self): ...\nclass _D: ...\ndef e(): ...\n"
    assert [node.name for node in public_definitions(ast.parse(sample))] == ["A", "b", "e"]


def test_no_file_or_folder_has_a_vague_name() -> None:
    parts = {part for file in our_files() for part in file.relative_to(ROOT).with_suffix("").parts}
    assert parts & VAGUE_NAMES == set()


def test_nobody_inside_imports_the_package_root() -> None:
    found = [
        spot(file, node.lineno)
        for file in modules("src")
        for node in ast.walk(tree_of(file))
        if (isinstance(node, ast.ImportFrom) and node.module == "catchpan")
        or (isinstance(node, ast.Import) and any(name.name == "catchpan" for name in node.names))
    ]
    assert found == []


def test_every_published_marker_names_a_source_and_a_place_in_it() -> None:
    found = [
        spot(file, marker.lineno)
        for file in modules(*CODE_FOLDERS)
        for marker in published_markers(tree_of(file))
        if not names_source_and_place(marker)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("line", "good"),
    [
        ('mark.published("key", "table 3")', True),
        ('pytest.mark.published("key", f"row {n}")', True),
        ("mark.published(row.source, row.locator)", True),
        ('mark.published("key")', False),
        ('mark.published("key", "")', False),
        ('mark.published("key", 3)', False),
        ('mark.published(key="key", locator="table 3")', False),
        ("mark.published(*row)", False),
        ("pytest.mark.published", False),
    ],
)
def test_a_published_marker_needs_two_words(line: str, good: bool) -> None:
    (marker,) = published_markers(ast.parse(line))
    assert names_source_and_place(marker) is good


def published_markers(tree: ast.Module) -> list[ast.expr]:
    """Return every `mark.published(...)` of a module, and those that lack their call."""
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    called = {id(call.func) for call in calls}
    marked = [call for call in calls if is_published(call.func)]
    bare = [node for node in ast.walk(tree) if is_published(node) and id(node) not in called]
    return [*marked, *(node for node in bare if isinstance(node, ast.expr))]


def is_published(node: ast.AST) -> bool:
    """Whether the node reads `mark.published`."""
    match node:
        case ast.Attribute(
            attr="published", value=ast.Attribute(attr="mark") | ast.Name(id="mark")
        ):
            return True
    return False


def names_source_and_place(marker: ast.expr) -> bool:
    """Whether a marker has exactly two arguments, neither of them a constant that is no word."""
    if not isinstance(marker, ast.Call) or marker.keywords:
        return False
    return len(marker.args) == 2 and all(may_be_a_word(argument) for argument in marker.args)


def may_be_a_word(node: ast.expr) -> bool:
    """Whether the expression is a word, or something whose value only the run can tell."""
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str) and bool(node.value.strip())
    return not isinstance(node, ast.Starred)

"""Reading the project's own files, for the tests of its habits."""

import ast
import os
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import TypeGuard

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "catchpan"
CODE_FOLDERS = ("src", "tests", "benchmarks", "tools")
NOT_OURS = {
    ".git",
    ".venv",
    ".cache",
    ".mypy_cache",
    ".ruff_cache",
    ".pytest_cache",
    ".hypothesis",
    ".import_linter_cache",
    "__pycache__",
    "app",
    "dist",
    "node_modules",
}

Function = ast.FunctionDef | ast.AsyncFunctionDef


def our_files() -> Iterator[Path]:
    """Yield every file of the checkout that is written by hand or kept with it."""
    for folder, below, names in os.walk(ROOT):
        below[:] = sorted(set(below) - NOT_OURS)
        yield from (Path(folder) / name for name in sorted(names))


def modules(*folders: str) -> list[Path]:
    """Return every Python file below the named folders of the checkout."""
    return sorted(file for folder in folders for file in (ROOT / folder).rglob("*.py"))


@cache
def tree_of(file: Path) -> ast.Module:
    """Return a Python file's syntax tree."""
    return ast.parse(file.read_text(encoding="utf-8"), str(file))


def spot(file: Path, line: int) -> str:
    """Name a line of a file as an editor would."""
    return f"{file.relative_to(ROOT)}:{line}"


def functions(tree: ast.Module) -> list[Function]:
    """Return every function and method of a module, nested ones too."""
    return [node for node in ast.walk(tree) if isinstance(node, Function)]


def body_lines(function: Function, text: list[str]) -> int:
    """Count the lines of a function's body that hold code, without docstring and comments."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    if not body:
        return 0
    lines = text[body[0].lineno - 1 : body[-1].end_lineno]
    return sum(bool(line.strip()) and not line.lstrip().startswith("#") for line in lines)


def public_definitions(tree: ast.Module) -> Iterator[Function | ast.ClassDef]:
    """Yield what a module offers: its functions and classes, and the methods of those classes."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield node
            yield from (child for child in node.body if is_public_function(child))
        elif is_public_function(node):
            yield node


def is_public_function(node: ast.AST) -> TypeGuard[Function]:
    """Whether the node defines a function whose name has no leading underscore."""
    return isinstance(node, Function) and not node.name.startswith("_")

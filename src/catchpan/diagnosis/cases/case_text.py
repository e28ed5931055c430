"""The text of a case file, YAML or JSON, as plain data; a key given twice is a problem.

Of YAML only what a case needs is read: no anchors, no tags, and plain words stay words (``yes``,
``off`` and ``12:30`` are text here, not truth values or numbers).
"""

import json
import re
from collections.abc import Hashable
from typing import Any, Final

import yaml

LARGEST_FILE_BYTES: Final = 1_000_000
LARGEST_NUMBER_DIGITS: Final = 40


class CaseText(yaml.SafeLoader):
    """Reads the YAML of a case and notes keys given twice."""

    yaml_implicit_resolvers: dict[str, list[tuple[str, re.Pattern[str]]]] = {}  # noqa: RUF012

    def __init__(self, stream: str) -> None:
        super().__init__(stream)
        self.doubled: list[str] = []

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        """Refuse aliases: one small file could stand for a huge one."""
        if self.check_event(yaml.events.AliasEvent):
            mark = self.peek_event().start_mark  # type: ignore[no-untyped-call]
            raise yaml.constructor.ConstructorError(None, None, "an alias is not used here", mark)
        node: yaml.Node | None = super().compose_node(parent, index)
        return node

    def construct_mapping(self, node: yaml.MappingNode, deep: bool = False) -> dict[Hashable, Any]:
        """Note every key that is given twice."""
        seen: set[str] = set()
        for key, _ in node.value:
            if key.value in seen:
                line = key.start_mark.line + 1
                self.doubled.append(f"line {line}: {key.value!r} is given twice")
            seen.add(str(key.value))
        return super().construct_mapping(node, deep=deep)


for _tag, _pattern, _first in (
    ("null", r"~|null|", ["~", "n", ""]),
    ("bool", r"true|false", list("tf")),
    ("int", r"[-+]?(0|[1-9][0-9]*)", list("-+0123456789")),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", list("-+.0123456789")),
):
    CaseText.add_implicit_resolver(
        f"tag:yaml.org,2002:{_tag}", re.compile(rf"^(?:{_pattern})$"), _first
    )


def plain_data(text: str) -> tuple[object, list[str]]:
    """Read the text of a case.

    Parameters
    ----------
    text : str
        YAML or JSON.

    Returns
    -------
    object
        Mappings, lists, text and numbers; None when nothing could be read.
    list of str
        What is wrong with the text, with its line.
    """
    if len(text) > LARGEST_FILE_BYTES:
        return None, [f"{len(text)} characters are too many; at most {LARGEST_FILE_BYTES}"]
    if re.search(rf"\d{{{LARGEST_NUMBER_DIGITS}}}", text):
        return None, [f"a number of {LARGEST_NUMBER_DIGITS} digits or more is no reading"]
    return _json(text) if text.lstrip().startswith("{") else _yaml(text)


def _json(text: str) -> tuple[object, list[str]]:
    doubled: list[str] = []

    def pairs(found: list[tuple[str, object]]) -> dict[str, object]:
        names = [name for name, _ in found]
        doubled.extend(f"{n!r} is given twice" for n in dict.fromkeys(names) if names.count(n) > 1)
        return dict(found)

    try:
        return json.loads(text, object_pairs_hook=pairs, parse_constant=str), doubled
    except RecursionError:
        return None, ["it is nested too deeply"]
    except ValueError as error:
        if "'" in text or "#" in text:
            data, problems = _yaml(text)
            if not problems:
                return data, problems
        return None, [f"not readable as JSON: {error}"]


def _yaml(text: str) -> tuple[object, list[str]]:
    try:
        loader = CaseText(text)
        data: object = loader.get_single_data()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = f"line {mark.line + 1}: " if mark else ""
        return None, [f"{line}not readable as YAML: {error.problem or error.context}"]
    except yaml.YAMLError as error:
        return None, [f"not readable as YAML: {str(error).splitlines()[0]}"]
    except RecursionError:
        return None, ["it is nested too deeply"]
    except (ValueError, TypeError) as error:
        return None, [f"not readable as YAML: {error}"]
    return data, loader.doubled

"""The hook of the wheel's build: the field app is built into the package first.

An editable install is left alone: there `tools.set_up` builds the app where it is used.
"""

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class FieldAppHook(BuildHookInterface):  # type: ignore[type-arg]
    """Builds the field app before a wheel is packed."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:  # noqa: ARG002
        """Build the app with the Node that the build's own environment brings."""
        if version == "editable":
            return
        sys.path.insert(0, self.root)
        from tools import field_app  # noqa: PLC0415 - the checkout is on the path only now

        field_app.build(Path(sys.executable))

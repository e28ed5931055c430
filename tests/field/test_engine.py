"""The field app's own tests: its engine held to what Python makes of the same random trails."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

from benchmarks.vectors import SYSTEMS, System, write_vectors
from catchpan.diagnosis.worlds.compile_family import Size
from catchpan.store.family_shelf import FolderShelf
from tests.field.small_shop import KEPT
from tools.shell import ROOT

FIELD = ROOT / "field"
TRAILS = 24
"""As many as there is time for here; `benchmarks/field_app.md` says how 500 came out."""

SMALL = tuple(System(s.description, Size(settings=1, pairs=60), 0.5) for s in SYSTEMS[:2])


def test_the_engine_agrees_with_python_and_the_trail_keeps_its_promises(tmp_path: Path) -> None:
    write_vectors(tmp_path, TRAILS, SMALL, FolderShelf(KEPT))
    node = Path(sys.executable).with_name("node")
    vitest = FIELD / "node_modules" / "vitest" / "vitest.mjs"
    done = subprocess.run(
        [node, vitest, "run", "--reporter=verbose"],
        cwd=FIELD,
        env={**os.environ, "CATCHPAN_VECTORS": str(tmp_path), "NO_COLOR": "1"},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    assert len(re.findall(r"✓ .*belief of trail \d+", done.stdout)) == TRAILS
    assert len(re.findall(r"✓ .*trail \d+ after \d+ events", done.stdout)) >= TRAILS

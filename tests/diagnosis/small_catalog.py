"""A part of the shipped catalog that compiles in a second or two."""

from dataclasses import replace
from functools import lru_cache

from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.worlds.compile_family import Size

ROOTS = {
    "air/filter-clogged",
    "capacitor/fan-open",
    "capacitor/herm-open",
    "capacitor/herm-weak",
    "contactor/insects",
    "drain/line-plugged",
    "gas/ignitor-cracked",
}
CHECKS = {"contactor/pulled-in", "capacitor/herm-microfarad", "contactor/coil-volts"}
SMALL = Size(settings=4, pairs=40)


@lru_cache(maxsize=1)
def small_catalog() -> Catalog:
    """Return a few roots, all consequences and latent defects, and the questions for the phone."""
    whole = catalog()
    faults = {k: f for k, f in whole.faults.items() if k in ROOTS or f.kind != "root"}
    checks = {
        k: c
        for k, c in whole.checks.items()
        if k in CHECKS or c.complaint or k.startswith(("phone/", "latent/", "option/"))
    }
    return replace(whole, faults=faults, checks=checks)

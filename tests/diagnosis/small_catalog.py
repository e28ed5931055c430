"""A part of the shipped catalog that compiles in a second or two."""

from dataclasses import replace
from functools import lru_cache

from catchpan.catalog.lint import settings_of
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.worlds.compile_family import Size, compile_family
from catchpan.diagnosis.worlds.description import Description
from catchpan.diagnosis.worlds.family import Family

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


CYCLE_ROOTS = {
    "air/filter-clogged",
    "capacitor/herm-open",
    "drain/line-plugged",
    "refrigerant/charge-low",
    "refrigerant/charge-very-low",
    "refrigerant/compressor-valves-worn",
    "refrigerant/line-restricted",
    "refrigerant/non-condensables",
    "refrigerant/orifice-blocked",
    "refrigerant/outdoor-coil-fouled",
    "refrigerant/overcharged",
    "refrigerant/txv-overfeeding",
    "refrigerant/wrong-refrigerant",
}


@lru_cache(maxsize=1)
def cycle_catalog() -> Catalog:
    """Return roots that gauges tell apart, what they leave behind, and the panel's checks."""
    whole = catalog()
    faults = {k: f for k, f in whole.faults.items() if k in CYCLE_ROOTS or f.kind == "consequence"}
    checks = {k: c for k, c in whole.checks.items() if c.observe.quantity == "cycle"}
    checks["air/airflow-by-rise"] = whole.checks["air/airflow-by-rise"]
    return replace(whole, faults=faults, checks=checks)


@lru_cache(maxsize=2)
def cycle_family(metering: str) -> Family:
    """Return the compiled family of an air conditioner with furnace, fed as told."""
    whole = catalog()
    known = next(settings_of("air-conditioner-furnace", whole))
    options = {**known, "metering": metering}
    system = Description("air-conditioner-furnace", options, "cooling", outdoor_c=33, indoor_c=26.5)
    return compile_family(system, cycle_catalog(), size=Size(settings=1, pairs=30))

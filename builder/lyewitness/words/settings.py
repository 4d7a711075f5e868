"""Everything that a study may set, in words: one table for whoever tells two studies apart.

In: the name of a key as study.toml and `data/study.json` have it. Out: its words, its unit, and whether it
can make a column live longer or shorter.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from lyewitness.words.numbers import with_unit


@dataclass(frozen=True, slots=True)
class Setting:
    """One key of a study."""

    words: str
    """As a sentence has it."""
    unit: str = ""
    bears: bool = False
    """Whether lives can differ because of it."""


def _bearing(words: str, unit: str = "") -> Setting:
    return Setting(words, unit, bears=True)


SETTINGS: Mapping[str, Setting] = MappingProxyType({
    # Mobile phase, temperature and flow: of the stress, or of the injections.
    "buffer": _bearing("buffer"),
    "buffer_mM": _bearing("buffer concentration", "mmol/L"),
    "ph": _bearing("pH at the bench"),
    "ph_temperature_C": _bearing("temperature of that pH", "°C"),
    "organic": _bearing("organic solvent"),
    "organic_percent": _bearing("organic share", "%"),
    "temperature_C": _bearing("temperature", "°C"),
    "flow_mL_min": _bearing("flow rate", "mL/min"),
    "wavelength_nm": _bearing("wavelength", "nm"),
    "injection_uL": _bearing("injected volume", "µL"),
    # Columns.
    "label": Setting("label"),
    "group": _bearing("group"),
    "particle": _bearing("particle"),
    "bonding": _bearing("bonding"),
    "length_mm": _bearing("bed length", "mm"),
    "inner_diameter_mm": _bearing("inner diameter", "mm"),
    "particle_um": _bearing("particle diameter", "µm"),
    "core_ratio": _bearing("core ratio"),
    "lot": _bearing("lot"),
    # Every column has its own, and its start: they differ between any two columns.
    "serial": Setting("serial number"),
    "exposure_start": Setting("start of the exposure"),
    "block": Setting("block"),
    "ended": Setting("end of the exposure"),
    "because": Setting("why it was ended"),
    "replaces": Setting("column that it replaces"),
    "upstream": _bearing("upstream"),
    "price": Setting("price"),
    "currency": Setting("currency of the prices"),
    # Markers.
    "role": _bearing("role of the marker"),
    "retention_min": Setting("expected retention", "min"),
    "pka": Setting("pKa"),
    "followed": _bearing("markers"),
    "limits": _bearing("limits"),
    # Questions.
    "question": Setting("question"),
    "text": Setting("question"),
    "asked_by": Setting("asked by"),
    "asked_on": Setting("asked on"),
    "expectation": Setting("expectation"),
    "groups": Setting("groups that it is about"),
    "markers": Setting("markers that it is about"),
    "metrics": Setting("metrics that it is about"),
    "run_time_min": Setting("run time", "min"),
    "decides": Setting("what decides"),
    "span_h": Setting("span asked for", "h"),
    # How it was computed.
    "reference_injections": _bearing("reference injections"),
    "confidence": _bearing("confidence"),
    "noise_window_half_widths": Setting("noise window", "half-height widths"),
    "equivalence_margin_percent": Setting("margin of equivalence", "%"),
    "paired_blocks": Setting("columns paired by blocks"),
    "control": Setting("control group"),
    "extrapolate_to_h": _bearing("lives extrapolated to", "h"),
    "seed": Setting("seed"),
    # Plan and course.
    "running": Setting("still running"),
    "ends_h": Setting("planned end", "h"),
    "looks_h": Setting("planned looks", "h"),
    "kind": Setting("kind"),
    "begin": Setting("begin"),
    "end": Setting("end"),
    "columns": Setting("columns"),
    "still_exposed": Setting("still exposed"),
    "note": Setting("note"),
    "name": Setting("name"),
    "levels": Setting("levels"),
    "ph_hot": Setting("pH when hot"),
    "ph_hot_low": Setting("pH when hot, lower bound"),
    "ph_hot_high": Setting("pH when hot, upper bound"),
})  # fmt: skip


def setting_words(key: str) -> str:
    """Return the words of a key; one that nobody explained in its own."""
    return SETTINGS[key].words if key in SETTINGS else key.replace("_", " ")


def setting_text(key: str, value: object) -> str:
    """Return a value with its unit: `0.3 mL/min`; empty for what is not stated."""
    if value in (None, ""):
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    told = f"{value:g}" if isinstance(value, float) else str(value)
    unit = SETTINGS[key].unit if key in SETTINGS else ""
    return with_unit(told, unit) if unit else told

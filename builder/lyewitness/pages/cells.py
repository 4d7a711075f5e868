"""Small pieces that the tables of many pages share.

In: `Site` and records. Out: heads, cells and facts.
"""

from lyewitness.decline.records import Life
from lyewitness.findings.records import Check
from lyewitness.pages.site import Site
from lyewitness.pages.tables import sized, words
from lyewitness.pages.views import Cell, Fact
from lyewitness.study.records import Column, Conditions
from lyewitness.words.lives import tell
from lyewitness.words.numbers import in_step, interval, stated_in, with_unit
from lyewitness.words.phrases import exposure


def heads(site: Site, *keys: str) -> tuple[str, ...]:
    """Return the theme's words for the heads of a table."""
    return tuple(site.say(f"heads.{key}") for key in keys)


def marker_cell(site: Site, marker: str) -> Cell:
    """Return the cell of a marker, or of 'the column itself' for a metric that has none."""
    return site.cell("marker", marker) if marker else words(site.say("common.column_itself"))


def life_cell(site: Site, life: Life, reason: str = "") -> Cell:
    """Return a life in hours; below it what it is in column volumes, and what was seen on either side.

    `reason` says why it is unclear, where the life itself does not.
    """
    before, after = life.bracket_h
    volumes = life.column_volumes
    told = []
    if volumes.value is not None or volumes.low is not None:
        told.append(site.say("common.volumes", interval=interval(volumes)))
    if life.state == "reached" and before is not None and after is not None:
        told.append(site.say("common.bracket", before=exposure(before), after=exposure(after)))
    if life.state == "reached" and life.conservative_h is not None:
        safe = with_unit(in_step(life.conservative_h, life.hours, down=True), "h")
        told.append(site.say("common.conservative", hours=safe))
    if life.extrapolated:
        told.append(site.say("common.extrapolated"))
    if life.state == "unclear" and reason and not life.hours.reason:
        told.append(reason)
    return sized(tell(life), life.hours.value or life.hours.low, "; ".join(told))


def column_facts(site: Site, column: Column) -> list[Fact]:
    """Return what the study says of a column, as far as it says it."""
    facts = {
        "particle": column.particle,
        "bonding": column.bonding,
        "length": stated_in(column.length_mm, "mm"),
        "inner_diameter": stated_in(column.inner_diameter_mm, "mm"),
        "particle_size": stated_in(column.particle_um, "µm"),
        "core_ratio": stated_in(column.core_ratio, ""),
        "lot": column.lot,
        "serial": column.serial,
        "block": column.block,
        "stress_temperature": stated_in(column.temperature_C, "°C"),
        "stress_ph": stated_in(column.ph, ""),
    }
    return [Fact(key, site.say(f"facts.{key}"), text) for key, text in facts.items() if text]


def conditions_words(site: Site, conditions: Conditions) -> list[Fact]:
    """Return mobile phase, temperature, flow and detection, as far as they are stated."""
    facts = {
        "buffer": " ".join(
            part for part in (conditions.buffer, stated_in(conditions.buffer_mM, "mmol/L")) if part
        ),
        "ph": stated_in(conditions.ph, ""),
        "ph_temperature": stated_in(conditions.ph_temperature_C, "°C"),
        "organic": " ".join(
            part for part in (conditions.organic, stated_in(conditions.organic_percent, "%")) if part
        ),
        "temperature": stated_in(conditions.temperature_C, "°C"),
        "flow": stated_in(conditions.flow_mL_min, "mL/min"),
        "wavelength": stated_in(conditions.wavelength_nm, "nm"),
        "volume": stated_in(conditions.injection_uL, "µL"),
    }
    return [Fact(key, site.say(f"facts.{key}"), text) for key, text in facts.items() if text]


def about(site: Site, check: Check) -> str:
    """Return what was checked, with what it is about where that is a part of the study."""
    part = subject(site, check)
    return f"{check.check} ({part})" if part else check.check


def subject(site: Site, check: Check) -> str:
    """Return what a check is about where that is a part of the study, not the whole."""
    study = site.report.study
    parts = {*study.groups, *(one.id for one in study.columns), *(one.id for one in study.markers)}
    return check.subject if check.subject in parts else ""

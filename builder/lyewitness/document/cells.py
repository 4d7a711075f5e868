"""Small pieces that the tables of many pages share.

In: `Edition` and records. Out: heads, cells and facts.
"""

from collections.abc import Iterable, Iterator, Mapping

from lyewitness.decline.records import Life
from lyewitness.document.blocks import Cell, Fact, Link
from lyewitness.document.edition import Edition
from lyewitness.document.tables import sized, words
from lyewitness.findings.records import Check
from lyewitness.study.records import Column, Conditions
from lyewitness.words.lives import tell
from lyewitness.words.numbers import in_step, interval, stated_in, with_unit
from lyewitness.words.phrases import exposure


def facts_of(edition: Edition, told: Mapping[str, str]) -> tuple[Fact, ...]:
    """Return what is so, by the theme's words for each key; what is not said is left out."""
    return tuple(Fact(key, edition.say(f"facts.{key}"), text) for key, text in told.items() if text)


def in_line(facts: Iterable[Fact]) -> str:
    """Return facts as running text."""
    told = "; ".join(f"{fact.name} {fact.text}" for fact in facts)
    return f"{told}." if told else ""


def linked(links: Iterable[Link]) -> Iterator[str | Link]:
    """Yield links with commas between them."""
    for place, link in enumerate(links):
        if place:
            yield ", "
        yield link


def marker_cell(edition: Edition, marker: str) -> Cell:
    """Return the cell of a marker, or of 'the column itself' for a metric that has none."""
    return edition.cell("marker", marker) if marker else words(edition.say("common.column_itself"))


def life_cell(edition: Edition, life: Life, reason: str = "") -> Cell:
    """Return a life in hours; below it what it is in column volumes, and what was seen on either side.

    `reason` says why it is unclear, where the life itself does not.
    """
    before, after = life.bracket_h
    volumes = life.column_volumes
    told = []
    if volumes.value is not None or volumes.low is not None:
        told.append(edition.say("common.volumes", interval=interval(volumes)))
    if life.hours.value is not None and life.state == "reached" and before is not None and after is not None:
        told.append(edition.say("common.bracket", before=exposure(before), after=exposure(after)))
    if life.state == "reached" and life.conservative_h is not None:
        safe = with_unit(in_step(life.conservative_h, life.hours, down=True), "h")
        told.append(edition.say("common.conservative", hours=safe))
    why = life.hours.reason or reason
    if life.state == "unclear" and why and why not in tell(life):
        told.append(why)
    return sized(tell(life), life.hours.value or life.hours.low, "; ".join(told))


def column_facts(edition: Edition, column: Column) -> tuple[Fact, ...]:
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
    return facts_of(edition, facts)


def conditions_words(edition: Edition, conditions: Conditions) -> tuple[Fact, ...]:
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
    return facts_of(edition, facts)


def about(edition: Edition, check: Check) -> str:
    """Return what was checked, with what it is about where that is a part of the study."""
    part = subject(edition, check)
    return f"{check.check} ({part})" if part else check.check


def subject(edition: Edition, check: Check) -> str:
    """Return what a check is about where that is a part of the study, not the whole."""
    study = edition.report.study
    parts = {*study.groups, *(one.id for one in study.columns), *(one.id for one in study.markers)}
    return check.subject if check.subject in parts else ""

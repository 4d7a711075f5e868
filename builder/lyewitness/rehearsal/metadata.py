"""study.toml of a rehearsed study.

In: `Scenario`. Out: its text, in the order in which a reader wants it.
"""

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import date, datetime, timedelta

from lyewitness.rehearsal.columns import setpoint
from lyewitness.rehearsal.plans import (
    EventPlan,
    GroupPlan,
    LimitPlan,
    MarkerPlan,
    Medium,
    QuestionPlan,
    Scenario,
)
from lyewitness.rehearsal.records import Rehearsal, TrueColumn

BETWEEN_COLUMNS_MIN = 6
"""The columns of a block are tested one after the other, so each was started this much later, minutes."""


def started_at(scenario: Scenario, group: GroupPlan) -> datetime:
    """Return when the stress of a group's columns began."""
    return scenario.started_at + timedelta(minutes=BETWEEN_COLUMNS_MIN * scenario.groups.index(group))


def clock(scenario: Scenario, group: GroupPlan, number: int, exposure_h: float) -> datetime:
    """Return when the column `number` of `group` had `exposure_h` behind it: pauses come on top."""
    paused = sum(
        event.lasting_h for event in scenario.events if event.block in (0, number) and exposure_h > event.at_h
    )
    return started_at(scenario, group) + timedelta(hours=exposure_h + paused)


def stamp(moment: datetime) -> str:
    """Return a time as ISO 8601 writes it, to the minute."""
    return moment.isoformat(timespec="minutes")


NAMES = {
    "plate_number_half_height": "plate number",
    "retention_factor": "retention factor",
    "symmetry_factor": "symmetry factor",
    "hold_up_time_min": "hold-up time",
    "retention_time_min": "retention time",
    "pressure_bar": "pressure",
}


def readme(run: Rehearsal, seed: int) -> str:
    """Return the text of README.md of a scenario that was run with `seed`."""
    scenario = run.scenario
    parts = [
        f"# {scenario.title}",
        scenario.invented
        + " Nothing here was measured; the compounds are real, their behaviour here is not.",
        *_made_again(run, seed),
        "\n".join(_contents(run)),
        "## What is true\n\nThe simulator knows when each column passes each limit. A report built from"
        " this folder should find it; percentages are of the column's own first"
        f" {scenario.reference_injections} injections.",
        "\n".join(_lives(run)),
    ]
    return "\n\n".join(parts) + "\n"


def _made_again(run: Rehearsal, seed: int) -> Iterable[str]:
    """Say how the folder comes about again, where a command makes it."""
    command = run.scenario.command
    if command:
        option = "" if seed == run.scenario.seed else f" --seed {seed}"
        yield f"This folder is made again, byte for byte, by\n\n    {command}{option}"


def _contents(run: Rehearsal) -> Iterable[str]:
    """List what lies in the folder."""
    scenario = run.scenario
    yield f"- {len(run.truth.columns)} columns in {len(scenario.groups)} groups:"
    for group in scenario.groups:
        names = ", ".join(f"{group.letter}{number}" for number in range(1, group.columns + 1))
        yield f"  - {group.name}: {names}"
    yield (
        "- "
        + str(len(run.truth.injections))
        + " injections of "
        + _listed(m.id for m in scenario.markers if m.stated)
    )
    for dialect, count in Counter(injection.dialect for injection in run.truth.injections).items():
        yield f"  - {count} exported as {_format(dialect)}"
    for injection in run.truth.injections:
        if not injection.used:
            yield f"  - {injection.id} is left out: {injection.why}"
    yield "- a log of pressure, temperature, pH and flow"
    if scenario.images:
        yield f"- {len(scenario.images)} drawings that stand in for micrographs and photographs"
    if scenario.notes:
        yield f"- {len(scenario.notes)} lab notes"


def _format(dialect: str) -> str:
    return dialect if dialect == "ASTM E1947 netCDF" else f"delimited text ({dialect})"


def _lives(run: Rehearsal) -> Iterable[str]:
    """Return a table of the true lives, a row for each limit that any column passes in the test."""
    columns = run.truth.columns
    yield "| marker | limit on | " + " | ".join(columns) + " |"
    yield "|---|---|" + "---:|" * len(columns)
    for marker, metric in next(iter(columns.values())).lives_h:
        if any(column.reached(marker, metric) for column in columns.values()):
            lives = " | ".join(_life(column, marker, metric) for column in columns.values())
            yield f"| {marker or 'the column'} | {NAMES.get(metric, metric)} | {lives} |"


def _life(column: TrueColumn, marker: str, metric: str) -> str:
    life = column.lives_h[marker, metric]
    return f"{life:.1f} h" if column.reached(marker, metric) else f"over {column.tested_to_h:g} h"


def _listed(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


Value = str | float | date | bool | tuple[str, ...] | Mapping[str, float]


def study_toml(scenario: Scenario) -> str:
    """Return the text of study.toml."""
    first, *further = scenario.questions
    blocks = [
        f"# {scenario.invented}",
        _table("[study]", _study_keys(scenario, first)),
        *(_table("[[person]]", {"name": name, "role": role}) for name, role in scenario.people),
        _table("[stress]", _medium(scenario.stress)),
        _table("[test]", _medium(scenario.test)),
        *(
            _table("[[column]]", _column(scenario, group, number))
            for group in scenario.groups
            for number in range(1, group.columns + 1)
        ),
        *(_table("[[event]]", _event(scenario, event)) for event in scenario.events),
        *(_factor(name, levels) for name, levels in scenario.factors.items()),
        *(_table("[[marker]]", _marker(scenario, marker)) for marker in scenario.markers if marker.stated),
        _table("[limits]", {limit.metric: _bound(limit) for limit in scenario.limits}),
        _table("[choices]", _choices(scenario)),
        *(_table("[[question]]", {"id": question.id, **_question(question)}) for question in further),
    ]
    if "one column" in scenario.dialects:
        interval: dict[str, Value] = {
            "sampling_interval_s": scenario.detector.interval_s,
            "signal_unit": "mAU",
        }
        blocks.append(_table("[exports]", interval))
    return "\n\n".join(blocks) + "\n"


def _table(header: str, keys: Mapping[str, Value]) -> str:
    """Return a table; keys whose value is empty text or an empty tuple are left out."""
    lines = [f"{key} = {_toml(value)}" for key, value in keys.items() if value not in ("", ())]
    return "\n".join([header, *lines])


def _toml(value: Value) -> str:
    """Return a value as TOML writes it."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_toml(item)}" for key, item in value.items()) + " }"
    return f"{value:g}"


def _key(key: str) -> str:
    """Return a bare key where TOML allows one."""
    return key if all(sign.isalnum() or sign in "_-" for sign in key) else json.dumps(key)


def _study_keys(scenario: Scenario, first: QuestionPlan) -> dict[str, Value]:
    asked = _question(first)
    priced = {"currency": scenario.currency} if scenario.currency else {}
    return {
        "id": scenario.id,
        "title": scenario.title,
        "question": asked.pop("text"),
        **asked,
        "licence": scenario.licence,
        "keywords": scenario.keywords,
        **priced,
        "invented": scenario.invented,
    }


def _question(question: QuestionPlan) -> dict[str, Value]:
    """Return the keys of a question but its id."""
    keys: dict[str, Value] = {
        "text": question.text,
        "asked_by": question.asked_by,
        "asked_on": question.asked_on,
        "groups": question.groups,
        "markers": question.markers,
        "metrics": question.metrics,
        "expectation": question.expectation,
    }
    if question.run_time_min is not None:
        keys["run_time_min"] = question.run_time_min
    if question.decides:
        keys["decides"] = question.decides
    if question.span_h is not None:
        keys["span_h"] = question.span_h
    return keys


def _medium(medium: Medium) -> dict[str, Value]:
    return {key: value for key, value in asdict(medium).items() if value is not None}


def _column(scenario: Scenario, group: GroupPlan, number: int) -> dict[str, Value]:
    keys: dict[str, Value] = {
        "id": f"{group.letter}{number}",
        "label": f"{group.name[0].upper()}{group.name[1:]} {number}",
        "group": group.name,
        "particle": group.particle,
        "bonding": group.bonding,
        "length_mm": group.length_mm,
        "inner_diameter_mm": group.inner_diameter_mm,
        "particle_um": group.particle_um,
    }
    if group.core_ratio is not None:
        keys["core_ratio"] = group.core_ratio
    keys["lot"] = f"invented-{group.letter}-lot{number}"
    keys["serial"] = f"invented-{group.letter}-{100 + number}"
    set_C = setpoint(scenario, group, number)
    if set_C != scenario.stress.temperature_C:
        keys["temperature_C"] = set_C
    if scenario.blocks:
        keys["block"] = f"block {number}"
    if group.upstream:
        keys["upstream"] = group.upstream
    if group.price is not None:
        keys["price"] = group.price
    if scenario.events:
        keys["exposure_start"] = stamp(started_at(scenario, group))
    return keys


def _event(scenario: Scenario, event: EventPlan) -> dict[str, Value]:
    """Return an event by the clock; a pause from its beginning to its end."""
    number = event.block or 1
    began = clock(scenario, scenario.groups[0], number, event.at_h)
    keys: dict[str, Value] = {"kind": event.kind}
    if event.lasting_h:
        keys |= {"from": stamp(began), "to": stamp(began + timedelta(hours=event.lasting_h))}
    else:
        keys["at"] = stamp(began)
    columns = tuple(f"{group.letter}{event.block}" for group in scenario.groups) if event.block else ()
    return {**keys, "columns": columns, "note": event.note}


def _factor(name: str, levels: Mapping[str, tuple[str, ...]]) -> str:
    """Return one factor with the groups that have each of its levels."""
    held = ", ".join(f"{_key(level)} = {_toml(groups)}" for level, groups in levels.items())
    return f"[[factor]]\nname = {_toml(name)}\nlevels = {{ {held} }}"


def _marker(scenario: Scenario, marker: MarkerPlan) -> dict[str, Value]:
    """Return a marker; where it elutes is the plan's value, not that of any one column."""
    retention = {
        group.name: round(group.hold_up_min * (1 + group.markers[marker.id].retention_factor), 2)
        for group in scenario.groups
    }
    keys: dict[str, Value] = {"id": marker.id, "role": marker.role}
    if marker.pka is not None:
        keys["pka"] = marker.pka
    return {**keys, "retention_min": retention}


def _bound(limit: LimitPlan) -> dict[str, float]:
    return {
        key: value
        for key, value in asdict(limit).items()
        if key != "metric" and isinstance(value, int | float)
    }


def _choices(scenario: Scenario) -> dict[str, Value]:
    choices: dict[str, Value] = {"reference_injections": scenario.reference_injections}
    return {**choices, "paired_blocks": True} if scenario.blocks else choices

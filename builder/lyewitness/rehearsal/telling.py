"""README.md of a rehearsed study: that it is invented, what is in it, and what is true of it.

In: `Rehearsal`. Out: Markdown.
"""

from collections import Counter
from collections.abc import Iterable

from lyewitness.rehearsal.records import Rehearsal, TrueColumn

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

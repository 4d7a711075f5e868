"""How often what a report says of lives is true, of whole study folders under laws that nobody promised.

    PYTHONPATH=tests/truths python -m tests.foreign_lives --seed 1          36 folders, about four minutes
    PYTHONPATH=tests/truths python -m tests.foreign_lives --seed 1 --folders 2
    PYTHONPATH=tests/truths python -m tests.foreign_lives --seed 1 --into FOLDER    keeps the folders

In: folders of `truths/foreign_studies.py`, read as a notebook reads them, from traces to tables. Out: a row
for each law, noise, design, width of interval and kind of sentence: true statements of how many.

A life counts as held where its interval holds the life relative to the column's own start or to its first
three injections. Written without knowledge of the program; neither folders nor counts are to be fitted to
it. To judge a change, take a seed that was not looked at while it was made.
"""

import argparse
import re
import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from math import inf, isnan
from pathlib import Path
from typing import Any

from foreign_studies import END_H, TrueColumn, TrueStudy, cases, write

import lyewitness

Row = Mapping[Any, Any]
Statement = tuple[str, bool]
"""What kind of statement, and whether it is true."""
Cells = dict[str, Counter[str]]
ROUNDED_H = 0.05
ROUNDED_TO_HOURS = 0.6
"""Half an hour, for what a sentence rounds, and a little."""
METRICS = ("plate_number_half_height", "retention_factor")
KINDS = (
    "life", "of own start", "failed", "outlived", "flat", "floor", "type", "type outlived", "type's floor",
    "ratio", "equal types", "right side", "alike",
)  # fmt: skip


def number(value: object, otherwise: float) -> float:
    """Return a number of a table, `otherwise` where the cell is empty."""
    if value is None or value == "":
        return otherwise
    told = float(value)  # type: ignore[arg-type]
    return otherwise if isnan(told) else told


def of_column(row: Row, column: TrueColumn) -> Iterator[Statement]:
    """Yield what is said of the life of one column."""
    low, high = number(row["life_low_h"], 0), number(row["life_high_h"], inf)
    own, of_three = column.life_h or inf, column.life_of_three_h or inf
    held_own, held = (
        any(low - ROUNDED_H <= life <= high + ROUNDED_H for life in lives)
        for lives in ((own,), (own, of_three))
    )
    yield "life", held
    yield "of own start", held_own
    state = row["life_state"]
    if state == "reached":
        yield "failed", own <= END_H or of_three <= END_H or high > END_H
    if state == "not reached":
        yield "outlived", low <= max(own, of_three) + ROUNDED_H
    floor = number(row.get("conservative_life_h"), 0)
    if floor:
        yield "floor", floor <= max(own, of_three) + ROUNDED_H
    if (gap := gap_kind(row, low, high)) is not None:
        yield gap, held


def gap_kind(row: Row, low: float, high: float) -> str | None:
    """Return how wide an interval is beside the gap between the injections that the limit lies between."""
    first, last = number(row["first_past_h"], inf), number(row["last_within_h"], inf)
    if row["life_state"] != "reached" or low <= 0 or inf in (high, first, last) or first == last:
        return None
    share = (high - low) / (first - last)
    if share < 0.6:
        return "interval under 0.6 of the gap"
    if share < 0.99:
        return "interval 0.6 to 0.99 of the gap"
    return "interval is the gap" if share <= 1.01 else "interval beyond the gap"


def of_group(row: Row, study: TrueStudy) -> Iterator[Statement]:
    """Yield what is said of the life of a type."""
    group = row["group"]
    low, high = number(row["life_low_h"], 0), number(row["life_high_h"], inf)
    median, mean = study.medians[group] or inf, study.mean_life(group) or inf
    lives = [life or inf for life in study.lives(group)]
    if study.design == "blocks of 4":
        # The types share their blocks: these columns are the population.
        median = mean
    if row["life_state"] in ("reached", "unclear"):
        yield "type", low <= median <= high or (len(lives) == 1 and low <= mean <= high)
    elif row["life_state"] == "not reached":
        of_three = [one.life_of_three_h or inf for one in study.columns if one.group == group]
        yield "type outlived", low <= min(lives) + 0.5 or low <= min(of_three)
    floor = number(row.get("conservative_life_h"), 0)
    if floor:
        yield "type's floor", floor <= min(lives) + 0.5


def of_comparison(row: Row, study: TrueStudy) -> Iterator[Statement]:
    """Yield what is said of two types: their ratio, and which lasts longer."""
    first, second = study.medians[row["group_a"]], study.medians[row["group_b"]]
    true = first / second if first and second else 1.0
    low, high = number(row["ratio_low"], 0), number(row["ratio_high"], inf)
    if (low, high) != (0, inf):
        yield "ratio", low <= true <= high
    finding = row["finding"]
    says = {"a lasts longer": 1, "b lasts longer": -1}.get(finding, 0)
    if abs(true - 1) < 0.01:
        if finding != "these columns only":
            yield "equal types", says == 0
    elif says:
        yield "right side", says == (1 if true > 1 else -1)
    if finding == "no meaningful difference":
        yield "alike", max(true, 1 / true) < 1.25


def said(text: str, study: TrueStudy) -> Iterator[Statement]:
    """Yield what one sentence of the answer says of lives; a sentence of another wording yields nothing."""
    text = text.replace("\u2009", " ").replace("\u00a0", " ")
    for group, typical in study.medians.items():
        columns = [one for one in study.columns if one.group == group]
        pairs = [(one.life_h or inf, one.life_of_three_h or inf) for one in columns]
        if told := re.search(rf"typical {group} column lasts \d+ h \((\d+) to (\d+)\)", text):
            low, high = float(told[1]) - 1, float(told[2]) + 1
            mean = study.mean_life(group) or inf
            yield "said: typical life", low <= (typical or inf) <= high or low <= mean <= high
        if told := re.search(rf"Replace the {group} columns after (\d+) h", text):
            yield "said: replace after", float(told[1]) <= min(own for own, _ in pairs)
        if not re.search(rf"\b{group}\b", text):
            continue
        if told := re.search(r"All failed between ([\d.]+) and ([\d.]+) h", text):
            yield "said: all failed between", all(within(told, own, three) for own, three in pairs)
        for word, choose in (("first", min), ("last", max)):
            pattern = rf"[Tt]he {word} (?:\(\w+\) )?(?:failed )?between ([\d.]+) and ([\d.]+) h"
            if told := re.search(pattern, text):
                ends = (choose(own for own, _ in pairs), choose(three for _, three in pairs))
                yield f"said: the {word} failed between", within(told, *ends)
    by_name = {one.name: (one.life_h or inf, one.life_of_three_h or inf) for one in study.columns}
    if (told := re.search(r"Column (\w+) lasted [\d.]+ h \(([\d.]+) to ([\d.]+)\)", text)) and (
        lives := by_name.get(told[1])
    ):
        low, high = float(told[2]) - ROUNDED_TO_HOURS, float(told[3]) + ROUNDED_TO_HOURS
        yield "said: a column's life", any(low <= life <= high for life in lives)
    pattern = r"(?:The|Column) (Type [PQS]|[PQS]\d)(?: columns)? last(?:ed|s)? at least ([\d.]+) h"
    if told := re.search(pattern, text):
        least = float(told[2]) - ROUNDED_TO_HOURS
        meant = [by_name[one.name] for one in study.columns if told[1] in (one.name, one.group)]
        yield "said: at least", all(max(lives) >= least for lives in meant)


def within(told: re.Match[str], *lives: float) -> bool:
    """Say whether one of these lives lies between the two times of a sentence, which are rounded."""
    low, high = float(told[1]) - 0.1, float(told[2]) + 0.1
    return any(low <= life <= high for life in lives)


def statements(tables: Mapping[str, Sequence[Row]], study: TrueStudy) -> Iterator[Statement]:
    """Yield every statement of the tables about lives, with its truth."""
    deciding = (study.marker, study.metric)
    rows = {row["column"]: row for row in tables["decline"] if (row["marker"], row["metric"]) == deciding}
    for column in study.columns:
        yield from of_column(rows[column.name], column)
    for row in tables["decline"]:
        other = (row["marker"], row["metric"]) != deciding
        if other and row["metric"] in METRICS and row["marker"] != "uracil":
            # All but the metric that decides neither falls nor rises.
            yield "flat", row["life_state"] != "reached"
    for row in tables["group_lives"]:
        if (row["marker"], row["metric"]) == deciding:
            yield from of_group(row, study)
    for row in tables["comparisons"]:
        if (row["marker"], row["metric"]) == deciding:
            yield from of_comparison(row, study)


def count(cells: Cells, study: TrueStudy, told: Sequence[Statement]) -> None:
    """Add the statements about one study to the cells it belongs to."""
    names = ("all", f"law: {study.law}", f"noise: {study.noise}", f"design: {study.design}")
    for name in (*names, "references: fresh" if study.fresh else "references: late"):
        for kind, true in told:
            cells[name][f"{kind} of"] += 1
            cells[name][kind] += true


def table(cells: Cells) -> Iterator[str]:
    """Yield the lines of the table: lives in per cent, all else true statements of how many."""
    yield f"{'':<32}{'lives':>8}" + "".join(f"{kind:>15}" for kind in KINDS)
    for name in ("all", *sorted(cells.keys() - {"all"})):
        cell = cells[name]
        share = 100 * cell["life"] / cell["life of"] if cell["life of"] else float("nan")
        rest = (f"{cell[kind]}/{cell[f'{kind} of']}" if cell[f"{kind} of"] else "." for kind in KINDS)
        yield f"{name:<32}{share:>6.1f} %" + "".join(f"{one:>15}" for one in rest)
    beside = {one for one in cells["all"] if one.startswith(("interval", "said"))}
    for kind in sorted(one for one in beside if not one.endswith(" of")):
        held, of = cells["all"][kind], cells["all"][f"{kind} of"]
        yield f"{kind:<32}{100 * held / of:>6.1f} %{f'{held}/{of}':>15}"


def judged(seed: int, folders: int, into: Path) -> Cells:
    """Write the folders, read each by the program, and count."""
    cells: Cells = defaultdict(Counter)
    for case in islice(cases(seed), folders):
        study = write(case, into)
        report = lyewitness.read(str(into / case.name))
        records = {name: table.to_dict("records") for name, table in report.tables().items()}
        answer = report.answer
        parts = (*answer.sentences, *answer.to_do, *answer.next_experiments)
        texts = (answer.short, *(one.text for one in parts))
        spoken = [one for text in texts for one in said(text, study)]
        count(cells, study, [*statements(records, study), *spoken])
        print(f"{study.name}: {study.law}, {study.noise}, {study.design}", file=sys.stderr, flush=True)
    return cells


def main(given: Sequence[str] | None = None) -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.foreign_lives")
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--folders", type=int, default=36, help="so many of the 36")
    parser.add_argument("--into", type=Path, help="keep the folders here; they must not be there yet")
    chosen = parser.parse_args(given)
    with tempfile.TemporaryDirectory() as scratch:
        cells = judged(chosen.seed, chosen.folders, chosen.into or Path(scratch))
    print("\n".join(table(cells)))
    return 0


if __name__ == "__main__":
    sys.exit(main())

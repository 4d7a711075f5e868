"""The data tables of a report: the contract that others check and reuse.

In: a `Report` and its figures. Out: CSV and JSON files as bytes, by path below the report. Empty cells are
'not measured', never zero; texts that a spreadsheet would compute are made harmless; numbers keep every
digit that a double deserves to be read back by.
"""

import csv
import io
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from functools import partial
from hashlib import sha256
from itertools import chain
from math import isfinite
from typing import TypedDict, TypeVar

from lyewitness.decline.records import Comparison, Decline, FactorEffect, Interaction
from lyewitness.figures.kept import KeptFigure
from lyewitness.figures.records import Figure
from lyewitness.findings.records import Answer, Claim, Report
from lyewitness.peaks.records import PeakRow
from lyewitness.sheaves import Binding, Files, Piece, bound
from lyewitness.store import NO_STORE, Store
from lyewitness.study.events import event_hours, was_there
from lyewitness.study.records import Study
from lyewitness.words.estimates import Estimate
from lyewitness.words.metrics import measured
from lyewitness.words.problems import Problem

STARTS = "=+-@\t\r"
"""With these a cell begins that is taken for a formula (or, behind a tab or line break, may be)."""


def defused(text: str) -> str:
    """Return a cell that no spreadsheet computes; numbers stay numbers."""
    return f"'{text}" if is_formula(text) else text


def is_formula(text: str) -> bool:
    """Return whether a spreadsheet would compute a text; a number, or a sign alone, is none."""
    if len(text) < 2 or text[0] not in STARTS:
        return False
    try:
        float(text)
    except ValueError:
        return True
    return False


def formula_cautions(study: Study) -> tuple[Problem, ...]:
    """Return a caution for each name of the study that stands with an apostrophe in the tables."""
    return tuple(
        Problem(
            "caution",
            file,
            place,
            f"'{text}', which a spreadsheet takes for a formula",
            f"a name that begins with none of {' '.join(STARTS[:4])}",
            "In the report's tables an apostrophe stands before it, so that it is shown and not computed.",
        )
        for file, place, text in dict.fromkeys(_names_of(study))
        if is_formula(text)
    )


def _names_of(study: Study) -> Iterator[tuple[str, str, str]]:
    """Yield file, place and text of every name that gets into a table."""
    for number, column in enumerate(study.columns, start=1):
        yield "study.toml", f"column[{number}].label", column.label
        yield "study.toml", f"column[{number}].group", column.group
        yield "study.toml", f"column[{number}].lot", column.lot
    for injection in study.injections:
        yield "injections.csv", "why", injection.why
        yield "injections.csv", "file", injection.file
    for image in study.images:
        yield "images.csv", "caption", image.caption


Cell = str | int | float | bool | None
Row = TypeVar("Row")


class BecauseWords(TypedDict):
    """One thing that a sentence rests on, as claims.json has it."""

    kind: str
    target: str
    label: str


class ClaimWords(TypedDict):
    """One sentence, as claims.json has it."""

    id: str
    question: str
    part: str
    text: str
    strength: str
    because: list[BecauseWords]


MEASUREMENTS = (
    "injection", "column", "group", "marker", "exposure_h", "exposure_cv", "used", "found",
    *measured("promised"), "flags",
)  # fmt: skip
MEASUREMENTS_BESIDE = ("confidence", "absent_because", *measured("beside"))
ERRORS = tuple(name for name in PeakRow.__dataclass_fields__ if name.endswith("_se"))
"""Standard errors of the metrics, each named after its metric."""
DOUBTS = ("baseline_doubt_percent", "spikes_removed", "resolution_because")
EMG_PARAMETERS = ("center_min", "sigma_min", "tau_min", "area")
DECLINE = (
    "column", "group", "marker", "metric", "reference_value", "reference_sd", "n", "end_h",
    "remaining_percent", "remaining_low", "remaining_high", "model", "rate_per_h", "rate_low", "rate_high",
    "limit", "life_h", "life_low_h", "life_high_h", "life_state",
)  # fmt: skip
DECLINE_BESIDE = (
    "limit_percent", "life_cv", "life_low_cv", "life_high_cv", "last_within_h", "first_past_h",
    "conservative_life_h", "extrapolated", "serial_correlation", "serial_p", "noise_growth",
    "outlying", "reason", "measured_life_h", "measured_life_low_h", "measured_life_high_h",
    "measured_life_state",
)  # fmt: skip
COMPARISONS = (
    "marker", "metric", "group_a", "group_b", "columns_a", "columns_b", "life_ratio", "ratio_low",
    "ratio_high", "p_value", "p_adjusted", "method", "finding",
)  # fmt: skip
COMPARISONS_BESIDE = (
    "rate_ratio", "rate_ratio_low", "rate_ratio_high", "exact_p", "equivalence_p", "rate_p", "columns_needed",
    "reason", "corrected_over", "of_question",
)  # fmt: skip
FACTORS = (
    "factor", "level", "against", "other", "at", "than", "marker", "metric", "columns", "columns_against",
    "ratio", "ratio_low", "ratio_high", "p_value", "p_adjusted", "rate_ratio", "rate_ratio_low",
    "rate_ratio_high", "rate_p_adjusted", "method", "finding", "rate_finding",
)  # fmt: skip
"""Effects, and interactions, which alone have `than` and findings: the effect at `at` ÷ that at `than`."""
EVENTS = ("column", "kind", "begin", "end", "begin_h", "end_h", "exposed", "note")
"""A row for each event and column that it touched; hours of exposure where they can be known."""
CHECKS = ("check", "subject", "result", "detail")
CHECKS_BESIDE = ("id", "bearing", "cure")
TOGETHER = 600
"""Rows of a long table that are kept as one entry: fewer are written as quickly as they are looked up."""
RECORDS = (Decline, Comparison, FactorEffect, Interaction)
"""What tells the meaning of columns that are fields of these."""


def data_files(report: Report, figures: Sequence[Figure], store: Store = NO_STORE) -> Files:
    """Return every file of `data/`, by path below the report; lines of the same rows come from `store`."""
    files = {
        "data/measurements.csv": b"".join(
            (
                csv_lines([(*MEASUREMENTS, *MEASUREMENTS_BESIDE, *emg_names(), *ERRORS, *DOUBTS)]),
                *_lines_kept(
                    report.measurements.rows, lambda some: csv_lines(map(_measurement, some)), store
                ),
            )
        ),
        "data/decline.csv": csv_table((*DECLINE, *DECLINE_BESIDE), map(_decline, report.judgement.declines)),
        "data/comparisons.csv": csv_table(
            (*COMPARISONS, *COMPARISONS_BESIDE), map(_comparison, report.judgement.comparisons)
        ),
        "data/checks.csv": csv_table(
            (*CHECKS, *CHECKS_BESIDE),
            (
                [getattr(check, name) for name in (*CHECKS, *CHECKS_BESIDE)]
                for check in report.findings.checks
            ),
        ),
        "data/claims.json": json_text({"study": report.study.id, "claims": _claims(report.findings.answers)}),
        "data/provenance.json": json_text(report.provenance),
    }
    if report.study.factors:
        judged = report.judgement
        rows = (*map(_effect, judged.factor_effects), *map(_interaction, judged.interactions))
        files["data/factors.csv"] = csv_table(FACTORS, rows)
    if report.study.events:
        files["data/events.csv"] = csv_table(EVENTS, _events(report.study))
    held: dict[str, bytes | Piece] = {**files}
    for figure in figures:
        if not isinstance(figure, KeptFigure) and figure.table:
            held[f"data/figures/{figure.id}.csv"] = b"".join(_lines_kept(figure.table, csv_lines, store))
    return Files(held | dict(_of_kept(figures, store)))


def _of_kept(figures: Sequence[Figure], store: Store) -> Iterator[tuple[str, Piece]]:
    """Yield path and table of each figure whose data stay in the store until they are asked for."""
    runs: dict[str, list[KeptFigure]] = {}
    for figure in figures:
        if isinstance(figure, KeptFigure):
            runs.setdefault(figure.run.key, []).append(figure)
    told = [(key, [one for one in own if one.has_table]) for key, own in runs.items()]
    bindings = [Binding((key, [one.id for one in own]), partial(_csvs, own)) for key, own in told]
    sheaves = bound("tables of figures", bindings, _heads_of, store)
    for (_, own), sheaf in zip(told, sheaves, strict=True):
        for place, (figure, head) in enumerate(zip(own, sheaf.head, strict=True)):
            yield (
                f"data/figures/{figure.id}.csv",
                Piece(*head[:2], partial(_csv_in, sheaf.whole, place), head[2]),
            )


def _csvs(figures: Sequence[Figure]) -> tuple[tuple[bytes, bytes], ...]:
    """Return of each figure the head of its table, and what stands below it."""
    tables = (figure.table for figure in figures)
    return tuple((csv_lines(table[:1]), csv_lines(table[1:])) for table in tables)


def _heads_of(tables: Sequence[tuple[bytes, bytes]]) -> tuple[tuple[str, int, bytes], ...]:
    """Return hash, length and head of each table."""
    return tuple((sha256(head + below).hexdigest(), len(head) + len(below), head) for head, below in tables)


def _csv_in(whole: Callable[[], Sequence[tuple[bytes, bytes]]], place: int) -> bytes:
    return b"".join(whole()[place])


def _events(study: Study) -> Iterator[list[Cell]]:
    """Yield the rows of events.csv, by column and as the folder has them."""
    for column in study.columns:
        for event in study.events:
            if not was_there(event, column, study.events):
                continue
            begin, end = (
                moment.isoformat() if isinstance(moment, datetime) else None
                for moment in (event.begin, event.end)
            )
            placed = event_hours(event, column, study.events)
            hours: tuple[Cell, ...] = (None, None) if placed is None else placed
            yield [column.id, event.kind, begin, end, *hours, event.exposes, event.note]


def csv_table(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return a table as UTF-8, comma, decimal point, one header line."""
    return csv_lines(chain([header], rows))


def csv_lines(rows: Iterable[Sequence[Cell]]) -> bytes:
    """Return rows as lines of a table."""
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows([_cell(value) for value in row] for row in rows)
    return text.getvalue().encode("utf-8")


def _cell(value: Cell) -> str:
    """Return one cell: empty for None and for what is not finite, `yes` and `no` for truth values."""
    if isinstance(value, str):
        return defused(value)
    if isinstance(value, float):
        return f"{value:.10g}" if isfinite(value) else ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else defused(str(value))


def json_text(content: Mapping[str, object]) -> bytes:
    """Return JSON that is the same from run to run."""
    return (json.dumps(content, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode("utf-8")


def emg_names() -> tuple[str, ...]:
    """Return the columns of the fitted parameters: value and standard error of each."""
    return tuple(f"emg_{name}{end}" for name in EMG_PARAMETERS for end in ("", "_se"))


def _lines_kept(
    rows: Sequence[Row], lines: Callable[[Sequence[Row]], bytes], store: Store
) -> Iterator[bytes]:
    """Yield the `lines` of some rows at a time, those of a long table from the store where it has them."""
    for first in range(0, len(rows), TOGETHER):
        some = rows[first : first + TOGETHER]
        if len(rows) <= TOGETHER:
            yield lines(some)
        else:
            yield store.made("lines", (some,), partial(lines, some))


def _measurement(row: PeakRow) -> list[Cell]:
    """Return one row of measurements.csv."""
    plain: list[Cell] = [
        " ".join(row.flags) if name == "flags" else getattr(row, name)
        for name in (*MEASUREMENTS, *MEASUREMENTS_BESIDE)
    ]
    for name in EMG_PARAMETERS:
        fitted = row.emg.get(name, Estimate())
        known = fitted.value is not None and fitted.high is not None
        plain += [fitted.value, _error(fitted.high - fitted.value if known else None)]  # type: ignore[operator]
    return plain + [_error(getattr(row, name)) for name in ERRORS] + [getattr(row, name) for name in DOUBTS]


def _error(value: float | None) -> float | None:
    """Return a standard error to three figures: it is known no better, and tables travel in one file."""
    return None if value is None else float(f"{value:.3g}")


def _decline(decline: Decline) -> list[Cell]:
    """Return one row of decline.csv."""
    series, life = decline.series, decline.life
    return [
        series.column,
        series.group,
        series.marker,
        series.metric,
        decline.reference_value,
        decline.reference_sd,
        len(series.injections),
        decline.end_h,
        *_ends(decline.remaining),
        decline.model.name if decline.model else None,
        *_ends(decline.rate_per_h),
        _limit_words(decline),
        *_ends(life.hours),
        life.state,
        decline.limit_percent,
        *_ends(life.column_volumes),
        *life.bracket_h,
        life.conservative_h,
        life.extrapolated,
        decline.serial_correlation,
        decline.serial_p,
        decline.noise_growth,
        " ".join(decline.outlying),
        decline.reason,
        *_ends((decline.as_measured or life).hours),
        (decline.as_measured or life).state,
    ]


def _limit_words(decline: Decline) -> str:
    """Return the limit as study.toml has it, such as `at_least_percent = 80`; empty where there is none."""
    limit = decline.limit
    if limit is None:
        return ""
    names = ("at_least_percent", "at_most_percent", "at_least", "at_most")
    return next(f"{name} = {getattr(limit, name):g}" for name in names if getattr(limit, name) is not None)


def _ends(estimate: Estimate) -> tuple[float | None, float | None, float | None]:
    """Return value, low and high."""
    return estimate.value, estimate.low, estimate.high


def _comparison(comparison: Comparison) -> list[Cell]:
    """Return one row of comparisons.csv."""
    return [
        comparison.marker,
        comparison.metric,
        comparison.group_a,
        comparison.group_b,
        comparison.columns_a,
        comparison.columns_b,
        *_ends(comparison.life_ratio),
        comparison.p_value,
        comparison.p_adjusted,
        comparison.method,
        comparison.finding,
        *_ends(comparison.rate_ratio),
        comparison.exact_p,
        comparison.equivalence_p,
        comparison.rate_p,
        comparison.columns_needed,
        comparison.reason,
        comparison.corrected_over,
        comparison.of_question if comparison.of_question is not None else "no question",
    ]


def _effect(effect: FactorEffect) -> list[Cell]:
    """Return one effect as a row of factors.csv."""
    return [
        effect.factor,
        effect.level,
        effect.against,
        effect.other,
        effect.at,
        "",
        effect.marker,
        effect.metric,
        " ".join(effect.columns),
        " ".join(effect.columns_against),
        *_ends(effect.ratio),
        effect.p_value,
        effect.p_adjusted,
        *_ends(effect.rate_ratio),
        effect.rate_p_adjusted,
        effect.method,
        "",
        "",
    ]


def _interaction(one: Interaction) -> list[Cell]:
    """Return one interaction as a row of factors.csv."""
    told: list[Cell] = [
        one.factor,
        one.level,
        one.against,
        one.other,
        one.at,
        one.than,
        one.marker,
        one.metric,
    ]
    lives: list[Cell] = ["", "", *_ends(one.ratio), one.p_value, one.p_adjusted]
    rates: list[Cell] = [*_ends(one.rate_ratio), one.rate_p_adjusted, None]
    return [*told, *lives, *rates, one.finding, one.rate_finding]


def _claims(answers: Iterable[Answer]) -> list[ClaimWords]:
    """Return every claim of every answer, with the question it belongs to and its part in the answer."""
    result: list[ClaimWords] = []
    for answer in answers:
        parts: list[tuple[str, Sequence[Claim]]] = [
            ("claim", answer.claims),
            ("recommendation", answer.recommendations),
            ("next experiment", answer.next_experiments),
            ("expectation", [answer.expectation_verdict] if answer.expectation_verdict else []),
        ]
        for part, claims in parts:
            result += [_claim(answer.question.id, part, claim) for claim in claims]
    return result


def _claim(question: str, part: str, claim: Claim) -> ClaimWords:
    """Return one claim as JSON has it."""
    because: list[BecauseWords] = [
        {"kind": one.kind, "target": one.target, "label": one.label} for one in claim.because
    ]
    return {
        "id": claim.id,
        "question": question,
        "part": part,
        "text": claim.text,
        "strength": claim.strength,
        "because": because,
    }

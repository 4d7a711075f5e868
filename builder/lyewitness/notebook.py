"""The door for notebooks: tables as data frames, figures that show themselves, the answer as sentences.

In: the path of a study folder. Out: `StudyReport`. Its tables alone need pandas, the extra `notebook`.
"""

import io
from base64 import b64encode
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from lyewitness import pipeline
from lyewitness.document.themes import load_theme
from lyewitness.figures.drawing import figures_in_turn
from lyewitness.figures.records import Figure
from lyewitness.figures.style import look_from
from lyewitness.findings.records import Answer, Because, Claim, Report, Strength
from lyewitness.outputs.datapackage import explained
from lyewitness.outputs.tables import data_files
from lyewitness.study.records import Exports
from lyewitness.traces.reading import choose_trace, read_traces
from lyewitness.traces.records import Trace

if TYPE_CHECKING:
    from pandas import DataFrame

NAMES = (
    "injection", "column", "group", "marker", "metric", "group_a", "group_b", "flags", "outlying", "subject",
    "id",
)  # fmt: skip
"""Columns that hold names and words: `007` stays `007` in them."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence of the answer with what it rests on."""

    text: str
    strength: Strength
    """`shown`, `indicated`, `not settled` or `contradicted`."""
    evidence: tuple[Because, ...]
    """Kind, id and words of each thing it rests on, such as `decline`, `H1/caffeine/retention_factor`."""

    def __str__(self) -> str:
        return f"{self.text} ({self.strength})"


@dataclass(frozen=True, slots=True, repr=False)
class AnswerInWords:
    """The answer to one question."""

    question: str
    short: str
    """The answer in a sentence or two."""
    how_sure: str
    sentences: tuple[Sentence, ...]
    """Why: the argument, strongest first."""
    to_do: tuple[Sentence, ...]
    """What to do, and to mind."""
    next_experiments: tuple[Sentence, ...]
    """What would settle the rest."""

    def __repr__(self) -> str:
        return f"<{self.question} {self.short}>"

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<li>{escape(one.text)} <small>{escape(one.strength)}: "
            f"{escape(', '.join(because.label for because in one.evidence))}</small></li>"
            for one in self.sentences
        )
        head = f"<p><i>{escape(self.question)}</i></p><p><b>{escape(self.short)}</b></p>"
        return f"{head}<p>{escape(self.how_sure)}</p><ul>{rows}</ul>"


@dataclass(frozen=True, slots=True, repr=False)
class Picture:
    """One figure of the report; the last line of a notebook's cell shows it."""

    id: str
    title: str
    caption: str
    """The finding, then what the marks and bands mean."""
    alt: str
    """What is to be seen, with the numbers."""
    data: bytes
    """SVG or PNG, as in the report."""
    width_px: int
    height_px: int

    def __repr__(self) -> str:
        return f"<figure {self.id}: {self.title}>"

    def _repr_svg_(self) -> str | None:
        return self.data.decode() if self._is_drawing else None

    def _repr_html_(self) -> str:
        kind = "image/svg+xml" if self._is_drawing else "image/png"
        source = f"data:{kind};base64,{b64encode(self.data).decode()}"
        size = f'width="{self.width_px}" height="{self.height_px}"'
        words = f"<figcaption><b>{escape(self.title)}.</b> {escape(self.caption)}</figcaption>"
        return f'<figure><img src="{source}" alt="{escape(self.alt)}" {size}>{words}</figure>'

    @property
    def _is_drawing(self) -> bool:
        return b"<svg" in self.data[:1000]


@dataclass(frozen=True, eq=False, repr=False)
class StudyReport:
    """A study with everything that its report says, computed once."""

    report: Report
    """Every record; see `lyewitness.findings.records`."""
    theme: str | Path = "daylight"
    _drawn: dict[str, Figure] = field(default_factory=dict)
    _drawing: list[Iterator[Figure]] = field(default_factory=list)

    def __repr__(self) -> str:
        study = self.report.study
        counts = (
            f"{len(study.columns)} columns, {len(study.markers)} markers, {len(study.injections)} injections"
        )
        return f"<report of {study.id}: {study.title}; {counts}>"

    @property
    def answer(self) -> AnswerInWords:
        """The answer to the study's first question."""
        return self.answers[0]

    @property
    def answers(self) -> tuple[AnswerInWords, ...]:
        """The answer to each question, in the study's order."""
        return tuple(_in_words(one) for one in self.report.findings.answers)

    def tables(self) -> "dict[str, DataFrame]":
        """Return all tables of `data/`, such as `measurements`, `decline`, `group_lives`, `signs`.

        Columns and units are those of README.md, 'The tables of a report': hours end in `_h`, minutes in
        `_min`, percent in `_percent`; what was not measured is missing, never zero. Raises
        ModuleNotFoundError where pandas is not installed.
        """
        # A large optional library, wanted by this method alone.
        import pandas as pd

        return {
            name.removeprefix("data/").removesuffix(".csv"): pd.read_csv(
                io.BytesIO(data),
                dtype=dict.fromkeys(NAMES, str),
                keep_default_na=False,
                na_values=[""],
                true_values=["yes"],
                false_values=["no"],
            )
            for name, data in explained(self.report, data_files(self.report, ())).items()
            if name.endswith(".csv")
        }

    def figure(self, name: str) -> Picture:
        """Return one figure by its id, such as `lives`; KeyError, with the ids that there are, for another.

        Figures are drawn when they are first asked for, up to the one wanted.
        """
        for one in self._up_to(name):
            if one.id == name:
                return Picture(one.id, one.title, one.caption, one.alt, one.data, one.width_px, one.height_px)
        raise KeyError(f"no figure '{name}'; there are {', '.join(self._drawn)}")

    def figures(self) -> tuple[str, ...]:
        """Return the id of every figure, in the report's order; all are drawn for it."""
        return tuple(one.id for one in self._up_to(""))

    def _up_to(self, name: str) -> Iterator[Figure]:
        """Yield the figures that were drawn, then draw and yield the others."""
        if not self._drawing:
            self._drawing.append(figures_in_turn(self.report, look_from(load_theme(self.theme).look)))
        if name in self._drawn:
            yield self._drawn[name]
            return
        yield from tuple(self._drawn.values())
        for one in self._drawing[0]:
            self._drawn[one.id] = one
            yield one


def read_study_report(folder: Path, theme: str | Path) -> StudyReport:
    """Return the report of a study folder; StudyFolderError with all its problems where there can be none."""
    load_theme(theme)
    return StudyReport(pipeline.compute(folder), theme)


def read_one_trace(
    file: Path,
    trace: str,
    time_unit: Literal["", "min", "s", "h", "ms"],
    signal_unit: str,
    sampling_interval_s: float | None,
) -> Trace:
    """Return the trace called `trace`, or the only one, of an export; StudyFolderError for none."""
    exports = Exports(time_unit, signal_unit, sampling_interval_s)
    return choose_trace(read_traces(file.read_bytes(), file.name, exports), trace)


def _in_words(answer: Answer) -> AnswerInWords:
    return AnswerInWords(
        question=answer.question.text,
        short=answer.short,
        how_sure=answer.how_sure,
        sentences=_sentences(answer.claims),
        to_do=_sentences(answer.recommendations),
        next_experiments=_sentences(answer.next_experiments),
    )


def _sentences(claims: tuple[Claim, ...]) -> tuple[Sentence, ...]:
    return tuple(Sentence(one.text, one.strength, one.because) for one in claims)

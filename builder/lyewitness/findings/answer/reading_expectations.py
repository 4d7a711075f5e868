"""What a free text expects of the groups, where its words leave no doubt.

In: text and the names of the groups. Out: `Expected`, or None: then the reader is to compare for himself.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from lyewitness.findings.answer.group_names import named_groups, words_of
from lyewitness.findings.answer.reading_questions import named_factors
from lyewitness.findings.answer.times_of_use import Span, read_spans
from lyewitness.words.phrases import SPELLED

Kind = Literal["shortest", "longest", "longer", "not shorter", "alike", "holds", "ratio"]

SOUNDS: tuple[tuple[Kind, str], ...] = (
    ("not shorter", r"\b(at least as (long|stable|good|well)|no (shorter|worse|less stable))\b"),
    ("alike", r"\b(no (meaningful )?difference|equally|alike|the same|as long as|as stable as)\b"),
    (
        "longest",
        r"\b(longest|fails? last|last to fail|most stable|best|outlasts? (all|both|the others?|every))\b",
    ),
    (
        "shortest",
        r"\b(earlier|sooner|faster|(fails?|goes?|dies?) first|first to fail|shortest|least stable|worst)\b",
    ),
    ("longer", r"\b(outlasts?|outlives?|longer than|more stable than|better than)\b"),
    ("holds", r"\b(holds?|lasts?|survives?|endures?|within the li(fe|ves)|good for)\b"),
)
"""What each kind of expectation sounds like; the first that fits is taken."""
TIMES = "|".join((r"\d+(?:\.\d+)?", *SPELLED[1:]))
RATIOS: tuple[tuple[float, str], ...] = (
    (2.0, r"\b(doubles?|twice (as|the)|two ?-?fold)\b"),
    (3.0, r"\b(triples?|trebles?|thrice|three ?-?fold)\b"),
    (4.0, r"\b(quadruples?|four ?-?fold)\b"),
    (0.5, r"\b(halves|half (as|the))\b"),
)
"""By how much a life is expected to be multiplied."""
SO_MANY_TIMES = re.compile(
    rf"\b({TIMES})[ -]times (as (long|stable)|longer|the li(fe|ves)|li(fe|ves))\b", re.IGNORECASE
)
REVERSED = (
    r"\b((earlier|sooner|faster) .*\bthan|shorter than|less stable than|worse than|fails? before|"
    r"(sooner|earlier|faster) than)\b"
)
"""The second group is expected to last longer than the first."""
UPPER = r"\b(less than|at most|no more than|up to|fails? (within|by|in)|under)\b"
"""A span that is an upper bound."""
EVERY = r"\b(every|each|all|both|any)\b"
NEGATION = r"\b(not|never|neither|nor|unlikely|doubt|hardly|cannot|\w+n['’]t)\b"


@dataclass(frozen=True, slots=True)
class Expected:
    """An expectation that could be read."""

    kind: Kind
    groups: tuple[str, ...]
    """In the order in which they stand; for `longer` and `not shorter` the longer-lived first."""
    span: Span | None = None
    """For `holds`."""
    every: bool = False
    """For `holds`: whether it is said of every column."""
    at_most: bool = False
    """For `holds`: whether the span is an upper bound."""
    ratio: float | None = None
    """For `ratio`: the life of the first ÷ that of the second."""
    factor: str = ""
    """For `ratio`: the factor that multiplies life, where no group is."""


def read_expectation(
    text: str,
    groups: Sequence[str],
    run_time_min: float | None = None,
    factors: Mapping[str, Sequence[str]] = MappingProxyType({}),
) -> Expected | None:
    """Return what `text` expects of `groups`; None where it is not one plain sentence of a known kind.

    `factors`: the groups at the level that a factor brings, by its name: `a column behind a sacrificial one`.
    """
    sentences = [part for part in re.split(r"[.;!?](?:\s|$)", text.strip()) if part.strip()]
    if len(sentences) != 1 or re.search(NEGATION, text, re.IGNORECASE):
        return None
    named = named_groups(text, groups)
    if (ratio := _read_ratio(text)) is not None:
        return _multiplied(text, ratio, named, groups, factors)
    if re.search(REVERSED, text, re.IGNORECASE):
        return Expected("longer", named[::-1]) if len(named) == 2 else None
    for kind, pattern in SOUNDS:
        if re.search(pattern, text, re.IGNORECASE):
            by_factor = [g for name in named_factors(text, list(factors)) for g in factors[name]]
            meant = tuple(by_factor) if kind == "holds" and not named else named
            return _fitting(kind, meant, groups, text, run_time_min)
    return None


def _fitting(
    kind: Kind, named: tuple[str, ...], groups: Sequence[str], text: str, run_time_min: float | None
) -> Expected | None:
    """Return the expectation where the number of named groups and spans suits its kind."""
    if kind == "alike":
        return Expected(kind, named or tuple(groups)) if len(named) != 1 else None
    if kind in ("longer", "not shorter"):
        return Expected(kind, named) if len(named) == 2 else None
    if kind == "holds" and not named and len(groups) == 1:
        named = tuple(groups)
    if len(named) != 1:
        return None
    if kind != "holds":
        return Expected(kind, named)
    spans = read_spans(text, run_time_min, with_article=True)
    if len(spans) != 1:
        return None
    every, at_most = (bool(re.search(words, text, re.IGNORECASE)) for words in (EVERY, UPPER))
    return Expected(kind, named, spans[0], every, at_most)


def _read_ratio(text: str) -> float | None:
    """Return by how much `text` says that a life is multiplied; None where it says nothing of the kind."""
    if found := SO_MANY_TIMES.search(text):
        word = found.group(1).lower()
        return float(SPELLED.index(word)) if word in SPELLED else float(word)
    return next((ratio for ratio, words in RATIOS if re.search(words, text, re.IGNORECASE)), None)


def _multiplied(
    text: str, ratio: float, named: tuple[str, ...], groups: Sequence[str], factors: Iterable[str]
) -> Expected | None:
    """Return the expected ratio: of a factor that is named, of two groups, or of a group and what it adds to.

    `Silica + part` lasts so many times as long: as the group of which its name holds every word.
    """
    by_factor = named_factors(text, list(factors))
    if len(by_factor) == 1:
        return Expected("ratio", named, ratio=ratio, factor=by_factor[0])
    if len(named) == 1:
        own = set(words_of(named[0]))
        held = [group for group in groups if set(words_of(group)) < own]
        named = (*named, *held) if len(held) == 1 else named
    return Expected("ratio", named, ratio=ratio) if len(named) == 2 else None

"""What a free text expects of the groups, where its words leave no doubt.

In: text and the names of the groups. Out: `Expected`, or None: then the reader is to compare for himself.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lyewitness.findings.answer.group_names import named_groups
from lyewitness.findings.answer.times_of_use import Span, read_spans

Kind = Literal["shortest", "longest", "longer", "not shorter", "alike", "holds"]

SOUNDS: tuple[tuple[Kind, str], ...] = (
    ("not shorter", r"\b(at least as (long|stable|good|well)|no (shorter|worse|less stable))\b"),
    ("alike", r"\b(no (meaningful )?difference|equally|alike|the same|as long as|as stable as)\b"),
    (
        "longest",
        r"\b(longest|fails? last|last to fail|most stable|best|outlasts? (all|both|the others?|every))\b",
    ),
    ("shortest", r"\b(fails? first|first to fail|shortest|least stable|worst|goes? first|dies? first)\b"),
    ("longer", r"\b(outlasts?|outlives?|longer than|more stable than|better than)\b"),
    ("holds", r"\b(holds?|lasts?|survives?|endures?|within the li(fe|ves)|good for)\b"),
)
"""What each kind of expectation sounds like; the first that fits is taken."""
REVERSED = r"\b(shorter than|less stable than|worse than|fails? before|sooner than|earlier than)\b"
"""The second group is expected to last longer than the first."""
UPPER = r"\b(less than|at most|no more than|up to|fails? (within|by|in)|under)\b"
"""A span that is an upper bound; it is left to the reader."""
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


def read_expectation(text: str, groups: Sequence[str], run_time_min: float | None = None) -> Expected | None:
    """Return what `text` expects of `groups`; None where it is not one plain sentence of a known kind."""
    sentences = [part for part in re.split(r"[.;!?](?:\s|$)", text.strip()) if part.strip()]
    if len(sentences) != 1 or re.search(NEGATION, text, re.IGNORECASE):
        return None
    named = named_groups(text, groups)
    if re.search(REVERSED, text, re.IGNORECASE):
        return Expected("longer", named[::-1]) if len(named) == 2 else None
    for kind, pattern in SOUNDS:
        if re.search(pattern, text, re.IGNORECASE):
            return _fitting(kind, named, groups, text, run_time_min)
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
    if len(spans) != 1 or re.search(UPPER, text, re.IGNORECASE):
        return None
    return Expected(kind, named, spans[0], bool(re.search(EVERY, text, re.IGNORECASE)))

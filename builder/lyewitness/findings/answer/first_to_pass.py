"""Which limit the columns of one type pass first, held against what is asked or expected of it.

In: `Evidence`, a `Scope` that names one group, a text that names a metric. Out: a leaning and a clause. `Its
retention always goes first` is answered by what each column passed first, whatever decides the study.
"""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from math import floor
from typing import Literal

from lyewitness.decline.deciding import key_of
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import Decline
from lyewitness.decline.usable_lives import told_together, usable_life
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import NEGATED
from lyewitness.findings.answer.use_claims import by_limit
from lyewitness.findings.evidence import Evidence
from lyewitness.study.questions import asked_metric
from lyewitness.words.metrics import metric_name, the_metric
from lyewitness.words.phrases import hours, kind_of, listed, sentences_of, share_of, spelled

_METRIC = r"(?:retention|plates?|plate numbers?|efficiency|symmetry|tailing|shapes?|pressure)"
_GOES = r"(?:goes?|went|fails?|failed|falls?|drops?|suffers?|gives? way|rises?|climbs?)"
FIRST = re.compile(
    rf"\blos(?:e|es|ing)\s+(?:\w+\s+){{1,4}}first\b|\b{_METRIC}\b[^.;]{{0,30}}\b{_GOES}\b[^.;]{{0,10}}\bfirst\b"
    rf"|\bfirst\b[^.;]{{0,20}}\b(?:is|was|comes?)\s+(?:\w+\s+)?{_METRIC}\b",
    re.IGNORECASE,
)
"""How it sounds that one limit is passed before the others, and not one type before another."""
ENOUGH = 2
"""Columns from which on what all of them did speaks of more than one."""


@dataclass(frozen=True, slots=True)
class FirstPassed:
    """How the limit that was passed first on each column stands to the one that is named."""

    leaning: Literal["borne out", "same way", "in part", "contradicted", "against", "open"]
    words: str


def first_passed(evidence: Evidence, scope: Scope, text: str) -> FirstPassed | None:
    """Return whether a named metric was the first to pass its limit; None where the text says no such."""
    part = next((one for one in sentences_of(text) if FIRST.search(one)), "")
    # What else the sentence names is not what it says to be first.
    found = FIRST.search(part)
    named = {metric for _, metric in asked_metric(found[0], evidence.study)} if found else set()
    groups = scope.asked or scope.groups
    if len(groups) == len(evidence.study.groups) > 1:
        return None
    columns = [one.id for group in groups for one in under_one_stress(evidence.study, group)]
    firsts = [one for one in evidence.judgement.first_failures if one.column in columns and one.metric]
    limited = [d for d in _limited(evidence, columns) if d.series.metric in named]
    if not part or NEGATED.search(part) or not firsts or not limited:
        # `It does not lose retention first` is borne out by what contradicts `it loses retention first`.
        return None
    said = "; ".join(words for group in groups if (words := _of_group(evidence, group)))
    surely = [one for one in firsts if one.metric in named and not one.tied_with]
    perhaps = [
        one for one in firsts if one.metric in named or any(metric in named for _, metric in one.tied_with)
    ]
    if not perhaps:
        if all(d.life.state == "not reached" for d in limited):
            limits = listed(dict.fromkeys(metric_name(d.series.metric) for d in limited), "or")
            said += f"; none passed a limit on the {limits} in {hours(floor(_watched(limited)))}"
        return FirstPassed("contradicted" if len(firsts) >= ENOUGH else "against", said)
    if len(surely) == len(firsts):
        return FirstPassed("borne out" if len(firsts) > ENOUGH else "same way", said)
    if len(perhaps) == len(firsts):
        doubtful = spelled(len(firsts) - len(surely))
        return FirstPassed("open", f"{said}; on {doubtful} another limit was passed about as early")
    return FirstPassed("in part", said)


def _of_group(evidence: Evidence, group: str) -> str:
    """Return `both A columns passed the limit on the pressure first (88 and 102 h)`; empty where none did."""
    columns = [one.id for one in under_one_stress(evidence.study, group)]
    gone = [one.column for one in evidence.judgement.first_failures if one.column in columns and one.metric]
    who = share_of(len(gone), len(columns), f"{kind_of(group)} column")
    return f"{who} passed {_which_first(evidence, gone)}" if gone else ""


def _which_first(evidence: Evidence, columns: Collection[str]) -> str:
    """Return `the limit on the pressure first (88 and 102 h)`; of several limits each with its columns."""
    declines = evidence.judgement.declines
    lives = [usable_life(d for d in declines if d.series.column == column) for column in columns]
    failed = [one for one in lives if one is not None and one.failed_by is not None]
    metrics = dict.fromkeys(the_metric(*key_of(one.failed_by)) for one in failed if one.failed_by)
    if len(metrics) == 1:
        return f"the limit on {next(iter(metrics))} first ({told_together(failed)})"
    return f"these limits first: {by_limit(failed)}"


def _watched(declines: Sequence[Decline]) -> float:
    """Return for how long each column was watched by any of these, hours: the least of them."""
    ends: dict[str, float] = {}
    for one in declines:
        ends[one.series.column] = max(ends.get(one.series.column, 0.0), one.end_h or 0.0)
    return min(ends.values(), default=0.0)


def _limited(evidence: Evidence, columns: Collection[str]) -> list[Decline]:
    """Return what is held against a limit on these columns."""
    return [d for d in evidence.judgement.declines if d.series.column in columns and d.limit is not None]

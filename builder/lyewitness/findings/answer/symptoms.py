"""What a sender has seen on a column of their own, held against how the columns of this test went.

In: `Evidence`, a `Scope` whose question tells of a shoulder, a rising pressure, peaks that come earlier and
asks what that means. Out: replies. `A shoulder grew behind every peak: is this how they go?` wants a yes or
a no before any life.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.usable_lives import held_h
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.evidence import Evidence
from lyewitness.words.phrases import columns_of, down, hours, kind_of, listed, share_of

_MEANING = re.compile(
    r"\b(?:is|was|are) (?:this|that|these|those|it) (?:how|normal|usual|to be expected|dying|dead|"
    r"(?:the|a|our|my) (?:column|bed|frit|packing|phase|silica|sign|beginning|end)s?)\b"
    r"|\b(?:does|do|did) (?:this|that|it|these) mean\b|\bwhat (?:does|do) (?:this|that|it|these) mean\b"
    r"|\bis (?:the|our|my) column (?:\w+ )?(?:dying|dead|gone|done)\b"
    r"|\bwhat (?:is|'s|’s) (?:happening|going on|wrong)\b",
    re.IGNORECASE,
)
"""How it sounds that a sender asks what they have seen means."""
_MOVES = r"(?:up|ris\w+|rose|climb\w*|higher|increas\w+|creep\w*|crept|grow\w*|grew)"


@dataclass(frozen=True, slots=True)
class Symptom:
    """What is seen at the instrument, and the metrics that measure it."""

    pattern: re.Pattern[str]
    metrics: frozenset[str]
    name: str
    """As it stands in `… went first`."""
    check: str
    """What gives the same picture and is no fault of the column (common practice)."""


SYMPTOMS = (
    Symptom(
        re.compile(
            r"\b(?:shoulders?|split(?:s|ting)?|double[ds]? peaks?|broad(?:er|ened|ening)?|"
            r"wider|misshapen|tail(?:s|ed|ing)?|front(?:s|ed|ing))\b",
            re.IGNORECASE,
        ),
        frozenset({"plate_number_half_height", "plate_number_tangent", "symmetry_factor", "resolution"}),
        "plates or peak shape",
        "a loose fitting or a blocked frit can look the same: check both first",
    ),
    Symptom(
        re.compile(
            rf"\bpressure\b[^.?!]{{0,40}}\b{_MOVES}\b|\b{_MOVES}\b[^.?!]{{0,20}}\bpressure\b", re.IGNORECASE
        ),
        frozenset({"pressure_bar"}),
        "pressure",
        "a filter or a capillary that clogs raises the pressure, too: check without the column first",
    ),
    Symptom(
        re.compile(
            r"\b(?:peaks?|everything|markers?|retention)\b[^.?!]{0,30}"
            r"\b(?:earlier|sooner|shorter|shrink\w*|drift\w*|slip\w*)\b",
            re.IGNORECASE,
        ),
        frozenset({"retention_factor", "retention_time_min"}),
        "retention",
        "a change of mobile phase or oven moves retention, too: check both first",
    ),
)
"""In the order in which they are told."""

When = Literal["first", "later", "not", "unlimited"]


def symptoms_told(text: str) -> tuple[Symptom, ...]:
    """Return what a question tells of as seen, where it asks what that means."""
    if not _MEANING.search(text):
        return ()
    return tuple(symptom for symptom in SYMPTOMS if symptom.pattern.search(text))


def symptom_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return whether the columns asked about went as the sender tells; nothing where nothing is told."""
    told = symptoms_told(scope.question.text)
    groups = scope.about
    said = [words for one in told if (words := _reply(evidence, groups, one))]
    # After a yes, what came later is told as that.
    return [*said[:1], *(one.removeprefix("in part: ") for one in said[1:])]


def symptom_checks(scope: Scope) -> list[str]:
    """Return what else gives the picture that a sender tells of."""
    return [one.check for one in symptoms_told(scope.question.text)[:1]]


def _reply(evidence: Evidence, groups: Sequence[str], symptom: Symptom) -> str:
    """Return `yes, in this test all four A columns went like that: plates or peak shape first`."""
    when = {group: _when(evidence, group, symptom) for group in groups}
    limited = {group: one for group, one in when.items() if one[0] != "unlimited"}
    if not limited:
        return ""
    if len(groups) == 1:
        ((group, (state, share)),) = limited.items()
        if state == "first":
            return f"yes, in this test {share} went like that, {symptom.name} first"
        if state == "later":
            return f"in part: {symptom.name} went, too, but later ({share})"
        return f"no, not in this test: {symptom.name} passed no limit on {columns_of(group)}"
    first = [share for state, share in limited.values() if state == "first"]
    later = [columns_of(group) for group, (state, _) in limited.items() if state == "later"]
    never = [columns_of(group) for group, (state, _) in limited.items() if state == "not"]
    if not first and not later:
        return f"no, not in this test: {symptom.name} passed no limit on any column"
    parts = [f"on {listed(first)} {symptom.name} went first"] if first else []
    parts += [f"on {listed(later)} later than another limit"] if later else []
    parts += [f"on {listed(never)} no limit on them was passed"] if never else []
    word = "yes, in this test" if len(first) == len(limited) else "in part: in this test"
    return f"{word} {'; '.join(parts)}"


def _when(evidence: Evidence, group: str, symptom: Symptom) -> tuple[When, str]:
    """Return when the columns of a group passed a limit of this kind, with the share of those that did."""
    columns = [one.id for one in under_one_stress(evidence.study, group)]
    own = [
        d
        for d in evidence.judgement.declines
        if d.series.column in columns and d.series.metric in symptom.metrics and d.limit is not None
    ]
    if not own:
        return "unlimited", ""
    first = [
        one.column
        for one in evidence.judgement.first_failures
        if one.column in columns
        and one.metric
        and (one.metric in symptom.metrics or any(metric in symptom.metrics for _, metric in one.tied_with))
    ]
    column = f"{kind_of(group)} column"
    if 2 * len(first) > len(columns):
        return "first", share_of(len(first), len(columns), column)
    passed = [d for d in own if d.life.state == "reached"]
    if passed:
        which = share_of(len({d.series.column for d in passed}), len(columns), column)
        return "later", f"{which}, none before {hours(down(min(map(held_h, passed))))}"
    return "not", ""

"""Whether columns last as long as a question asks: two days, 500 injections.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: `Claim`s.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lyewitness.findings import because
from lyewitness.findings.answer.group_names import named_groups
from lyewitness.findings.answer.next_column import UsableLife, next_column_h
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.times_of_use import Span, read_spans
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Claim, Strength
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    down,
    hours,
    listed,
    run_together,
    share_of,
    spelled,
)


@dataclass(frozen=True, slots=True)
class Held:
    """How a group's columns stand to a span of time."""

    group: str
    span: Span
    lives: tuple[UsableLife, ...]
    surely: int
    """Columns that surely lasted as long."""
    failed: int
    """Columns that surely did not."""
    next_h: float | None
    """What a next column should hold, hours."""

    @property
    def verdict(self) -> Strength:
        """Return how surely the columns last as long: `contradicted` where none of several did."""
        if self.next_h is not None and self.next_h >= self.span.hours:
            return "shown"
        if self.surely == len(self.lives) > 1:
            return "indicated"
        return "contradicted" if self.failed == len(self.lives) > 1 else "not settled"


def held(evidence: Evidence, scope: Scope, group: str, span: Span) -> Held | None:
    """Return how the columns of `group` stand to `span`; None where no life is known."""
    lives = scope.usable_lives(evidence, group)
    if not lives:
        return None
    return Held(
        group,
        span,
        lives,
        sum(life.low >= span.hours for life in lives),
        sum(life.high is not None and life.high < span.hours for life in lives),
        next_column_h(lives, evidence.study.choices.confidence),
    )


def held_words(found: Held) -> str:
    """Return in words how a group stands to a span."""
    columns, total = columns_of(found.group), len(found.lives)
    span = span_words(found.span)
    more = f": a next one should hold {hours(down(found.next_h))} at least" if found.next_h else ""
    if found.verdict == "shown":
        return f"{columns} last {span}{more}"
    if found.verdict == "indicated":
        return f"{share_of(found.surely, total, 'column')} of {found.group} lasted {span}, but{more[1:]}"
    if found.verdict == "contradicted":
        return f"{columns} do not last {span}: {share_of(0, total, 'column')} did"
    counts = f"of {spelled(total)} tested, {tally(found)}"
    if found.failed:
        return f"not every column of {found.group} lasts {span}: {counts}"
    return f"{CANNOT_TELL} whether a next column of {found.group} lasts {span}: {counts}"


def tally(found: Held) -> str:
    """Return `one surely did and two surely did not`."""
    unclear = len(found.lives) - found.surely - found.failed
    parts = ((found.surely, "surely did"), (found.failed, "surely did not"), (unclear, "cannot be told"))
    return listed(f"{spelled(number)} {words}" for number, words in parts if number)


def span_words(span: Span) -> str:
    """Return `two days (48 h)`."""
    as_hours = "" if span.words.endswith("h") else f" ({hours(span.hours)})"
    return span.words[:1].lower() + span.words[1:] + as_hours


def asked_spans(evidence: Evidence, scope: Scope) -> tuple[tuple[str, Span], ...]:
    """Return (group, span) for what the question's text asks; all groups of the scope where it names none."""
    text = scope.question.text
    named = [g for g in named_groups(text, evidence.study.groups) if g in scope.groups] or list(scope.groups)
    return tuple((g, span) for span in read_spans(text, scope.question.run_time_min) for g in named)


def span_claims(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Say of each span in the question and each group it names whether the columns last as long."""
    for group, span in asked_spans(evidence, scope):
        found = held(evidence, scope, group, span)
        if found is None:
            continue
        strength: Strength = "shown" if found.failed else found.verdict
        yield Claim(
            scope.claim_id("span", group, span.words),
            run_together([held_words(found)]),
            bounded(strength, points, (group,)),
            tuple(because.of_decline(life.decline) for life in found.lives),
        )

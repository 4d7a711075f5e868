"""Which kind of marker passes a limit first, and which keeps all: `the base goes first, the neutral is fine`.

In: `Evidence`, a `Scope`, a text. Out: statements with a leaning and a clause, held against what the columns
passed first and what their other markers passed at all.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import Decline
from lyewitness.decline.usable_lives import told_together, usable_life
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import NEGATED
from lyewitness.findings.evidence import Evidence
from lyewitness.study.questions import ROLE_WORDS, asked_metric, words_of
from lyewitness.words.metrics import the_metric
from lyewitness.words.phrases import columns_of, kind_of, listed, mid_sentence, share_of

IN_TURN = re.compile(r"\b(?:first|before the (?:others?|rest|neutrals?|bases?|acids?))\b", re.IGNORECASE)
KEEPS = re.compile(
    r"\b(?:keeps?|kept|holds?|held|fine|unchanged|unaffected|untouched|intact|stays?|stayed|survives?|well)\b",
    re.IGNORECASE,
)
"""How it sounds that a marker loses nothing."""
PARTS = re.compile(r"\s*(?:[,;:.?!]|\b(?:and|but|while|whereas)\b)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class InTurn:
    """One statement on a kind of marker."""

    quoted: str
    leaning: Literal["borne out", "same way", "in part", "contradicted", "against"]
    words: str


def markers_in_turn(evidence: Evidence, scope: Scope, text: str) -> list[InTurn]:
    """Return what is said of markers by their kind or name, each held against the columns of the scope.

    Nothing where no part of the text says which comes first, or which loses nothing.
    """
    found = []
    for part in filter(None, PARTS.split(text)):
        markers = _markers_of(evidence, scope, part)
        if not markers or NEGATED.search(part):
            continue
        if IN_TURN.search(part):
            statement = _first(evidence, scope, part, markers)
        else:
            statement = _kept(evidence, scope, part, markers) if KEEPS.search(part) else None
        found += [statement] if statement is not None else []
    return found


def _markers_of(evidence: Evidence, scope: Scope, part: str) -> tuple[str, ...]:
    """Return the markers that a part of a sentence names, by their own names or else by their kind."""
    tokens = words_of(part)
    about = scope.question.markers
    retained = [m for m in evidence.study.markers if m.role != "void" and (not about or m.id in about)]
    own = [m.id for m in retained if words_of(m.id) and all(word in tokens for word in words_of(m.id))]
    roles = [role for role, words in ROLE_WORDS if re.search(words, part, re.IGNORECASE)]
    return tuple(own) or tuple(marker.id for marker in retained if marker.role in roles[:1])


def _first(evidence: Evidence, scope: Scope, part: str, markers: Sequence[str]) -> InTurn | None:
    """Hold `the base goes first` against what each column passed first."""
    columns = [one.id for group in scope.groups for one in under_one_stress(evidence.study, group)]
    firsts = [f for f in evidence.judgement.first_failures if f.column in columns and f.metric and f.marker]
    if not firsts:
        return None
    surely = [f for f in firsts if f.marker in markers and all(m in markers for m, _ in f.tied_with if m)]
    perhaps = [f for f in firsts if f.marker in markers or any(m in markers for m, _ in f.tied_with)]
    told = listed(dict.fromkeys(markers))
    column = "column that failed" if len(firsts) < len(columns) else "column"
    if not perhaps:
        others = listed(dict.fromkeys(f.marker for f in firsts))
        return InTurn(part, "contradicted", f"{others} passed a limit first on every {column}")
    share = share_of(len(perhaps), len(firsts), column).replace("that faileds", "s that failed")
    share = share.replace("column s that", "columns that")
    words = f"{told} passed a limit first on {share}"
    if len(surely) < len(perhaps):
        words += ", on some of them another as early, as far as these data tell"
    if len(perhaps) == len(firsts):
        return InTurn(part, "borne out" if len(surely) == len(firsts) else "same way", words)
    return InTurn(part, "in part", words)


def _kept(evidence: Evidence, scope: Scope, part: str, markers: Sequence[str]) -> InTurn | None:
    """Hold `the neutral keeps its plates` against what it passed on the columns of each type."""
    metrics = {metric for _, metric in asked_metric(part, evidence.study)}
    own = {
        group: [
            d
            for column in under_one_stress(evidence.study, group)
            for d in evidence.judgement.declines
            if d.series.column == column.id and d.series.marker in markers and d.limit is not None
            if not metrics or d.series.metric in metrics
        ]
        for group in scope.groups
    }
    if not any(own.values()):
        return None
    lost = {group: words for group, declines in own.items() if (words := _lost(group, declines))}
    told = listed(dict.fromkeys(markers))
    kept = [columns_of(group) for group, declines in own.items() if declines and group not in lost]
    surely = all(d.life.state == "not reached" for declines in own.values() for d in declines)
    if not lost:
        where = "any column" if len(own) > 1 else columns_of(next(iter(own)))
        return InTurn(part, "borne out" if surely else "same way", f"{told} passed no limit on {where}")
    words = "; ".join(lost.values())
    if kept:
        return InTurn(part, "in part", f"{words}; on {listed(kept)} {told} passed no limit")
    return InTurn(part, "contradicted", words)


def _lost(group: str, declines: Sequence[Decline]) -> str:
    """Return `toluene passed the limit on the plate number on all four A columns (65 to 82 h)`."""
    by_metric: dict[tuple[str, str], list[Decline]] = {}
    for one in declines:
        if one.life.state == "reached":
            by_metric.setdefault((one.series.marker, one.series.metric), []).append(one)
    if not by_metric:
        return ""
    key = max(by_metric, key=lambda own: len(by_metric[own]))
    total = len({d.series.column for d in declines})
    lives = [life for d in by_metric[key] if (life := usable_life([d])) is not None]
    which = share_of(len(lives), total, f"{kind_of(group)} column")
    return f"the limit on {the_metric(*key)} was passed on {which} ({told_together(lives)})"


FITS = re.compile(
    r"\b(?:does|do|would) (?:that|this|it|these|those) (?:\w+ )?(?:fit|agree|match|go with)\b"
    r"|\bis (?:that|this|it) (?:what|how|in line|the same)\b",
    re.IGNORECASE,
)
"""How it sounds that a sender asks whether theirs went like those of the test."""


def in_turn_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return whether the markers of the columns tested went as the sender tells; nothing where not asked."""
    text = scope.question.text
    told = markers_in_turn(evidence, scope, text) if FITS.search(text) else []
    if not told:
        return []
    good = [one.leaning in ("borne out", "same way") for one in told]
    first, *others = told
    if good[0] and IN_TURN.search(first.quoted):
        # That what is fine as yet goes later on is no other course.
        joints = ["; " if one else "; later, " for one in good[1:]]
        word = "yes"
    else:
        partly = any(good) or any(one.leaning == "in part" for one in told)
        word = "yes" if all(good) else "in part" if partly else "no"
        joints = ["; " if one == good[0] else "; but " for one in good[1:]]
    rest = "".join(f"{joint}{mid_sentence(one.words)}" for joint, one in zip(joints, others, strict=True))
    return [f"{word}: in this test {mid_sentence(first.words)}{rest}"]

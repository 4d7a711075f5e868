"""What one limit settles of two types where whichever limit comes first does not.

In: `Evidence`, the audit's `Point`s, a `Scope`, a `Ranking`. Out: a clause. Who asks whether a lot is worse
wants to hear that its base tails sooner, though the lives of columns by all limits together tell nothing.
"""

import re
from collections.abc import Sequence
from dataclasses import replace

from lyewitness.decline.deciding import key_of
from lyewitness.findings import because
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.course_replies import WORSE
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Pairing, Ranking, rank
from lyewitness.findings.answer.reading_questions import read_question
from lyewitness.findings.audit.points import Point
from lyewitness.findings.evidence import Evidence
from lyewitness.words.lives import tell, tell_ratio
from lyewitness.words.metrics import ANY_LIMIT


def one_limit_replies(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking
) -> list[str]:
    """Return by which limit one of the two types that are compared passes it sooner, as the first thing to
    tell where nothing is settled by whichever comes first; nothing for more types, or where no limit tells.

    The p values are corrected for all limits and pairs of the question.
    """
    both = ranking.of(*scope.compared) if len(scope.compared) == 2 else None
    if not scope.by_any or both is None:
        return []
    limits = {key_of(d): d.limit for d in evidence.judgement.declines if scope.concerns(d)}
    told: list[tuple[float, str]] = []
    for key, limit in limits.items():
        if key[1] == ANY_LIMIT or limit is None:
            continue
        own = replace(scope, deciding=key, limit=limit, named=True)
        found = rank(evidence, points, own).of(*scope.compared)
        if found is not None and both.verdict == "longer" and found.first != both.first:
            # Beside an order of lives nobody looks for a limit that has it the other way round.
            continue
        if found is not None and found.verdict == "longer" and found.comparison is not None:
            p = found.comparison.p_adjusted
            told.append((1.0 if p is None else p, _words(evidence, own, found)))
    if not told:
        return []
    said = min(told)[1]
    if both.verdict != "open":
        return [said]
    return [f"{_yes(evidence, scope, said)}; by whichever limit comes first that is not settled"]


BEYOND_SCATTER = re.compile(
    r"\b(?:beyond|more than|larger than|greater than|outside)\b[^.?!]*"
    r"\b(?:scatter|spread|differs?|vary|variation)\b"
    r"|\bdifference\b[^.?!]*\b(?:real|significant|chance|luck)\b"
    r"|\b(?:real|significant)\b[^.?!]*\bdifference\b",
    re.IGNORECASE,
)
"""How a question sounds that asks whether two types differ by more than their columns do."""


def difference_replies(
    evidence: Evidence, points: Sequence[Point], scope: Scope, ranking: Ranking
) -> list[str]:
    """Return whether two types differ by more than columns of one type do, where that is asked."""
    both = ranking.of(*scope.compared) if len(scope.compared) == 2 else None
    if both is None or not BEYOND_SCATTER.search(scope.question.text):
        return []
    by_one = one_limit_replies(evidence, points, scope, ranking)
    if both.verdict == "longer":
        shown = both.strength == "shown"
        order = order_words.longer(scope, both.first, [both.second], True)
        # `May I claim, is the difference real?` holds two questions: a bare yes would answer the other, too.
        beyond = "the difference is beyond what columns of one type differ by"
        sure = "" if shown else f", {order_words.AS_FAR}"
        return [f"{beyond}{sure}: {order}{factor_of(both)}", *by_one]
    if by_one:
        return by_one
    return ["no such difference is shown"] if both.verdict == "open" else ["no: they last alike"]


def _words(evidence: Evidence, scope: Scope, found: Pairing) -> str:
    """Return `the base tails past 1.4 earlier on B than on A: 59 h, against 94 h, by a factor of 1.59 …`."""
    lives = {g: evidence.group_life(g, *scope.deciding) for g in (found.first, found.second)}
    ends = [tell(life.life) for g in (found.second, found.first) if (life := lives[g]) is not None]
    order = order_words.earlier(scope, found.second, found.first, found.strength == "shown").rstrip(",")
    return f"{order}: {', against '.join(ends)}{factor_of(found)}"


def factor_of(found: Pairing) -> str:
    """Return `, by a factor of 1.59 (1.26 to 2.00)`; empty where no ratio is known."""
    if found.comparison is None:
        return ""
    ratio = found.comparison.life_ratio
    if found.comparison.group_a != found.first:
        ratio = because.turned(ratio)
    times = tell_ratio(ratio)
    return f", by a factor of {times}" if times else ""


def _yes(evidence: Evidence, scope: Scope, words: str) -> str:
    """Return the words as a part of a yes, where it is asked whether the first type named is the worse."""
    asks = read_question(scope.question.text, evidence.study.groups)
    return f"in part: {words}" if asks.yes_or_no and WORSE.search(scope.question.text) else words

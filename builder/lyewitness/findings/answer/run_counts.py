"""Lives counted in runs of the asker's method, where a question asks how many it can make.

In: `Evidence`, a `Scope`. Out: a reply. Runs are the hours told in another unit: as if the method ran at the
conditions of the stress throughout, which the advice beside it says.
"""

import re
from math import inf

from lyewitness.decline.records import GroupLife
from lyewitness.decline.usable_lives import failed_before
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.lives_words import is_wide, longest_first
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.side_by_side import ended_words
from lyewitness.findings.answer.use_claims import asked_spans
from lyewitness.findings.evidence import Evidence
from lyewitness.words.lives import falls_past, has_own_verb, tell
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import DOWN, UP, bound, rounded, stated, with_unit
from lyewitness.words.phrases import columns_of, typical_column

HOW_MANY_RUNS = re.compile(r"\bhow many (?:\w+ ){0,2}?(injections|runs|samples|analyses)\b", re.IGNORECASE)
"""How a question sounds that wants a life in runs."""


def run_replies(evidence: Evidence, scope: Scope) -> list[str]:
    """Return how many runs each type does until the limit that decides, the longest-lived first.

    `Until aniline tails past a symmetry factor of 2: 571 (486 to 674) injections of 9 min on a typical A
    column (86 h); …`. Nothing where the question asks for none, names a span, or where no run's length is
    stated.
    """
    asked = HOW_MANY_RUNS.search(scope.question.text)
    run_min = scope.question.run_time_min
    if asked is None or not run_min or scope.limit is None or asked_spans(evidence, scope):
        return []
    lives = longest_first(evidence, scope)
    told = [_runs(evidence, scope, life, asked[1].lower(), run_min) for life in lives]
    if not any(told):
        return []
    until = order_words.passes(scope) if scope.named else f"{the_metric(*scope.deciding)} {_past(scope)}"
    return [f"until {until}: {'; '.join(one for one in told if one)}"]


def _past(scope: Scope) -> str:
    return falls_past(scope.limit) if scope.limit is not None else ""


def _runs(evidence: Evidence, scope: Scope, life: GroupLife, unit: str, run_min: float) -> str:
    """Return how many runs the columns of one group do."""
    each = f"{unit} of {with_unit(stated(run_min), 'min')}"
    own = scope.usable_lives(evidence, life.group, scope.by_any)
    hours = life.life.hours
    if life.life.state == "reached" and hours.value and not is_wide(life) and len(life.columns) > 1:
        known = [end * 60 / run_min for end in (hours.value, hours.low, hours.high) if end is not None]
        figures = len(str(int(known[0])))
        ends = [bound(end, figures, way) for end, way in zip(known[1:], (DOWN, UP), strict=False)]
        runs = f"{rounded(known[0], figures)} ({' to '.join(ends)})"
        return f"{runs} {each} on {typical_column(life.group)} ({tell(life.life).partition(' (')[0]})"
    if not own or has_own_verb(life.life):
        return ""
    least = bound(min(one.low for one in own) * 60 / run_min, 2, DOWN)
    failed = failed_before(own, inf)
    seen = ended_words(own, life.group, "passed it")
    if len(own) == len(failed):
        return f"no more than {least} {each} are sure on {columns_of(life.group)}: {seen}"
    return f"at least {least} {each} on {columns_of(life.group, len(own))}: {seen}"

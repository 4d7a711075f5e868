"""Whether a test tells enough already, or must go on, where a question asks that.

In: `Evidence`, a `Scope`, a `Ranking`. Out: a reply that comes before the lives.
"""

import re

from lyewitness.findings.answer.outlook import expected_passings
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.ranking import Ranking
from lyewitness.findings.evidence import Evidence
from lyewitness.words.phrases import columns_of, hours, listed

ASKED = re.compile(
    r"\b(?:say|tell|know|decide|answer|conclude)\b[^.?!]{0,30}\b(?:already|yet|now)\b"
    r"|\b(?:must|should|does|need|can) (?:the test|it|we)\b[^.?!]{0,20}\b(?:go on|continue|stop|run on|end)\b"
    r"|\b(?:stop|end) the test\b",
    re.IGNORECASE,
)
"""How a question sounds that asks whether to go on."""


def already_replies(evidence: Evidence, scope: Scope, ranking: Ranking) -> list[str]:
    """Return that the test has ended, or whether stopping it would leave the order of the types open."""
    if not ASKED.search(scope.question.text):
        return []
    standing = evidence.standing
    factors = [one for one in ranking.factors if not one.by_rate]
    settled = (
        all(one.verdict != "open" for one in factors)
        if factors
        else bool(ranking.pairings) and not ranking.open_pairs
    )
    if not standing.running:
        ended = f"the test has ended, after {hours(standing.reached_h)}"
        return [f"yes: {ended}"] if settled else [ended]
    if settled:
        return ["it could stop: what the question asks for is settled"]
    near: dict[str, list[str]] = {}
    for one in expected_passings(evidence):
        if one.hours.value is None:
            near.setdefault(evidence.study.column(one.column).group, []).append(one.column)
    told = listed(f"{listed(columns)} ({group})" for group, columns in near.items())
    several = sum(map(len, near.values())) > 1
    rest = [columns_of(group) for group in scope.groups if group not in near] if near else []
    none = f"; of {listed(rest)} none is so far" if rest else ""
    seem = f"; {told} {'seem' if several else 'seems'} past a limit already" if near else ""
    return [f"the test must go on: it does not tell yet{seem}{none}"]

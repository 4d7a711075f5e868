"""What the claims of a report were measured by, and against which limit, held against another report's.

In: limits, claims and answers as the tables of two reports have them. Out: which marker and metric each
claim rests on, and whether two claims were measured alike: a looser limit makes every life longer, and no
claim stronger.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from lyewitness.words.lives import limit_read
from lyewitness.words.metrics import metric_of_marker
from lyewitness.words.phrases import listed

Pair = tuple[str, str]
"""Marker and metric."""
Limits = Mapping[Pair, str]
"""Limit of each, as tables have it."""
Otherwise = Literal["", "other limit", "other measure"]
_WITHOUT_LIMITS = frozenset(("sign", "chemistry", "caution", "image", "note", "check", "method"))
"""Kinds of evidence that no limit bears on."""


@dataclass(frozen=True, slots=True)
class Measured:
    """By what two editions of a claim were measured."""

    kind: Otherwise = ""
    """Empty where both were measured alike."""
    told: str = ""
    """Both limits, or both measures."""


ALIKE = Measured()


def limits_of(decline: Iterable[Mapping[str, str]]) -> dict[Pair, str]:
    """Return the limit of each marker and metric that has one."""
    pairs = ((row.get("marker", ""), row.get("metric", ""), row.get("limit", "")) for row in decline)
    return {(marker, metric): limit for marker, metric, limit in pairs if limit}


def measures_of(
    claims: Sequence[Mapping[str, Any]], answers: Iterable[Mapping[str, Any]], limits: Limits
) -> dict[Pair, frozenset[Pair]]:
    """Return by question and id of a claim the pairs with a limit that it rests on.

    They are named in its evidence, in its words, or in a claim that it rests on; what rests on injections
    alone was measured by what decided its question.
    """
    deciding = {
        str(one.get("id")): (str(one.get("deciding_marker", "")), str(one.get("deciding_metric", "")))
        for one in answers
    }
    named = {metric_of_marker(*pair): pair for pair in limits}
    texts = {(str(one.get("question")), str(one.get("text"))): one for one in claims}

    def pairs_of(claim: Mapping[str, Any], above: tuple[str, ...] = ()) -> set[Pair]:
        evidence = [one for one in claim.get("because") or () if isinstance(one, dict)]
        words = " \n".join((str(claim.get("text", "")), *(str(one.get("label", "")) for one in evidence)))
        found = {pair for name, pair in named.items() if re.search(rf"{re.escape(name)}(?![\w-])", words)}
        targets = [str(one.get("target", "")) for one in evidence]
        found |= {pair for pair in limits if any(_ends(target, pair) for target in targets)}
        question = str(claim.get("question"))
        for one in evidence:
            rests_on = texts.get((question, str(one.get("label", ""))))
            if one.get("kind") == "claim" and rests_on is not None and str(rests_on.get("id")) not in above:
                found |= pairs_of(rests_on, (*above, str(claim.get("id"))))
        kinds = {str(one.get("kind")) for one in evidence}
        by_lives = not kinds or bool(kinds - _WITHOUT_LIMITS)
        return found or ({deciding[question]} & limits.keys() if by_lives and question in deciding else set())

    return {(str(one.get("question")), str(one.get("id"))): frozenset(pairs_of(one)) for one in claims}


def _ends(target: str, pair: Pair) -> bool:
    return any(target.endswith(joint + joint.join(pair)) for joint in "/-")


def held_against(was: frozenset[Pair], now: frozenset[Pair], then: Limits, today: Limits) -> Measured:
    """Return whether claims resting on `was` and on `now` were measured alike; an empty side is no claim."""
    shared = (was & now) if was and now else was | now
    if was and now and not shared:
        told = " against ".join(_pairs(one) for one in (was, now))
        return Measured("other measure", told)
    told = "; ".join(
        f"{metric_of_marker(*pair)}: {changed}"
        for pair in sorted(shared)
        if (changed := limit_changed(pair, then, today))
    )
    return Measured("other limit" if told else "", told)


def limit_changed(pair: Pair, then: Limits, today: Limits) -> str:
    """Return both limits of a marker and metric where they differ: `at least 80 % … then, … now`."""
    was, now = then.get(pair, ""), today.get(pair, "")
    if was == now:
        return ""
    first, other = (limit_read(limit, pair[1]) if limit else "no limit" for limit in (was, now))
    both = " of its reference"
    return f"{first} then, {other.removesuffix(both) if first.endswith(both) else other} now"


def _pairs(pairs: Iterable[Pair]) -> str:
    return listed(metric_of_marker(*pair) for pair in sorted(pairs))

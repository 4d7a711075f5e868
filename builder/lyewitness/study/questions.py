"""What a question names of its study: groups, metrics, factors, and the comparisons that it asks for.

In: the text and the keys of a question as study.toml has them. Out: names, and a `Family` of comparisons.

A question that was stated before the data were seen is a family of its own: what else the study could compare
takes nothing from it. Each is held to the error of one in twenty by itself, which is usual where questions
are on different matters; whoever reads several at once reads several chances to be wrong.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from lyewitness.study.records import Factor, Question, Study


def named_groups(text: str, groups: Sequence[str]) -> tuple[str, ...]:
    """Return the groups that `text` names: by all words of the name, or by those that only this name has.

    `core-shell columns` names the group `core-shell hybrid surface` where no other group is core-shell. Of
    two names of which one holds the other, the longer is meant.
    """
    text = _without_lone_letters(text, groups)
    words = words_of(text)
    tokens = {group: words_of(group) for group in groups}
    present = [group for group in groups if _is_named(group, text, tokens, words)]
    meant = [g for g in present if not any(set(tokens[g]) < set(tokens[other]) for other in present)]
    return tuple(sorted(meant, key=lambda g: min(words.index(w) for w in tokens[g] if w in words)))


_KIND = r"(?:types?|columns?|phases?|lots?|groups?|materials?)"
_UNIT = rf"(?:[°º˚]\s*|\bdeg(?:rees?)?\.?\s+|\d\s*)(?:[CFKVAMhgms])\b(?!\s+{_KIND}\b)"
_LISTED = r"(?:,|[?.!]|$|(?:and|or|vs|versus|against)\b|columns\b)"
_ARTICLE = rf"(\b{_KIND}\s+)?\ba\b(?!\s*{_LISTED})"


def _without_lone_letters(text: str, groups: Sequence[str]) -> str:
    """Return `text` without the letters of `50 °C`, `48 h` and `a type`: they name no `type C`, no `type A`.

    Units stay where groups are named by them.
    """
    units = any(re.search(_UNIT, group) for group in groups)
    bare = text if units else re.sub(_UNIT, " ", text)
    return re.sub(_ARTICLE, lambda found: found[0] if found[1] else " ", bare)


def _codes(text: str) -> set[str]:
    """Return the short names in capitals, as of lots and types: `R`, `P2`; no article, no pronoun."""
    return {word for word in re.findall(r"\b[A-Z][A-Z0-9]?\b", text) if word not in ("A", "I", "PH")}


def _is_named(group: str, text: str, tokens: dict[str, list[str]], words: list[str]) -> bool:
    """Return whether a group is named; by a short name of its own wherever that stands."""
    own = tokens[group]
    if _codes(group) & _codes(text) - {code for other in tokens if other != group for code in _codes(other)}:
        return True
    if own and all(word in words for word in own):
        return True
    elsewhere = {word for other, theirs in tokens.items() if other != group for word in theirs}
    only = [word for word in own if word not in elsewhere and len(word) > 2]
    # The first word of a name says most; a lone later one may be a word of the trade, unless it is called so.
    # What a name adds behind a sign is a part beside the column, and no kind of it.
    kinds = words_of(re.split(r"[+,]|\b(?:with|behind|in)\b", group)[0])
    called = (
        rf"\b{re.escape(word)}s? (?:types?|columns?|phases?|materials?|ones?)\b"
        for word in only
        if word in kinds
    )
    by_kind = any(re.search(pattern, text, re.IGNORECASE) for pattern in called)
    return bool(only) and ((own[0] in only and own[0] in words) or by_kind)


def words_of(text: str) -> list[str]:
    """Return the words of `text`, small and without the s of a plural."""
    return [word.rstrip("s") or word for word in re.findall(r"[^\W_]+", text.lower())]


METRIC_WORDS = (
    ("symmetry_factor", r"\b(tail(s|ed|ing)?|symmetry|asymmetr\w+|peak shapes?|fronts?|fronting)\b"),
    ("retention_factor", r"\b(retention|retain(s|ed)?)\b"),
    ("plate_number_half_height", r"\b(plates?|plate numbers?|efficienc(y|ies))\b"),
    ("pressure_bar", r"\b(back ?pressure|pressure)\b"),
    ("resolution", r"\bresolution\b"),
)
"""How a question names a metric; of a study that limits another one of its kind, that one is meant."""
ROLE_WORDS = (
    ("base", r"\b(bases?|basic|amines?)\b"),
    ("neutral", r"\bneutrals?\b"),
    ("acid", r"\b(acids?|acidic)\b"),
)


def asked_metric(text: str, study: Study) -> Iterator[tuple[str, str]]:
    """Yield the (marker, metric) that `text` names, likeliest first, from `the base tails`."""
    metrics = [metric for metric, words in METRIC_WORDS if re.search(words, text, re.IGNORECASE)]
    tokens = words_of(text)
    own = [m.id for m in study.markers if words_of(m.id) and all(word in tokens for word in words_of(m.id))]
    roles = [role for role, words in ROLE_WORDS if re.search(words, text, re.IGNORECASE)]
    by_role = [marker.id for marker in study.markers if marker.role in roles]
    retained = [marker.id for marker in study.markers if marker.role != "void"]
    if metrics[:1] == ["symmetry_factor"]:
        # Bases tail on what a dying phase uncovers: without a name they are meant.
        retained.sort(key=lambda name: study.marker(name).role != "base")
    limited = [limit.metric for limit in study.limits]
    for metric in metrics:
        kind = metric.split("_")[0]
        meant = [name for name in dict.fromkeys((metric, *limited)) if name.split("_")[0] == kind]
        for name in meant:
            for marker in (own or by_role or retained) if name != "pressure_bar" else [""]:
                yield marker, name


def named_factors(text: str, names: Sequence[str]) -> tuple[str, ...]:
    """Return the factors of which `text` has every word: `a sacrificial silica column` names that column, and
    `one of the phases` the phase."""
    found = []
    for name in names:
        own = words_of(name)
        tokens = {t for token in words_of(_beyond_all(text, own)) for t in (token, token.removesuffix("s"))}
        if own and all(word in tokens for word in own):
            found.append(name)
    return tuple(found)


def _beyond_all(text: str, own: Sequence[str]) -> str:
    """Return `text` without `on both bondings`: who asks for all levels asks nothing of them."""
    if not own:
        return text
    name = r"\s+".join(f"{re.escape(word)}s?" for word in own)
    every = r"(?<!which )(?<!which of )\b(?:both|each|either|all|every)\s+(?:of\s+)?(?:the\s+|our\s+)?"
    return re.sub(rf"{every}(?:(?:two|three|four|\d+)\s+)?{name}\b", " ", text, flags=re.IGNORECASE)


def named_levels(text: str, factor: Factor) -> tuple[str, ...]:
    """Return the levels of a factor that `text` names, in its order: `earlier on phenyl than on C18`.

    By all its words, or by a first one that no other level has. A number or `with` and `without` by
    themselves name none: they stand in a text for many things.
    """
    words, name = words_of(text), words_of(factor.name)
    found = {}
    for level in factor.levels:
        own = [word for word in words_of(level) if word not in name]
        telling = [word for word in own if not word.isdigit() and word not in PLAIN_WORDS]
        elsewhere = {word for other in factor.levels if other != level for word in words_of(other)}
        first = own[0] if own and own[0] in telling and len(own[0]) > 2 and own[0] not in elsewhere else ""
        if telling and (all(word in words for word in own) or first in words):
            found[level] = min(words.index(word) for word in telling if word in words)
    return tuple(sorted(found, key=lambda level: found[level]))


PLAIN_WORDS = ("with", "without", "ye", "no", "on", "off", "none", "control")
"""Words of levels, without the s of a plural, that name nothing by themselves."""


Metric = tuple[str, str]
"""(marker, metric); pressure has an empty marker."""


@dataclass(frozen=True, slots=True)
class Family:
    """The comparisons that one question asks for."""

    question: str
    """Id of the question; empty for the first."""
    groups: frozenset[str]
    metrics: frozenset[Metric]
    factors: frozenset[str] = frozenset()
    """Factors whose effects it asks for."""
    across: frozenset[frozenset[str]] = frozenset()
    """Pairs of groups that differ in one of these factors alone: what such an effect is made of."""

    def holds(self, group_a: str, group_b: str, metric: Metric) -> bool:
        """Return whether the question asks for the comparison of these groups by this metric."""
        pair = frozenset((group_a, group_b))
        return (pair <= self.groups or pair in self.across) and metric in self.metrics


def families_of(study: Study, limited: Sequence[Metric]) -> tuple[Family, ...]:
    """Return the family of each question that was stated beforehand; `limited`: what could be compared by.

    A question that names no metric may be answered by any, whichever fails first, so that it asks for all.
    """
    return tuple(family_of(study, one, limited) for one in study.questions if stated_beforehand(study, one))


def family_of(study: Study, question: Question, limited: Sequence[Metric]) -> Family:
    """Return the comparisons that a question asks for."""
    named = named_groups(question.text, study.groups)
    groups = [group for group in study.groups if group in question.groups]
    if not groups:
        groups = list(named if len(named) > 1 else study.groups)
    factors = named_factors(question.text, [factor.name for factor in study.factors])
    across = frozenset[frozenset[str]]() if question.groups else _across(study, factors)
    metrics = frozenset(_metrics_of(study, question, limited))
    return Family(question.id, frozenset(groups), metrics, frozenset(factors), across)


def _across(study: Study, factors: Sequence[str]) -> frozenset[frozenset[str]]:
    """Return the pairs of groups that differ in one of these factors, and in none of the others."""
    levels = {
        group: {f.name: next((n for n, of in f.levels.items() if group in of), "") for f in study.factors}
        for group in study.groups
    }
    return frozenset(
        frozenset(pair)
        for pair in combinations(study.groups, 2)
        for differing in [[n for n, level in levels[pair[0]].items() if level != levels[pair[1]][n]]]
        if len(differing) == 1 and differing[0] in factors and all(levels[g][differing[0]] for g in pair)
    )


def _metrics_of(study: Study, question: Question, limited: Sequence[Metric]) -> list[Metric]:
    """Return what a question may be answered by: what it says decides, what its words name, else all."""
    inside = [
        (marker, metric)
        for marker, metric in limited
        if (not question.markers or marker in question.markers or not marker)
        and (not question.metrics or metric in question.metrics)
    ]
    if question.deciding in inside:
        return [question.deciding]
    named = [one for one in asked_metric(question.text, study) if one in inside]
    first = study.questions[0].deciding
    return named or ([first] if first in inside else inside)


def stated_beforehand(study: Study, question: Question) -> bool:
    """Return whether a question was asked before the last injection was made, as far as dates tell."""
    dates = [injection.at.date() for injection in study.injections if injection.at is not None]
    return question.asked_on is None or not dates or question.asked_on <= max(dates)

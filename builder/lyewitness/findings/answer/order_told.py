"""The order of types in words: who lasts longest, what is settled of some pairs, and of which we cannot tell.

In: `Evidence`, a `Scope`, a `Ranking`, lives. Out: clauses, with the lives that carry them.
"""

from collections.abc import Iterable, Sequence
from itertools import combinations

from lyewitness.decline.factors import designs_of
from lyewitness.decline.records import GroupLife
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.choosing import best_for_now
from lyewitness.findings.answer.claims import pace_words
from lyewitness.findings.answer.lives_words import each_life, lives_words, to_limit
from lyewitness.findings.answer.one_limit import factor_of
from lyewitness.findings.answer.question_scope import Scope, beside_what_decides
from lyewitness.findings.answer.ranking import Pairing, Ranking
from lyewitness.findings.answer.reading_questions import (
    EARLIER,
)
from lyewitness.findings.answer.side_by_side import (
    SEEN,
    all_apart,
    lasted_longest,
    types_apart,
)
from lyewitness.findings.answer.use_claims import (
    asked_spans,
    first_limit_words,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.words.lives import falls_past, lasting, tell
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    kind_of,
    listed,
    mid_sentence,
    share_of,
    spelled,
)


def _outlasting(scope: Scope, pairings: Sequence[Pairing]) -> list[str]:
    """Return who outlasts whom, one sentence for each longer-lived group."""
    said = []
    for first, strength in dict.fromkeys((p.first, p.strength) for p in pairings):
        others = [p.second for p in pairings if (p.first, p.strength) == (first, strength)]
        said.append(order_words.longer(scope, first, others, strength == "shown"))
    return said


def beside_effects(evidence: Evidence, ranking: Ranking, lives: list[GroupLife], scope: Scope) -> list[str]:
    """Return what the effects of factors leave out: the pairs of which they do not tell, and the lives."""
    said = _outlasting(scope, [pairing for pairing in ranking.untold if pairing.verdict == "longer"])
    if any(p.verdict == "longer" and p.groups in ranking.alone for p in ranking.untold):
        said[0] = f"pair by pair, {mid_sentence(said[0])}"
    if ranking.open_pairs:
        said.append(_open_words(evidence, scope, ranking, bool(said)))
    return [*said, lives_words(evidence, lives, scope)]


def ranked(evidence: Evidence, scope: Scope, ranking: Ranking, lives: list[GroupLife]) -> list[str]:
    """Return who lasts longest, or of whom we cannot tell, with the lives."""
    until = f"until {the_metric(*scope.deciding)} {falls_past(lives[0].limit)}"
    said = each_life(lives)
    if len(scope.groups) == 1 and len(lives[0].columns) == 1:
        return [_single(lives[0], scope)]
    if len(scope.groups) == 1:
        life = lives[0].life
        lasts = lasting(life, "last") if life.state == "reached" else lasting(life)
        here = f"at these conditions, {to_limit(lives[0], the_metric(*scope.deciding), typical=True)}"
        return [f"{columns_of(scope.groups[0])} {lasts} {here}"]
    if scope.by_any:
        # Where a span is asked about, its answer has told how each group stands.
        spans = bool(asked_spans(evidence, scope))
        seen = [lives_words(evidence, lives, scope)] if spans else first_limit_words(evidence, scope)
        verdict = _by_any_limit(evidence, scope, ranking)
        if not spans and (led := led_words(evidence, scope, ranking, seen)):
            return [*led, verdict]
        # Where not all is settled, what was seen says more than that we cannot tell.
        return [verdict, *seen] if ranking.longest or spans else [*seen, verdict]
    if ranking.longest:
        against = _against(ranking.longest, lives)
        won = f"{_winner(scope, ranking)}: {against}{'' if scope.named else f', {until}'}"
        if scope.named and len(scope.groups) == 2 and EARLIER.search(scope.question.text):
            won = _sooner(evidence, scope, ranking, lives) or won
        return _beside_what_decides(evidence, scope, ranking, [won])
    if not any("reached" in life.states for life in lives):
        which = order_words.which(scope, len(lives) > 2)
        none = f"no column is known to have reached the limit, so {CANNOT_TELL} {which}"
        paces = [pace_words(pairing) for pairing in ranking.pairings if pairing.slower]
        told = [f"{none}: {said}, {until}", *paces]
        return _beside_what_decides(evidence, scope, ranking, told)
    verdict = _seen_of_two(evidence, scope, ranking) or _partly(evidence, scope, ranking)
    return _beside_what_decides(evidence, scope, ranking, [verdict, lives_words(evidence, lives, scope)])


def led_words(evidence: Evidence, scope: Scope, ranking: Ranking, lives: Sequence[str]) -> list[str]:
    """Return that one type lasted longest in this test, with what was seen, where no order is settled."""
    best = "" if ranking.longest else lasted_longest(evidence, scope)
    lead = f"{SEEN} {columns_of(best)} lasted {'longer' if len(scope.compared) == 2 else 'longest'}"
    if not best:
        now = None if ranking.longest else best_for_now(evidence, scope, ranking)
        if now is None:
            apart = _apart_words(evidence, scope) if not ranking.longest else ""
            return [apart, *lives] if apart else []
        lead = f"{columns_of(now.group)} did best in this test, which does not settle it: {now.words}"
        return [lead, *lives]
    return [": ".join([lead, *lives[:1]]), *lives[1:]]


def _apart_words(evidence: Evidence, scope: Scope) -> str:
    """Return `in this test every A column outlasted every B column`, of types whose lives lie apart."""
    pairs = all_apart(evidence, scope)
    told: dict[str, list[str]] = {}
    for one in pairs:
        told.setdefault(one.longer, []).append(f"{kind_of(one.shorter)} column")
    said = [
        f"every {kind_of(a)} column outlasted every {listed(others, 'and every')}"
        for a, others in told.items()
    ]
    every = len(pairs) == len(list(combinations(scope.compared, 2)))
    rest = "" if every else "; beyond that their order is not sure"
    return f"{SEEN} {listed(said)}{rest}" if said and not scope.named else ""


def _beside_what_decides(evidence: Evidence, scope: Scope, ranking: Ranking, told: list[str]) -> list[str]:
    """Return what the metric that decides tells of the order, `told`, and what whichever limit is passed
    first does beside it.

    Where the first tells nothing, the lives that columns were of use for still may.
    """
    beside = beside_what_decides(evidence, scope)
    if beside is None or not ranking.by_any:
        return told
    first, *rest = told
    alone = f"by {the_metric(*scope.deciding)} alone, {first}"
    usable = listed(_outlasting(scope, ranking.by_any))
    return [f"{alone}; {order_words.BY_ANY}, {usable}", *first_limit_words(*beside), *rest]


def _by_any_limit(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Return who lasts longest by whichever limit is passed first; when that was stands behind it."""
    if ranking.longest:
        rest = [_open_words(evidence, scope, ranking, others_told=True)] if ranking.open_pairs else []
        return "; ".join([_winner(scope, ranking), *rest, *single_columns(evidence, scope)])
    return _partly(evidence, scope, ranking)


def _single(life: GroupLife, scope: Scope) -> str:
    """Return how long a single column lasted."""
    lasted = f"column {life.columns[0]} {lasting(life.life)} at these conditions"
    ended = to_limit(life, the_metric(*scope.deciding))
    return f"{lasted}, {ended}; one column says nothing of the type"


def _winner(scope: Scope, ranking: Ranking) -> str:
    others = [group for group in ranking.groups if group != ranking.longest]
    return order_words.longest(
        scope, ranking.longest, others, ranking.strength_of(ranking.longest) == "shown"
    )


def _sooner(evidence: Evidence, scope: Scope, ranking: Ranking, lives: Sequence[GroupLife]) -> str:
    """Return on which of two types a metric passes its limit earlier, as the question has it, by how much."""
    pairing = next(iter(ranking.pairings), None)
    if pairing is None or pairing.verdict != "longer" or len(lives) != 2:
        return ""
    shown = pairing.strength == "shown"
    order = order_words.earlier(scope, pairing.second, pairing.first, shown).rstrip(",")
    told = {life.group: tell(life.life) for life in lives}
    by = factor_of(pairing)
    return f"{order}: {told[pairing.second]}, against {told[pairing.first]} for {pairing.first}{by}"


def _against(winner: str, lives: Sequence[GroupLife]) -> str:
    """Return `at least 120 h, against 83 h (73 to 95) for porous hybrid`."""
    own = [tell(life.life) for life in lives if life.group == winner]
    others = listed(f"{tell(life.life)} for {life.group}" for life in lives if life.group != winner)
    return ", against ".join([*own, others])


def _partly(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Say what is settled of some pairs, then of which we cannot tell."""
    said = []
    if ranking.shortest and len(ranking.groups) > 2:
        shown = ranking.strength_of(ranking.shortest) == "shown"
        said.append(order_words.first_to_fail(scope, ranking.shortest, shown))
    else:
        longer = [pairing for pairing in ranking.pairings if pairing.verdict == "longer"]
        said += [order_words.longer(scope, p.first, [p.second], p.strength == "shown") for p in longer]
    margin = with_unit(stated(evidence.study.choices.equivalence_margin_percent), "%")
    alike = [pairing for pairing in ranking.pairings if pairing.verdict == "alike"]
    if alike:
        shown = all(pairing.strength == "shown" for pairing in alike)
        pairs = _pairs(pairing.groups for pairing in alike)
        said.append(f"{order_words.alike(scope, pairs, margin, shown)} at these conditions")
    if ranking.open_pairs:
        said.append(_open_words(evidence, scope, ranking, bool(said)))
    return "; ".join([*said, *single_columns(evidence, scope)])


def _seen_of_two(evidence: Evidence, scope: Scope, ranking: Ranking) -> str:
    """Return which of two types outlasted the other as far as was seen, where nothing is settled of them;
    empty where lives overlap, or of more types."""
    if scope.named or len(scope.compared) != 2 or not ranking.open_pairs:
        return ""
    found = types_apart(evidence, scope, scope.compared[0], scope.compared[1], 1)
    longer = f"{SEEN} {_those_of(evidence, found.longer)} lasted longer" if found is not None else ""
    single = f"; {'; '.join(single_columns(evidence, scope))}" if single_columns(evidence, scope) else ""
    return f"{longer}; of further ones that is not settled{single}" if longer else ""


def _those_of(evidence: Evidence, group: str) -> str:
    """Return `the A columns`, or `the one A column`."""
    alone = len(evidence.study.replicates(group)) == 1
    return share_of(1, 1, f"{kind_of(group)} column") if alone else columns_of(group)


def _pairs(pairs: Iterable[frozenset[str]]) -> str:
    return "; ".join(" and ".join(sorted(pair)) for pair in pairs)


def _open_words(evidence: Evidence, scope: Scope, ranking: Ranking, others_told: bool) -> str:
    """Return of which pairs we cannot tell: by their names, up to three of them."""
    number = len(ranking.open_pairs)
    groups = {group for pairing in ranking.open_pairs for group in pairing.groups}
    if 2 < len(groups) <= MOST_NAMED and number == len(groups) * (len(groups) - 1) // 2 and not others_told:
        own = [group for group in scope.groups if group in groups]
        return f"{CANNOT_TELL} {order_words.which(scope, True, listed(own))}"
    if number <= MOST_NAMED:
        return order_words.open_between(scope, ranking.open_pairs)
    varied = [design for design in designs_of(evidence.study) if len(design) > 1]
    if varied and not others_told and number == len(ranking.pairings) and not scope.named:
        # Of a design nobody asks pair by pair.
        factors = listed((f"the {one.name}" for one in varied[0]), "or")
        return f"{CANNOT_TELL} whether {factors} changes how long columns last"
    other = "other " if others_told else ""
    return f"{CANNOT_TELL} of {spelled(number)} {other}pairs {order_words.which(scope, many=False)}"


MOST_NAMED = 3
"""Open pairs, or columns of which something is expected, that a headline names; the claims name all."""


def single_columns(evidence: Evidence, scope: Scope) -> list[str]:
    """Return that types of a single column are known by that alone."""
    single = [group for group in scope.compared if len(evidence.study.replicates(group)) == 1]
    if len(single) > 1:
        return [f"single columns ({listed(single)}) say nothing of their types"]
    return [f"the single {kind_of(single[0])} column says little of its type"] if single else []

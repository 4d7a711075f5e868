"""The columns of one make with and without what a factor brings, side by side: what was seen of them.

In: `Evidence`, a `Scope`, the name of a factor. Out: `Match`es and what they say. Where columns are few or
did not fail, no ratio of lives may be settled though each column with it outlasted each without: that is told
as what was seen, and settles nothing.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, product
from math import inf

from lyewitness.decline.factors import Varied, designs_of
from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.usable_lives import UsableLife, told_together
from lyewitness.findings.answer import order_words
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.use_claims import cut_short, watched_less
from lyewitness.findings.evidence import Evidence
from lyewitness.study.factor_words import at_level, is_presence, is_sampled
from lyewitness.study.questions import named_factors, words_of
from lyewitness.words.numbers import DOWN, bound
from lyewitness.words.phrases import CANNOT_TELL, down, exposure, hours, kind_of, sentence, share_of, spelled

SEEN = "in this test"
"""How it begins that something was so of the columns tested, and is not settled of others."""


FEW = "these were few columns, and further ones may do otherwise"


@dataclass(frozen=True, slots=True)
class Match:
    """The columns of one make at a level of a factor, and those at the level it is held against."""

    subject: str
    """Group of the columns at the level …"""
    against: str
    """… and of the others: the same where the factor varies within a type."""
    with_it: tuple[UsableLife, ...]
    without: tuple[UsableLife, ...]

    @property
    def longer(self) -> bool:
        """Return whether each column with it surely held longer than each without."""
        return _outlasts(self.with_it, self.without)

    @property
    def shorter(self) -> bool:
        """Return whether each column with it surely failed before each without."""
        return _outlasts(self.without, self.with_it)


def _outlasts(ones: Sequence[UsableLife], others: Sequence[UsableLife]) -> bool:
    least = min((one.low for one in ones), default=0.0)
    return least > 0 and least >= max((inf if one.high is None else one.high for one in others), default=inf)


def varied_by(evidence: Evidence, factor: str) -> Varied | None:
    """Return a factor as the columns have it, where the study varies it."""
    return next((one for design in designs_of(evidence.study) for one in design if one.name == factor), None)


def with_and_without(evidence: Evidence, factor: Varied) -> list[tuple[str, str]]:
    """Return the pairs of groups of one make between which a factor alone makes the difference.

    Where several groups could be the other of a pair, it is the one whose name the first one bears, too:
    `alkyl with guard` goes with `alkyl`.
    """
    at: dict[str, set[str]] = defaultdict(set)
    for column, level in factor.of.items():
        at[level].add(evidence.study.column(column).group)
    plain, *others = factor.levels
    pairs = product({group for level in others for group in at[level]}, at[plain])
    alike = [(a, b) for a, b in pairs if a != b and _make(evidence, factor, a) == _make(evidence, factor, b)]
    named = [(a, b) for a, b in alike if set(words_of(b)) < set(words_of(a))]
    found = named if {a for a, _ in named} == {a for a, _ in alike} else alike
    order = evidence.study.groups
    return sorted(found, key=lambda pair: (order.index(pair[0]), order.index(pair[1])))


def _make(evidence: Evidence, factor: Varied, group: str) -> tuple[object, ...]:
    """Return what the columns of a group are of, and what else of the design they have.

    What the factor itself makes of them, as a bonding does, is no difference beside it.
    """
    columns = evidence.study.replicates(group)
    others = [one for one in evidence.study.factors if one.name != factor.name]
    made = [
        frozenset(getattr(column, name) for column in columns)
        for name in ("particle", "bonding")
        if not _is_of_levels(evidence, factor, name)
    ]
    return (*made, *(frozenset(one.level_of(column) for column in columns) for one in others))


def _is_of_levels(evidence: Evidence, factor: Varied, name: str) -> bool:
    """Return whether the columns of no two levels share what they are made of."""
    at: dict[str, set[object]] = defaultdict(set)
    for column, level in factor.of.items():
        at[level].add(getattr(evidence.study.column(column), name))
    return sum(map(len, at.values())) == len(set().union(*at.values()))


def matches(evidence: Evidence, scope: Scope, factor: str) -> tuple[Match, ...]:
    """Return the columns with and without a factor, make by make; none of more than two levels."""
    varied = varied_by(evidence, factor)
    if varied is None or len(varied.levels) != 2:
        return ()
    plain, level = varied.levels
    pairs = [p for p in with_and_without(evidence, varied) if set(p) <= set(scope.groups)]
    pairs += [(group, group) for group in scope.groups if len(_levels_of(evidence, varied, group)) == 2]
    found = []
    for subject, against in pairs:
        ends = [
            tuple(life for life in _lives(evidence, scope, group) if varied.of.get(life.column) == at)
            for group, at in ((subject, level), (against, plain))
        ]
        if all(ends):
            found.append(Match(subject, against, *ends))
    return tuple(found)


def _levels_of(evidence: Evidence, varied: Varied, group: str) -> set[str]:
    return {varied.of[one.id] for one in under_one_stress(evidence.study, group) if one.id in varied.of}


def _lives(evidence: Evidence, scope: Scope, group: str) -> tuple[UsableLife, ...]:
    """Return the lives by what decides, any limit where nothing says what does."""
    return scope.usable_lives(evidence, group, every_limit=scope.every_limit)


def seen(evidence: Evidence, scope: Scope, factor: str) -> str:
    """Return `in this test every column with the guard outlasted those without: …`, where that was so of each
    make; nothing where lives overlap in any of them.
    """
    varied, found = varied_by(evidence, factor), matches(evidence, scope, factor)
    better = _better(varied, found) if varied is not None else ""
    if varied is None or not better:
        return ""
    (worse,) = (level for level in varied.levels if level != better)
    best = at_level(factor, better, varied.levels)
    other = at_level(factor, worse, varied.levels).removesuffix(f" the {factor}")
    lives = "; ".join(_match_words(one, varied, "did" if scope.named else "failed") for one in found)
    few = min(len(ends) for one in found for ends in (one.with_it, one.without)) < ENOUGH
    longer = [life for one in found for life in (one.with_it if one.longer else one.without)]
    more = [FEW] if few else []
    if not scope.named and all(life.high is None for life in longer):
        # How steep the courses are promises more than anybody saw.
        times = least_times(found)
        longer_by = f"they lasted at least {times} times as long; " if times else ""
        more.insert(0, f"{longer_by}how much longer was not seen, as none {best} failed")
    proof = f". {sentence('; '.join(more)).rstrip('.')}" if more else ""
    if scope.named:
        where = f"{at_level(factor, worse, varied.levels)} than {at_level(factor, better, varied.levels)}"
        return f"{SEEN} {order_words.passes(scope)} earlier {where}: {lives}{proof}"
    return f"{SEEN} every column {best} outlasted those {other}: {lives}{proof}"


def least_times(found: Sequence[Match]) -> str:
    """Return how many times as long each column with it surely lasted as each without, make by make, the
    least of them; empty where that is not more than once."""
    if not found or not (all(one.longer for one in found) or all(one.shorter for one in found)):
        return ""
    ends = [(one.with_it, one.without) if one.longer else (one.without, one.with_it) for one in found]
    times = min(
        min(life.low for life in kept) / max(life.high or inf for life in gone) for kept, gone in ends
    )
    told = bound(times, 2, DOWN)
    return told if float(told) > 1 else ""


ENOUGH = 3
"""Columns at a level from which on nobody calls them few."""


def better_seen(evidence: Evidence, scope: Scope, factor: str) -> str:
    """Return the level at which every column outlasted those at the other; empty for none."""
    varied = varied_by(evidence, factor)
    return _better(varied, matches(evidence, scope, factor)) if varied is not None else ""


def _better(varied: Varied, found: Sequence[Match]) -> str:
    if found and all(one.longer for one in found):
        return varied.levels[1]
    return varied.levels[0] if found and all(one.shorter for one in found) else ""


def _match_words(one: Match, varied: Varied, verb: str) -> str:
    """Return `both A with guard columns held for at least 96 h, the one A column failed (46 h)`."""
    plain, level = varied.levels
    ends = [(one.subject, one.with_it, level), (one.against, one.without, plain)]
    if one.shorter:
        ends.reverse()
    said = []
    for group, lives, at in ends:
        where = f" {at_level(varied.name, at, varied.levels)}" if one.subject == one.against else ""
        said.append(ended_words(lives, group, verb, where))
    return ", ".join(said)


def ended_words(lives: Sequence[UsableLife], group: str, verb: str, where: str = "", total: int = 0) -> str:
    """Return `both A columns failed (58 and 66 h)`, `one A column held for at least 96 h`.

    Of one that was watched for less than the others nobody knows whether it would have held as long: it
    stands by its name behind them.
    """
    column = f"{kind_of(group)} column"
    failed = [life for life in lives if life.high is not None]
    seen = {life.column for life in lives if life.decline.life.bracket_h[1] is not None}
    # What seems past the limit already was watched for long enough to see that.
    short = {column: end for column, end in cut_short(lives, failed).items() if column not in seen}
    held = [life for life in lives if life.high is None and life.column not in short]
    # What held for as long as is told of the others stands among them.
    least = min((life.low for life in held), default=inf)
    short = {life.column: short[life.column] for life in lives if life.column in short and life.low < least}
    held = [life for life in lives if life.high is None and life.column not in short]
    if not (held or failed):
        short, held = {}, [life for life in lives if life.high is None]
    total, said = total or len(lives), []
    if held:
        least_h = hours(down(min(life.low for life in held)))
        said.append(
            f"{share_of(len(held), total, column)}{where} held for at least {least_h}{later_words(held)}"
        )
    longest = max(lives, key=lambda life: life.decline.end_h or 0.0)
    apart = [life for life in lives if life.column in short]
    watched = watched_less([*apart, longest], failed) if apart else []
    if failed:
        which = spelled(len(failed)) if held else f"{share_of(len(failed), total, column)}{where}"
        said.append(f"{which} {verb} ({'; '.join([told_together(failed), *watched])})")
    elif watched:
        said[-1] = f"{said[-1].rstrip(',')} ({'; '.join(watched)})"
    return " and ".join(said).rstrip(",")


def later_words(lives: Sequence[UsableLife]) -> str:
    """Return what came after the hours that the columns held: `, apparently past the limit from 110 h on,`.

    Of one whose limit may have been passed later on nobody knows that it held to the end.
    """
    held = [life for life in lives if life.high is None]
    loose = [life.decline.life for life in held if life.decline.life.state == "unclear"]
    past = [life.bracket_h[1] for life in loose if life.recovered_h[1] is None]
    seen = [hour for hour in past if hour is not None]
    if not loose:
        return ""
    if len(seen) < len(loose):
        return f", beyond which {CANNOT_TELL},"
    which = "" if len(held) == 1 else f"{spelled(len(seen))} of them "
    return f", {which}apparently past the limit from {exposure(min(seen))} on,"


def level_of_groups(evidence: Evidence, groups: Sequence[str], text: str = "") -> dict[str, str]:
    """Return `with the guard` or `without the guard` by group, of the one factor that is there or not, or of
    one of two levels that `text` names; none where a group has columns at both levels."""
    factors = evidence.study.factors
    named = named_factors(text, [one.name for one in factors if not is_sampled(one.name)])
    for factor in sorted(factors, key=lambda one: not is_presence(one.name, list(one.levels))):
        varied = varied_by(evidence, factor.name)
        if varied is None or len(varied.levels) != 2:
            continue
        if not is_presence(factor.name, varied.levels) and factor.name not in named:
            continue
        own = {group: _levels_of(evidence, varied, group) for group in groups}
        if all(len(levels) == 1 for levels in own.values()):
            return {
                group: at_level(factor.name, next(iter(levels)), varied.levels)
                for group, levels in own.items()
            }
    return {}


@dataclass(frozen=True, slots=True)
class Apart:
    """Two types of which every column of one, as far as it was watched, outlasted every one of the other."""

    longer: str
    shorter: str
    kept: tuple[UsableLife, ...]
    """Of the longer-lived; those that were watched for too little stand among the others."""
    gone: tuple[UsableLife, ...]
    set_aside: int = 0
    """How many these are."""
    watched_less: tuple[str, ...] = ()
    """Clauses on them: `P3 was watched for 71 h only`."""

    @property
    def words(self) -> str:
        """Return `all four A columns failed (58 to 66 h), both B columns held for at least 96 h`."""
        return "; ".join([f"{self.gone_words}, {self.kept_words}", *self.watched_less])

    @property
    def gone_words(self) -> str:
        """Return when the columns of the shorter-lived type failed."""
        return ended_words(self.gone, self.shorter, "failed")

    @property
    def kept_words(self) -> str:
        """Return how long those of the longer-lived type held."""
        total = len(self.kept) + self.set_aside
        return ended_words(self.kept, self.longer, "failed", total=total)


def told_apart(pairs: Sequence[Apart]) -> str:
    """Return the words of several pairs, each type told once, those that failed sooner before the others."""
    if len(pairs) == 1:
        return pairs[0].words
    longer = {one.longer for one in pairs}
    first = dict.fromkeys(one.gone_words for one in pairs if one.shorter not in longer)
    said = [*first, *dict.fromkeys(one.kept_words for one in pairs)]
    return "; ".join([*said, *dict.fromkeys(words for one in pairs for words in one.watched_less)])


def types_apart(evidence: Evidence, scope: Scope, a: str, b: str, least: int = 2) -> Apart | None:
    """Return which of two types outlasted the other as far as was seen; None where lives overlap.

    So many columns of each are the `least`: of one column against one nobody makes an order.
    """
    for longer, shorter in ((a, b), (b, a)):
        kept, gone = (scope.usable_lives(evidence, group, scope.by_any) for group in (longer, shorter))
        end = max((inf if one.high is None else one.high for one in gone), default=inf)
        short = cut_short(kept, (), end) if end < inf else {}
        long_enough = tuple(one for one in kept if one.column not in short or one.low >= end)
        enough = min(len(long_enough), len(gone)) >= least and len(long_enough) + len(gone) > 2
        if enough and _outlasts(long_enough, gone):
            aside = tuple(watched_less(kept, (), end))
            return Apart(longer, shorter, long_enough, gone, len(kept) - len(long_enough), aside)
    return None


def all_apart(evidence: Evidence, scope: Scope) -> list[Apart]:
    """Return the pairs of types of which each column of one outlasted every one of the other."""
    found = (types_apart(evidence, scope, a, b) for a, b in combinations(scope.compared, 2))
    return [one for one in found if one is not None and not one.set_aside]


def lasted_longest(evidence: Evidence, scope: Scope) -> str:
    """Return the type that outlasted every other as far as was seen; empty for none."""
    for group in scope.groups:
        found = [types_apart(evidence, scope, group, other) for other in scope.groups if other != group]
        if found and all(one is not None and one.longer == group for one in found):
            return group
    return ""

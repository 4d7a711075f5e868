"""Whether columns last as long as a question asks: two days, 500 injections.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: `Claim`s.
"""

import re
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from itertools import groupby
from math import floor, inf
from types import MappingProxyType

from lyewitness.decline.deciding import key_of
from lyewitness.decline.group_lives import WATCHED_ALIKE
from lyewitness.decline.records import GroupLife
from lyewitness.decline.usable_lives import UsableLife, failed_before, next_column_h, told_together
from lyewitness.findings import because
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import (
    YES_OR_NO,
    Span,
    read_question,
    read_spans,
    wants_yes_or_no,
)
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import AskedSpan, Claim, Strength
from lyewitness.words.lives import tell
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import THIN_SPACE, rounded, stated, with_unit
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    counted,
    down,
    hours,
    kind_of,
    listed,
    run_together,
    share_of,
    spelled,
    typical_column,
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
    confidence: float = 0.95
    """Of `next_h`."""
    run_h: float = 0.0
    """How long the columns were run, hours."""
    typical: str = ""
    """The life of a typical column where all of its interval lies below the span; else empty."""
    every_limit: bool = False
    """Whether it is by whichever limit a column passes first."""
    by: str = ""
    """The metric that decides, where one does and the question names none; else empty."""
    sooner: str = ""
    """Where one limit decides: which columns failed before the span by another, in words."""
    margin: str = ""
    """Which of the columns that lasted it passed a limit soon after, or were watched for no longer."""

    @property
    def beside(self) -> list[str]:
        """Return what who relies on the span must know beside how the group stands to it."""
        return [words for words in (self.sooner, self.margin) if words]

    @property
    def verdict(self) -> Strength:
        """Return how surely the columns last as long: `contradicted` where none of several did."""
        if self.next_h is not None and self.next_h >= self.span.hours:
            return "shown"
        if self.surely == len(self.lives) > 1:
            return "indicated"
        return "contradicted" if self.typical or self.failed == len(self.lives) > 1 else "not settled"


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What was tested in the place of what a question is about."""

    asked: str
    """`50 °C`."""
    tested: str
    harder: bool | None
    """Whether what was tested is the harder on columns; None where nobody knows."""

    def tells(self, found: Held) -> bool:
        """Return whether what was found holds of what is asked: what lasts harder conditions lasts milder
        ones, and what fails at milder ones fails at harder ones."""
        lasts = found.verdict in ("shown", "indicated")
        return self.harder is not None and self.harder == lasts

    @property
    def way(self) -> str:
        """Return `, which is harder on columns`; empty where nobody knows."""
        if self.harder is None:
            return ""
        return f", which is {'harder' if self.harder else 'milder'} on columns"

    @property
    def than_asked(self) -> str:
        """Return `at 55 °C, which is harder on columns than your 50 °C`."""
        return f"at {self.tested}{self.way} than your {self.asked}" if self.way else f"at {self.tested}"

    def told(self, found: Held, word: str, words: str) -> tuple[str, str]:
        """Return the word with which an answer begins, and what was seen with where it was.

        A failure under harder conditions is no `no` for milder ones.
        """
        if not word:
            return word, words
        if self.tells(found):
            return word, f"{self.than_asked}, {words}"
        may = (
            ""
            if self.harder is None
            else f"; at {self.asked} they may last {'longer' if self.harder else 'less'}"
        )
        return f"Not shown at your {self.asked}", f"at {self.tested}{self.way}, {words}{may}"


def held(evidence: Evidence, scope: Scope, group: str, span: Span) -> Held | None:
    """Return how the columns of `group` stand to `span`; None where no life is known."""
    lives = scope.usable_lives(evidence, group, scope.every_limit)
    if not lives:
        return None
    sooner = "" if scope.every_limit else _sooner_words(evidence, scope, group, span, lives)
    found = Held(
        group,
        span,
        lives,
        sum(life.low >= span.hours for life in lives),
        sum(life.high is not None and life.high < span.hours for life in lives),
        next_column_h(lives, evidence.study.choices.confidence),
        evidence.study.choices.confidence,
        max((life.decline.end_h or 0.0 for life in lives), default=0.0),
        _typical_below(evidence.group_life(group, *scope.deciding), span),
        scope.every_limit,
        _deciding_words(evidence, scope),
        sooner,
    )
    return replace(found, margin=_margin_words(evidence, scope, found))


def _deciding_words(evidence: Evidence, scope: Scope) -> str:
    """Return the metric that decides, where there are others that could and the question names none."""
    if scope.every_limit or scope.named:
        return ""
    limited = {key_of(d) for d in evidence.judgement.declines if d.limit is not None and scope.concerns(d)}
    return the_metric(*scope.deciding) if len(limited) > 1 else ""


SOON = 1.25
"""Share of a span within which a limit that is passed after it leaves no reserve: columns of one type seldom
agree better than within a fifth (common practice)."""
NO_LONGER = 1.05
"""The same within which a column counts as watched for no longer than the span."""


def _margin_words(evidence: Evidence, scope: Scope, found: Held) -> str:
    """Return how little was left to columns that lasted the span, by whichever limit they passed first.

    Nothing where what a next one holds is told.
    """
    if found.next_h is not None or not found.surely:
        return ""
    lasted = {life.column for life in found.lives if life.low >= found.span.hours}
    by_any = scope.usable_lives(evidence, found.group, every_limit=not scope.named)
    own = [
        life
        for life in by_any
        if life.column in lasted and (life.high is None or life.high >= found.span.hours)
    ]
    soon = [life for life in failed_before(own, inf) if life.low < SOON * found.span.hours]
    ends = [life.decline.end_h or 0.0 for life in own if life not in soon]
    kind, of = f"{kind_of(found.group)} column", "" if len(lasted) == len(found.lives) else " that lasted it"
    if soon:
        which = share_of(len(soon), len(own), kind)
        after = all((life.hours or life.low) >= found.span.hours for life in soon)
        return f"{which}{of} passed a limit {'soon after' if after else 'about then'} ({by_limit(soon)})"
    if ends and max(ends) < NO_LONGER * found.span.hours:
        which = share_of(len(ends), len(ends), kind)
        was = "was" if len(ends) == 1 else "were"
        return f"{which}{of} {was} watched for no longer, so no reserve is known"
    return ""


def _sooner_words(
    evidence: Evidence, scope: Scope, group: str, span: Span, lives: Sequence[UsableLife]
) -> str:
    """Return which columns failed before the span by another limit than the deciding one, where more did."""
    by_any = scope.usable_lives(evidence, group, every_limit=True)
    failed = failed_before(by_any, span.hours)
    if len(failed) <= len(failed_before(lives, span.hours)):
        return ""
    which, when = failures(group, by_any, failed, span.hours)
    return f"by another limit, {which} failed sooner ({when})"


WATCHED = 0.9
"""Share of the longest from which on a column counts as watched for as long, as the audit has it."""
MOST_WATCHED = 3
"""Columns that were watched for less and are named; beyond that they are counted."""


def failures(
    group: str,
    lives: Sequence[UsableLife],
    failed: Sequence[UsableLife],
    span_h: float | None = None,
    by_each: bool = True,
) -> tuple[str, str]:
    """Return how many columns of a group failed, and when: `two of five A columns`, `44 and 47 h by …; A5 was
    watched for 99 h only`.

    Of a column that held and was watched for less than `span_h`, or than the others where none is asked
    about, nobody knows whether it is one of those that fail. The limits are named where `by_each`.
    """
    which = share_of(len(failed), len(lives), f"{kind_of(group)} column")
    when = by_limit(failed) if by_each else told_together(failed)
    return which, "; ".join([when, *watched_less(lives, failed, span_h)])


def watched_less(
    lives: Sequence[UsableLife], failed: Sequence[UsableLife], span_h: float | None = None
) -> list[str]:
    """Return which columns held and were watched for less than that: `K5 was watched for 99 h only`."""
    short = cut_short(lives, failed, span_h)
    if not short:
        return []
    who = listed(short) if len(short) <= MOST_WATCHED else counted(len(short), "column")
    ends = list(dict.fromkeys(hours(end) for end in sorted(short.values())))
    span = ends[0] if len(ends) == 1 else f"{ends[0]} to {ends[-1]}"
    return [f"{who} {'was' if len(short) == 1 else 'were'} watched for {span} only"]


def cut_short(
    lives: Sequence[UsableLife], failed: Sequence[UsableLife], span_h: float | None = None
) -> dict[str, float]:
    """Return the columns that did not fail and were watched for less than `span_h`, with for how long."""
    ends = {life.column: life.decline.end_h or 0.0 for life in lives}
    enough = span_h if span_h is not None else WATCHED * max(ends.values(), default=0.0)
    gone = {life.column for life in lives if life in failed or life.failed_by is not None}
    return {column: end for column, end in ends.items() if column not in gone and 0 < end < enough}


def by_limit(failed: Sequence[UsableLife]) -> str:
    """Return `44 and 47 h by the retention factor of aniline`; of several limits `one by the pressure, 44 h;
    two by the retention factor of aniline, 52 and 61 h`.
    """
    told: dict[str, list[UsableLife]] = {}
    for life in sorted(failed, key=lambda one: one.hours if one.hours is not None else one.high or inf):
        metric = the_metric(*key_of(life.failed_by)) if life.failed_by is not None else ""
        told.setdefault(metric, []).append(life)
    if len(told) > 1 and all(told):
        return "; ".join(
            f"{spelled(len(lives))} by {metric}, {told_together(lives)}" for metric, lives in told.items()
        )
    return "; ".join(
        f"{told_together(lives)} by {metric}" if metric else told_together(lives)
        for metric, lives in told.items()
    )


def other_limit_words(evidence: Evidence, scope: Scope) -> list[str]:
    """Return which columns failed by another limit and not, or surely later, by the one that decides.

    Nothing where the question is after the course of one metric, or where its span is answered by any limit.
    """
    if scope.named or not scope.deciding[1] or asked_spans(evidence, scope):
        return []
    if scope.by_any:
        return first_limit_words(evidence, scope)
    said, unknown = [], dict[str, list[str]]()
    for group in scope.about:
        failed = scope.failed_sooner(evidence, group)
        if failed:
            every = scope.usable_lives(evidence, group, every_limit=True)
            said.append(failures(group, every, failed))
        for life in scope.less_known(evidence, group):
            told = f"{life.column} beyond {hours(down(life.low))}"
            unknown.setdefault(the_metric(*key_of(life.decline)), []).append(told)
    beside = [f"by {metric} nothing sure is known of {listed(own)}" for metric, own in unknown.items()]
    kept = _kept_all(evidence, scope) if said and not unknown else []
    if kept:
        whose = listed((f"no {kind_of(group)} column" for group in kept), "or")
        held = [life.low for g in kept for life in scope.usable_lives(evidence, g, every_limit=True)]
        span = hours(floor(min(held)))
        if max(held) > WATCHED_ALIKE * min(held):
            # The end of one that was watched the shortest bounds no other.
            span = f"the {rounded(floor(min(held)))} to {hours(floor(max(held)))} for which each was watched"
        beside.append(f"{whose} passed any limit in {span}")
    if len(said) == 1:
        ((which, lives),) = said
        return [f"{which} failed by another limit ({lives})", *beside]
    each = "; ".join(f"{which} ({lives})" for which, lives in said)
    return [*([f"failed by another limit: {each}"] if said else []), *beside]


def _kept_all(evidence: Evidence, scope: Scope) -> list[str]:
    """Return the groups of which no column passed any limit, where on each other group one surely did."""
    kept = []
    for group in scope.about:
        lives = scope.usable_lives(evidence, group, every_limit=True)
        if lives and all(life.decline.life.state == "not reached" and life.high is None for life in lives):
            kept.append(group)
        elif not failed_before(lives, inf):
            return []
    return kept


def first_limit_words(evidence: Evidence, scope: Scope) -> list[str]:
    """Return which columns passed a limit, when and by which, and which passed none.

    `No oxide column passed a limit in 149 h; all three coated columns did (68 to 105 h by the retention …)`.
    """
    kept, failed, unknown = [], [], []
    for group in scope.about:
        lives = scope.usable_lives(evidence, group, every_limit=True)
        past = failed_before(lives, inf)
        columns = f"{kind_of(group)} column"
        if past:
            failed.append(failures(group, lives, past))
        elif (found := evidence.group_life(group, *scope.deciding)) and found.life.state == "not reached":
            none = f"no {columns}" if len(lives) > 1 else f"the one {columns} has not"
            span = tell(found.life).removeprefix("at least ")
            kept.append((none, f"{span}{_recorded(evidence, lives, found)}"))
        else:
            unknown.append(columns_of(group))
    spans = dict.fromkeys(span for _, span in kept)
    said = [
        f"{listed([none for none, own in kept if own == span], 'or')} passed a limit in {span}"
        for span in spans
    ]
    for place, (which, lives_told) in enumerate(failed):
        passed = "did" if said else "passed a limit" if not place else "so did"
        order = f"so did {which}" if passed == "so did" else f"{which} {passed}"
        said.append(f"{order} ({lives_told})")
    if unknown:
        said.append(f"whether {listed(unknown, 'or')} did, {CANNOT_TELL}")
    return ["; ".join(said)] if failed or kept else []


def passed_on(evidence: Evidence, scope: Scope) -> str:
    """Return on how many columns of each group the deciding limit was passed, and when; most of them first.

    `on two of the four A columns (68 and 99 h) and on none of the four B columns (watched for 84 to 131 h)`.
    Nothing where it was passed on none, or where a group has no column with it.
    """
    said = []
    for group in scope.groups:
        lives = scope.usable_lives(evidence, group)
        if not lives:
            return ""
        past = failed_before(lives, inf)
        which, when = failures(group, lives, past, by_each=False)
        if not past:
            ends = [floor(life.decline.end_h or 0.0) for life in lives]
            least = hours(min(ends)).partition(THIN_SPACE)[0]
            first = "" if max(ends) == min(ends) else f"{least} to "
            when = f"watched for {first}{hours(max(ends))}"
        said.append((len(past) / len(lives), f"on {which} ({when})"))
    if not any(share for share, _ in said):
        return ""
    return listed([words for _, words in sorted(said, key=lambda one: -one[0])])


def _recorded(evidence: Evidence, lives: Sequence[UsableLife], found: GroupLife) -> str:
    """Return ` (the pressure was recorded no longer)` where that bounds what was kept, not the test."""
    least = min(lives, key=lambda life: life.low)
    end_h, tested_h = least.decline.end_h, found.tested_to_h
    if end_h is None or tested_h is None or hours(down(end_h)) == hours(down(tested_h)) or least.low < end_h:
        return ""
    seen = evidence.hours(least.column)
    if seen and hours(down(end_h)) == hours(down(seen[-1])):
        # The column itself was watched no longer.
        return ""
    return f" ({the_metric(*key_of(least.decline))} was recorded no longer)"


def _typical_below(life: GroupLife | None, span: Span) -> str:
    """Return the life of a typical column where it surely is shorter than the span."""
    if life is None or len(life.columns) < 2 or life.life.hours.high is None:
        return ""
    return tell(life.life) if life.life.hours.high < span.hours else ""


def held_words(found: Held) -> str:
    """Return in words how a group stands to a span."""
    columns, total = columns_of(found.group), len(found.lives)
    span = span_words(found.span) + (" within every limit" if found.every_limit else "")
    if found.verdict == "shown":
        return (
            f"{columns} last {span}, and a next one should hold at least {hours(down(found.next_h or 0.0))}"
        )
    if found.verdict == "indicated":
        lasted = f"{share_of(found.surely, total, f'{kind_of(found.group)} column')} lasted {span}"
        # In one sentence: who reads the first alone must not run a further one to the end of the span.
        return f"{lasted}, but {_of_another(found)}" if found.next_h else lasted
    if found.failed:
        gone = failed_before(found.lives, found.span.hours)
        by_each = found.every_limit or bool(found.by)
        which, when = failures(found.group, found.lives, gone, found.span.hours, by_each)
        return f"{which} failed before {end_words(found.span)} ({when}){_likely_words(found)}"
    if found.typical:
        return f"{typical_column(found.group)} lasts {found.typical}, and not {span}"
    if _not_run_so_long(found):
        none = f"none of the {spelled(total)} tested" if total > 1 else "the one tested was not"
        ran = f"{none} was" if total > 1 else none
        return f"{CANNOT_TELL} whether {columns} last {span}: {ran} run for more than {hours(found.run_h)}"
    counts = f"of {spelled(total)} tested, {tally(found)}" if total > 1 else "only one was tested"
    if total > 1 and not found.surely and not found.failed:
        counts = f"the lives of the {spelled(total)} tested are not known well enough"
    if total == 1 and found.surely:
        counts += ", which did"
    return f"{CANNOT_TELL} whether another column of {found.group} lasts {span}: {counts}"


def _not_run_so_long(found: Held) -> bool:
    """Return whether nothing is known of a span because no column was run for as long."""
    open_yet = not (found.surely or found.failed or found.typical) and found.verdict == "not settled"
    return open_yet and found.run_h < found.span.hours


def _of_another(found: Held) -> str:
    """Return how long a column lasts that was not tested: what was seen of those tested is no promise."""
    sure = with_unit(stated(100 * found.confidence), "%")
    least = hours(down(found.next_h or 0.0))
    return f"of a further one no more than {least} can be relied on ({sure} confidence)"


def _likely_words(found: Held) -> str:
    """Return which more columns probably failed before the span: of these the interval reaches past it."""
    surely = failed_before(found.lives, found.span.hours)
    likely = [
        life
        for life in found.lives
        if life not in surely and life.hours is not None and life.hours < found.span.hours
    ]
    if not likely or not found.every_limit:
        return ""
    near = f"too near {hours(found.span.hours)} to tell surely"
    return f", and {spelled(len(likely))} more probably did ({by_limit(likely)}; {near})"


FAILING = re.compile(
    r"\b(fails?|tails?|dies?|die|collapses?|loses?|drops?|falls?|rises?|breaks?|wears?|goes? bad|"
    r"(be|need\w*) (replaced|replacing))\b",
    re.IGNORECASE,
)
"""How a question sounds that asks whether columns fail within a span, not whether they hold for it."""
LASTING_ON = re.compile(r"\b(without|not|no|never|\w+n['’]t|before)\b", re.IGNORECASE)
WHICH = re.compile(r"\b(which|what type)\b", re.IGNORECASE)
"""How a question sounds that wants one of several named that lasts a span."""
TURNED = {"Y": "No", "N": "Yes"}


def reply_words(
    found: Sequence[Held],
    asked: str = "",
    other: Elsewhere | None = None,
    levels: Mapping[str, str] = MappingProxyType({}),
) -> list[str]:
    """Return the answer to `do they last as long?`: yes or no first, where these data say so.

    Where `asked` is whether they fail within the span, yes and no change places. `other`: that the columns
    were tested at other conditions than the question is about. `levels`: with or without what a factor brings
    each group was tested, by group.
    """
    if whole := taken_together(found, asked, other, levels):
        return [whole, *_beside(found)]
    if len(found) > 1 and len({one.span for one in found}) == 1 and all(map(_not_run_so_long, found)):
        # What is not known of any is told once.
        types = listed((columns_of(one.group) for one in found), "or")
        ran = hours(max(one.run_h for one in found))
        last = f"{types} last {span_words(found[0].span)}"
        return [f"{CANNOT_TELL} whether {last}: none was run for more than {ran}"]
    words = [answers(one) for one in found]
    if FAILING.search(asked) and not LASTING_ON.search(asked):
        words = [re.sub("^(Yes|No)", lambda m: TURNED[m.group(0)[0]], word) for word in words]
    told = [held_words(one) for one in found]
    if other is not None:
        placed = [other.told(*one) for one in zip(found, words, told, strict=True)]
        words, told = [word for word, _ in placed], [seen for _, seen in placed]
    which = len(found) > 1 and WHICH.search(asked) and not YES_OR_NO.search(asked)
    if len(found) == 1 or (len(set(words)) == 1 and not which):
        lead = f"{words[0]}: " if words[0] else ""
        return [f"{lead}{told[0]}", *told[1:], *_beside(found)]
    ordered = sorted(zip(words, found, told, strict=True), key=lambda one: ("Y" not in one[0], not one[0]))
    said = [
        f"{word} for {columns_of(one.group)}: {_they(one, words_of)}" if word else words_of
        for word, one, words_of in ordered
    ]
    if not YES_OR_NO.search(asked):
        # `Which type holds for five days?` wants types, not yes or no.
        none = _none_words(found) if which else []
        if len(none) == 1 and len({one.span for one in found}) == 1:
            return [*_each_words(none[0], found, other), *_beside(found)]
        said = [*none, *(words_of for *_, words_of in ordered)]
    return [*said, *_beside(found)]


def _beside(found: Sequence[Held]) -> list[str]:
    return [words for one in found for words in one.beside]


def taken_together(
    found: Sequence[Held], asked: str, other: Elsewhere | None, levels: Mapping[str, str]
) -> str:
    """Return how all groups stand to a span in one sentence, where they can be told so; else nothing.

    Lives beside it would tell no more.
    """
    if other is not None or FAILING.search(asked):
        return ""
    by_level = _by_level(found, [answers(one) for one in found], levels)
    alike = ALIKE.search(asked) is not None
    told = by_level or (_only(found, levels, alike) if wants_yes_or_no(asked) else "")
    by = found[0].by if found else ""
    rest = told.removeprefix(NOT_ALIKE)
    lead = NOT_ALIKE if rest != told else ""
    if rest.startswith("only ") and any(one.margin for one in found):
        lead = "not safely: "
    return f"{lead}by {by}, {rest}" if told and by else f"{lead}{rest}"


NOT_ALIKE = "no, not in this test: "


# `As long as 72 h` and `the same column` hold no types against each other.
ALIKE = re.compile(r"\b(interchangeabl[ey]|equally|equals?|alike)\b", re.IGNORECASE)
"""How a question sounds that asks whether types stand to a span alike."""


def _by_level(found: Sequence[Held], words: Sequence[str], levels: Mapping[str, str]) -> str:
    """Return `not without the guard: both A columns (44 and 47 h) failed before 72 h; with the guard …`.

    Nothing where the groups of a level do not stand to the span alike, or several spans are asked about.
    """
    at: dict[str, list[tuple[Held, str]]] = {}
    for one, word in zip(found, words, strict=True):
        at.setdefault(levels.get(one.group, ""), []).append((one, word))
    if len(at) < 2 or "" in at or len({one.span for one in found}) != 1 or len(found) <= len(at):
        return ""
    told = [
        _at_one_level(level, [one for one, _ in own], {word for _, word in own}) for level, own in at.items()
    ]
    return "; ".join(sorted(told, key=lambda one: not one.startswith("not "))) if all(told) else ""


def _only(found: Sequence[Held], levels: Mapping[str, str], alike: bool) -> str:
    """Return `only the one A column lasted 72 h, and whether further ones do, we cannot tell; both B …`.

    Nothing where not every group stands on one side or the other, whole, or all on one. `alike`: whether it
    is asked if they stand to it alike: then it is no.
    """
    short = {one.group: watched_less(one.lives, (), one.span.hours) for one in found}
    lasting = [one for one in found if one.surely and _lasted_as_watched(one)]
    failing = [one for one in found if one.failed == len(one.lives)]
    sided = lasting and failing and len(lasting) + len(failing) == len(found)
    # Yes for these and no for those says more where it can be said.
    if (
        not sided
        or len({one.span for one in found}) > 1
        or (all(answers(one) for one in lasting) and not alike)
    ):
        return ""
    span = span_words(found[0].span) + (" within every limit" if found[0].every_limit else "")
    less = [words for one in lasting for words in short[one.group]]
    who = listed(
        share_of(one.surely, one.surely if less else len(one.lives), f"{kind_of(one.group)} column")
        for one in lasting
    )
    gone = [(one, failed_before(one.lives, one.span.hours)) for one in failing]
    each = listed(
        f"{share_of(len(own), len(one.lives), f'{kind_of(one.group)} column')} ({_when(one, own)})"
        for one, own in gone
    )
    no = NOT_ALIKE if alike else ""
    if less or alike:
        # `Only two of three lasted` of one that was taken off sound would count it among those that failed.
        as_long = f" that {'was' if sum(one.surely for one in lasting) == 1 else 'were'} watched as long"
        watched = f" ({'; '.join(less)})" if less else ""
        lasted = f"{who}{as_long if less else ''} lasted it{watched}"
        return f"{no}{each} failed before {span}; {lasted}; whether further ones do, {CANNOT_TELL}"
    own = {levels.get(one.group, "") for one in lasting}
    level = f" ({own.pop()})" if len(own) == 1 and all(own) else ""
    return (
        f"only {who}{level} lasted {span}, and whether further ones do, {CANNOT_TELL}; {each} failed before"
    )


def _when(found: Held, failed: Sequence[UsableLife]) -> str:
    """Return when columns failed, by which limit where several count and one ended them all."""
    metrics = {key_of(life.failed_by) for life in failed if life.failed_by is not None}
    return by_limit(failed) if found.every_limit and len(metrics) == 1 else told_together(failed)


def _lasted_as_watched(found: Held) -> bool:
    """Return whether every column lasted the span but those that were watched for less."""
    short = cut_short(found.lives, (), found.span.hours)
    return not found.failed and found.surely + len(short) == len(found.lives)


CAUTIOUS = ("", "Only just", "Yes, for the columns tested", "Yes")
"""What is said of columns that all lasted a span, the most cautious first."""


def _at_one_level(level: str, found: Sequence[Held], words: Set[str]) -> str:
    """Return how the groups at one level stand to a span, where they do so alike; else nothing."""
    span = span_words(found[0].span) + (" within every limit" if found[0].every_limit else "")
    every = [share_of(len(one.lives), len(one.lives), f"{kind_of(one.group)} column") for one in found]
    if words == {"No"} and all(one.failed for one in found):
        gone = [failed_before(one.lives, one.span.hours) for one in found]
        each = [
            f"{share_of(len(own), len(one.lives), f'{kind_of(one.group)} column')} ({_when(one, own)})"
            for one, own in zip(found, gone, strict=True)
        ]
        return f"not {level}: {listed(each)} failed before {end_words(found[0].span)}"
    if all(one.surely == len(one.lives) for one in found):
        # The most cautious of them is true of all.
        word = min(words, key=CAUTIOUS.index)
        if word:
            yes, comma, rest = word.partition(",")
            return f"{yes.lower()} {level}{comma}{rest}: {listed(every)} lasted {span}"
        with_reserve = listed(f"{which}{_reserve(one)}" for which, one in zip(every, found, strict=True))
        return f"{level}, {with_reserve} lasted {span}; of further columns {CANNOT_TELL}"
    return ""


def _reserve(found: Held) -> str:
    """Return ` (held for 96 h)` where columns held for longer than the span; empty where not by a tenth."""
    least = min(one.low for one in found.lives)
    return f" (held for {hours(down(least))})" if least >= RESERVE * found.span.hours else ""


RESERVE = 1.1
"""How many times a span columns must have held for that to be told: of less nobody plans anything."""


def _each_words(none: str, found: Sequence[Held], other: Elsewhere | None) -> list[str]:
    """Return that no group is known to last a span, and how each of them stands to it, the nearest first."""
    where = f"{other.than_asked}, " if other is not None else ""
    nearest = sorted(found, key=lambda one: (-one.surely / len(one.lives), one.failed / len(one.lives)))
    return [f"{where}{none}: {'; '.join(_stands(one) for one in nearest)}"]


def _stands(found: Held) -> str:
    """Return how many of how many columns lasted a span, and when the others failed.

    `Three of four A columns lasted 168 h, of one we cannot tell (158 h, too near 168 h)`.
    """
    columns, total = f"{kind_of(found.group)} column", len(found.lives)
    span, gone = hours(found.span.hours), failed_before(found.lives, found.span.hours)
    said = [f"{share_of(found.surely, total, columns)} lasted {span}"] if found.surely else []
    if gone:
        which = spelled(len(gone)) if said else share_of(len(gone), total, columns)
        said.append(f"{which} failed before ({_when(found, gone)})")
    unclear = total - found.surely - found.failed
    if unclear and said:
        seen = [one for one in found.lives if one not in gone and one.hours is not None]
        near = [one for one in seen if one.low < found.span.hours]
        why = [f"{_when(found, near)}, too near {span}"] if near else []
        why += watched_less(found.lives, gone, found.span.hours)
        because_of = f" ({'; '.join(why)})" if why else ""
        said.append(f"of {spelled(unclear)} {CANNOT_TELL}{because_of}")
    return ", ".join(said) if said else held_words(found)


def _none_words(found: Sequence[Held]) -> list[str]:
    """Return that no group is known to last a span, where that is so: who asks which does reads it first."""
    said = []
    for span, own in groupby(sorted(found, key=lambda one: one.span.hours), key=lambda one: one.span):
        held = list(own)
        if len(held) > 1 and not any(one.verdict in ("shown", "indicated") for one in held):
            none = "neither of the two" if len(held) == 2 else f"none of the {spelled(len(held))}"
            every = " within every limit" if any(one.every_limit for one in held) else ""
            known = "lasts" if all(one.verdict == "contradicted" for one in held) else "is known to last"
            said.append(f"{none} {known} {span_words(span)}{every}")
    return said


def short_of(evidence: Evidence, scope: Scope, group: str) -> str:
    """Return the span that is asked about and that the columns of `group` are not known to last, as what is
    said of whoever takes them for it: `they are not known to last two days (48 h)`; empty for none.
    """
    for about, span in asked_spans(evidence, scope):
        found = held(evidence, scope, group, span) if about == group else None
        if found is not None and found.verdict not in ("shown", "indicated"):
            known = "do not last" if found.verdict == "contradicted" else "are not known to last"
            return f"{known} {span_words(span)}"
    return ""


def _they(found: Held, words: str) -> str:
    """Return the words of a group that is named just before."""
    return words.replace(f"{columns_of(found.group)} last", "they last", 1)


def answers(found: Held) -> str:
    """Return yes or no to `do they last as long?`; an empty word where these data say neither."""
    if found.verdict == "shown":
        return "Yes"
    if found.verdict == "indicated":
        # Who plans by the word alone must not hear yes of what a further column need not last.
        short = (found.next_h or found.span.hours) < found.span.hours
        return "Only just" if short else "Yes, for the columns tested"
    return "No" if found.failed or found.typical else ""


def tally(found: Held) -> str:
    """Return `one surely did and two surely did not`."""
    unclear = len(found.lives) - found.surely - found.failed
    untold = "cannot be told" if unclear < len(found.lives) else "have lives that are not known well enough"
    parts = ((found.surely, "surely did"), (found.failed, "surely did not"), (unclear, untold))
    return listed(f"{spelled(number)} {words}" for number, words in parts if number)


def span_words(span: Span) -> str:
    """Return `two days (48 h)`."""
    told_in_hours = re.search(r"\b(?:h|hours?|hrs?)$", span.words) is not None
    as_hours = "" if told_in_hours else f" ({hours(span.hours)})"
    return span.words[:1].lower() + span.words[1:] + as_hours


def end_words(span: Span) -> str:
    """Return `48 h`, `the 105 h that 700 injections take`."""
    taken = f"the {hours(span.hours)} that {span.words} take"
    return taken if RUNS.search(span.words) else hours(span.hours)


RUNS = re.compile(r"\b(injection|run)s?$", re.IGNORECASE)
"""How a span ends that is counted in what is run."""


def asked_spans(evidence: Evidence, scope: Scope) -> tuple[tuple[str, Span], ...]:
    """Return (group, span) for what the question's text asks; all groups of the scope where it names none."""
    question = scope.question
    spans = list(read_spans(question.text, question.run_time_min))
    if question.span_h is not None and all(abs(span.hours - question.span_h) > 1e-6 for span in spans):
        spans.append(Span(hours(question.span_h), question.span_h))
    told = {round(span.hours, 6): span for span in reversed(spans)}
    # `Three days (72 h)` is one span, told as it was first put.
    once = [span for span in spans if told[round(span.hours, 6)] is span]
    return tuple((group, span) for span in once for group in scope.asked or scope.groups)


ORDER = re.compile(r"\b(longer|longest|outlasts?|outlives?|best|better|most stable)\b", re.IGNORECASE)
"""How a question sounds that wants the order of the groups, whatever else it asks."""


def concerned(evidence: Evidence, scope: Scope) -> tuple[str, ...]:
    """Return the groups of which the question asks: one alone where it names one, for how long that lasts."""
    lasting = read_question(scope.question.text, evidence.study.groups).lasting
    lasting = lasting or bool(asked_spans(evidence, scope))
    alone = len(scope.asked) == 1 and lasting and not ORDER.search(scope.question.text)
    return scope.asked if alone else scope.compared


def spans_of(evidence: Evidence, scope: Scope) -> tuple[AskedSpan, ...]:
    """Return each span that is asked about, with the groups of which it is."""
    groups: dict[Span, list[str]] = {}
    for group, span in asked_spans(evidence, scope):
        groups.setdefault(span, []).append(group)
    return tuple(AskedSpan(span.words, span.hours, tuple(own)) for span, own in groups.items())


def span_claims(evidence: Evidence, points: Sequence[Point], scope: Scope) -> Iterator[Claim]:
    """Say of each span in the question and each group it names whether the columns last as long."""
    for group, span in asked_spans(evidence, scope):
        found = held(evidence, scope, group, span)
        if found is None:
            continue
        strength: Strength = "shown" if found.failed or found.typical else found.verdict
        yield Claim(
            scope.claim_id("span", group, span.words),
            run_together([held_words(found), found.sooner]),
            bounded(strength, points, (group,)),
            tuple(because.of_decline(life.decline) for life in found.lives),
        )

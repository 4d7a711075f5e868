"""Whether columns last as long as a question asks: two days, 500 injections.

In: `Evidence`, the audit's `Point`s, a `Scope`. Out: `Claim`s.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import floor, inf

from lyewitness.decline.deciding import key_of
from lyewitness.decline.group_lives import WATCHED_ALIKE
from lyewitness.decline.records import GroupLife
from lyewitness.decline.usable_lives import UsableLife, failed_before, next_column_h, told_together
from lyewitness.findings import because
from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.answer.reading_questions import (
    Span,
    read_question,
    read_spans,
)
from lyewitness.findings.audit.points import Point, bounded
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import AskedSpan, Claim, Strength
from lyewitness.words.lives import tell
from lyewitness.words.metrics import any_of, the_metric
from lyewitness.words.numbers import THIN_SPACE, rounded, stated, with_unit
from lyewitness.words.phrases import (
    CANNOT_TELL,
    columns_of,
    counted,
    down,
    exposure,
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
    named: bool = False
    """Whether one limit is asked about: who passes that has not failed in the eyes of who asks."""

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
        named=scope.named or len(scope.question.metrics) == 1,
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


def sooner_by_any(evidence: Evidence, scope: Scope, found: Held) -> str:
    """Return which columns failed before the span by any limit of the study, also by one that the question
    leaves out: who takes a type for what it keeps must hear what it loses."""
    question = replace(scope.question, metrics=(), markers=())
    wide = replace(scope, question=question)
    return _sooner_words(evidence, wide, found.group, found.span, found.lives)


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
            which, told = failures(group, lives, past)
            failed.append((which, f"{told}{_others_held(lives, past)}"))
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


def _others_held(lives: Sequence[UsableLife], past: Sequence[UsableLife]) -> str:
    """Return `; the others held for at least 100 h`, of those that were watched as long; empty for none."""
    short = cut_short(lives, past)
    held = [one for one in lives if one.high is None and one.column not in short]
    surely = all(one.decline.life.state == "not reached" for one in held)
    if not held or not surely:
        return ""
    others = "the other" if len(held) == 1 else "the others"
    return f"; {others} held for at least {hours(down(min(one.low for one in held)))}"


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
        lasted = (
            f"{share_of(found.surely, total, f'{kind_of(found.group)} column')} {kept_words(found, span)}"
        )
        # In one sentence: who reads the first alone must not run a further one to the end of the span.
        return f"{lasted}, but {_of_another(found)}" if found.next_h else lasted
    if found.failed:
        gone = failed_before(found.lives, found.span.hours)
        by_each = found.every_limit or bool(found.by)
        which, when = failures(found.group, found.lives, gone, found.span.hours, by_each)
        failed = "passed the limit" if found.named else "failed"
        return f"{which} {failed} before {end_words(found.span)} ({when}){_likely_words(found)}"
    if found.typical:
        return f"{typical_column(found.group)} lasts {found.typical}, and not {span}"
    if past := _seem_past(found):
        since = exposure(min(one.decline.life.bracket_h[1] or 0.0 for one in past))
        limits = any_of(dict.fromkeys(key_of(one.decline) for one in past))
        which = share_of(len(past), total, f"{kind_of(found.group)} column")
        seen = f"{which} apparently passed the limit on {limits}, from {since} on"
        return f"{columns} seem not to last {span}: {seen}"
    if not_run_so_long(found):
        none = f"none of the {spelled(total)} tested" if total > 1 else "the one tested was not"
        ran = f"{none} was" if total > 1 else none
        return f"{CANNOT_TELL} whether {columns} last {span}: {ran} run for more than {hours(found.run_h)}"
    counts = f"of {spelled(total)} tested, {tally(found)}" if total > 1 else "only one was tested"
    if total > 1 and not found.surely and not found.failed:
        counts = f"the lives of the {spelled(total)} tested are not known well enough"
    if total == 1 and found.surely:
        counts += ", which did"
    return f"{CANNOT_TELL} whether another column of {found.group} lasts {span}: {counts}"


def kept_words(found: Held, span: str) -> str:
    """Return `lasted 60 h`, of one limit that is asked about `stayed within the limit for 60 h`."""
    return f"stayed within the limit for {span}" if found.named else f"lasted {span}"


def not_run_so_long(found: Held) -> bool:
    """Return whether nothing is known of a span because no column was run for as long."""
    open_yet = not (found.surely or found.failed or found.typical or _seem_past(found))
    return open_yet and found.run_h < found.span.hours


def _seem_past(found: Held) -> list[UsableLife]:
    """Return the columns whose last injections lie past a limit, before a span that none is known to last."""
    if found.surely or found.failed or found.typical:
        return []
    return [
        one
        for one in found.lives
        if one.high is None
        and one.decline.life.recovered_h[1] is None
        and (past := one.decline.life.bracket_h[1]) is not None
        and past < found.span.hours
    ]


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


NOT_RELIABLY = "Not reliably"
"""Those tested lasted a span, and a further one need not."""


def answers(found: Held) -> str:
    """Return yes or no to `do they last as long?`; an empty word where these data say neither."""
    if found.verdict == "shown":
        return "Yes"
    if found.verdict == "indicated":
        # Who plans by the word alone must not hear yes of what a further column need not last.
        short = (found.next_h or found.span.hours) < found.span.hours
        return NOT_RELIABLY if short else "Yes, for the columns tested"
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


ORDER = re.compile(
    r"\b(longer|longest|outlasts?|outlives?|best|better|most stable|kindest|gentlest|mildest)\b",
    re.IGNORECASE,
)
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

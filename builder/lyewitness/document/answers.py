"""The answer: the front page, and one page for every further question.

In: `Edition`. Out: `Part`s.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from lyewitness.decline.records import FirstFailure, GroupLife
from lyewitness.document.blocks import (
    Abreast,
    Beside,
    Block,
    Cell,
    Column,
    Contents,
    FigureBlock,
    Link,
    Listing,
    Opening,
    Part,
    Prose,
    Quoted,
    Row,
    Section,
    Sentence,
    Strong,
    Table,
    Words,
)
from lyewitness.document.changes import changed_words
from lyewitness.document.edition import Edition, revision_words
from lyewitness.document.following import SCRIPTS, following_of
from lyewitness.document.mentions import with_ways
from lyewitness.document.proof import (
    as_early,
    both_sides,
    first_to_fail,
    may_be_earlier,
    named_sides,
    proof_of_group,
)
from lyewitness.document.provisos import strength_meaning
from lyewitness.document.strips import Argument, sentence_of, strips_of
from lyewitness.document.tables import (
    about,
    asked_again,
    banded,
    columns_of,
    life_cell,
    linked,
    marker_cell,
    sized,
    table,
    words,
)
from lyewitness.document.what_if import SCRIPT, what_if
from lyewitness.figures.event_letters import letters_told
from lyewitness.findings.answer.outlook import outlook_lines
from lyewitness.findings.audit.points import lacking
from lyewitness.findings.records import Answer, Because, Check, CheckResult, Claim, GroupAdvice
from lyewitness.study.records import Limit, Question
from lyewitness.words.lives import failed_when, limit_text, moment_text, tell, when
from lyewitness.words.metrics import metric_name, metric_of_marker
from lyewitness.words.names import joined, slug
from lyewitness.words.numbers import interval
from lyewitness.words.phrases import (
    counted,
    exposure,
    listed,
    mid_sentence,
    percent_of,
    run_together,
    sentences_of,
)

FIRST = 2
"""Recommendations on the first screen, beside what the table tells of each group."""
ADVICE = ("group", "do", "replace_after", "tested_so", "how_strong")
LIVES = (
    "group", "marker", "metric", "limit", "life", "columns_failed", "first_to_fail", "remaining",
)  # fmt: skip


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the front page, then a page for each further question."""
    for place, answer in enumerate(edition.report.findings.answers):
        yield Part(
            key="answer",
            path=edition.addresses.page("answer", answer.question.id),
            title=answer.question.text if place else edition.report.study.title,
            blocks=(first := opening(edition, answer), *_argument(edition, answer)),
            template="answer.html" if place else "index.html",
            scripts=(*(SCRIPTS if first.following else ()), *((SCRIPT,) if first.what_if else ())),
        )


def opening(edition: Edition, answer: Answer, most: int = FIRST) -> Opening:
    """Return the first screen of an answer: what to do with each group, and at most so much beside it."""
    argument = _argument_of(edition, answer)
    lives = _own(edition, "lives", answer)
    said = sentences_of(answer.short)
    # That a test still runs is no answer: what it shows so far follows.
    first = 2 if edition.report.findings.outlook is not None else 1
    lead, rest = " ".join(said[:first]), said[first:]
    return Opening(
        asked=asked_words(edition, answer),
        issued=issued_words(edition),
        question=answer.question.text,
        short=answer.short,
        lead=lead,
        rest=" ".join(rest),
        how_sure=answer.how_sure,
        sure=_sure(edition, answer, argument),
        rest_linked=with_ways(edition, " ".join(rest)),
        contradicted=contradicted_words(edition, answer),
        first_failed=first_words(edition, answer),
        changed=changed_words(edition, answer.question.id),
        advice=advice_table(edition, answer) if most else None,
        doing=tuple(sentence_of(edition, claim, argument) for claim in _beside_table(answer)[:most]),
        lives_figure=lives,
        bars=f"{_bars(edition, deciding_of(edition, answer))} {letters_told(lives.caption)}" if lives else "",
        following=following_of(edition, lives, _groups_asked(answer)) if lives else None,
        what_if=what_if(edition, deciding_of(edition, answer), answer.question.groups, bool(answer.ended))
        if lives
        else None,
        # The lives stand above the declines that decide, where there are any.
        decline_figure=None if lives else deciding_figure(edition, answer),
    )


def _sure(edition: Edition, answer: Answer, argument: Argument) -> Words:
    """Return how sure the answer is, and the ways to the reasons of what it advises first."""
    reasons = next(
        (
            links
            for claim in answer.recommendations
            for one in sentence_of(edition, claim, argument).because
            if (links := tuple(link for link in one.links if link.label.isdigit()))
        ),
        (),
    )
    told = with_ways(edition, answer.how_sure)
    if not reasons:
        return told
    lead = f" {edition.say('front.why')} {edition.say('reasons.claims' if reasons[1:] else 'reasons.claim')} "
    return (*told, lead, *linked(reasons), ".")


def _bars(edition: Edition, deciding: tuple[str, str]) -> str:
    """Return what the bars on the figure of lives are, and its pale boxes where it has some."""
    lives = [one.life for key, one in edition.declines.items() if key[1:] == deciding]
    gaps = any(life.state == "reached" and None not in life.bracket_h for life in lives)
    confidence = percent_of(edition.report.study.choices.confidence)
    return edition.say("front.bars_and_gaps" if gaps else "front.bars", confidence=confidence)


def contradicted_words(edition: Edition, answer: Answer) -> str:
    """Return what was expected and that the data contradict it; empty where they do not.

    Whoever believed it should not have to come by it further down.
    """
    verdict = answer.expectation_verdict
    if verdict is None or verdict.strength != "contradicted" or not answer.question.expectation:
        return ""
    told = verdict.text
    found = _EXPECTED_EFFECT.fullmatch(told)
    if found and found["reason"].lower() in answer.short.lower():
        # The answer has just given the ratio, and the expectation the other.
        told = f"{found['lead']}."
    return f"{edition.say('front.was_expected', what=answer.question.expectation)} {told}"


_EXPECTED_EFFECT = re.compile(r"(?P<lead>[^:]+): (?P<reason>[^;]+), where \S+ was expected\.")
"""A verdict on how much a factor does."""


def _groups_asked(answer: Answer) -> tuple[str, ...]:
    """Return the groups that a question is about; none for all.

    `Do two days fit into the life of …?` is about that group, whatever others it is held against.
    """
    of_spans = dict.fromkeys(group for span in answer.spans for group in span.groups)
    return tuple(of_spans) or answer.question.groups


def first_words(edition: Edition, answer: Answer) -> Words:
    """Return which column failed first, and the injections between which it did; nothing where none did."""
    groups = _groups_asked(answer)
    first = first_to_fail(edition, groups)
    sides = named_sides(edition, first) if first else ()
    if first is None or not sides:
        return ()
    series = first.series
    column = edition.link("column", series.column)
    by = ""
    if (series.marker, series.metric) != deciding_of(edition, answer):
        by = f" {edition.say('front.by', what=metric_of_marker(series.marker, series.metric))}"
    others = may_be_earlier(edition, first, groups)
    alike = as_early(edition, first, groups)
    lead = edition.say("front.first_surely_failed" if others else "front.first_failed")
    by_limit: dict[str, list[str]] = {"": []}
    for one in alike:
        by_limit.setdefault(_own_limit(edition, one, (series.marker, series.metric)), []).append(one.column)
    names = [f"{listed(columns, 'or')}{limit}" for limit, columns in by_limit.items() if columns]
    few = len(alike) <= MOST_ALIKE
    named = listed(names, "or") if few else counted(len(alike), "other column")
    unless = edition.say("front.not_before", columns=named) if alike else ""
    earlier = f" {edition.say('front.may_be_earlier', columns=listed(others))}" if others else ""
    told = f"{by}, {when(first.life)}{unless}; "
    return f"{lead} ", column, told, *sides, *both_sides(edition, first), f".{earlier}"


def _own_limit(edition: Edition, one: FirstFailure, metric: tuple[str, str]) -> str:
    """Return ` by pressure` of a column that another limit ended; nothing of one that passed the same."""
    same = edition.declines.get((one.column, *metric))
    tied = metric in ((one.marker, one.metric), *one.tied_with)
    if tied and same is not None and same.life.state == "reached":
        return ""
    return f" {edition.say('front.by', what=metric_of_marker(one.marker, one.metric))}"


MOST_ALIKE = 3
"""Columns that failed at about the same time and are named; more are counted."""


def advice_table(edition: Edition, answer: Answer) -> Table | None:
    """Return what to do with each group, in the order of the advice; None where there is none."""
    if not answer.advice:
        return None
    used = dict.fromkeys(one.strength.replace(" ", "-") for one in answer.advice)
    means = [
        f"{edition.say(f'strength.{one}')}: {mid_sentence(strength_meaning(edition, one, answer))}"
        for one in used
    ]
    times = any(one.replace_after[:1].isdigit() for one in answer.advice)
    return table(
        edition,
        f"{edition.addresses.page('answer', answer.question.id)}#what-to-do",
        edition.say("front.doing"),
        columns_of(edition, *ADVICE),
        [_advice_row(edition, one) for one in answer.advice],
        note=run_together([*means, edition.say("front.bounds") if times else ""]),
    )


def _advice_row(edition: Edition, one: GroupAdvice) -> Row:
    # Names of metrics bear brackets of their own: what is counted stands in the last, at the end.
    after, opened, runs = one.replace_after.rpartition(" (")
    if not opened or not runs.endswith(")"):
        after, runs = one.replace_after, ""
    count, _, failed = one.tested.partition(", ")
    return Row(
        (
            edition.group_cell(one.group),
            words(one.do),
            words(after, title=runs.removesuffix(")") or one.why),
            words(count, title=failed),
            words(edition.say(f"strength.{one.strength.replace(' ', '-')}")),
        )
    )


def _beside_table(answer: Answer) -> tuple[Claim, ...]:
    """Return the recommendations that the table of advice does not tell."""
    question = answer.question.id or "question"
    told = {joined(question, "do", "replace", one.group) for one in answer.advice}
    told |= {joined(question, "do", "choose")} if answer.advice else set()
    return tuple(claim for claim in answer.recommendations if claim.id not in told)


def _argument_of(edition: Edition, answer: Answer) -> Argument:
    numbers = {claim.id: place for place, claim in enumerate(answer.claims, start=1)}
    return Argument(numbers, deciding_of(edition, answer))


def _argument(edition: Edition, answer: Answer) -> Iterator[Block]:
    """Yield everything of an answer below its first screen."""
    say, missing = edition.say, edition.report.findings.missing
    lives = tuple(_lives(edition, answer))
    first = _beside_table(answer)[:FIRST]
    more = _sentences(edition, answer, [one for one in answer.recommendations if one not in first])
    sections = (
        Section(say("front.running"), _outlook(edition), "running"),
        Section(say("front.doing_more"), more, "more-to-do"),
        Section(say("front.claims"), _claims(edition, answer), "claims"),
        Section(say("front.expected"), _expected(edition, answer), "expected"),
        Section(say("front.lives"), (*_limits(edition), *lives), "lives"),
        Section(say("front.audit"), tuple(_audit(edition, answer)), "audit"),
        Section(say("front.first_last"), _first_last(edition, answer), "first-last"),
        Section(say("front.next"), _sentences(edition, answer, answer.next_experiments), "next"),
        Section(say("front.missing"), _listing(missing), "missing"),
        Section(say("front.others"), _others(edition, answer), "others"),
    )
    yield from (section for section in sections if section.blocks)


def _outlook(edition: Edition) -> tuple[Block, ...]:
    """Return what is expected of a study that still runs."""
    outlook = edition.report.findings.outlook
    return _listing(outlook_lines(outlook)) if outlook is not None else ()


def _sentences(edition: Edition, answer: Answer, claims: Sequence[Claim]) -> tuple[Sentence, ...]:
    argument = _argument_of(edition, answer)
    return tuple(sentence_of(edition, claim, argument) for claim in claims)


def _claims(edition: Edition, answer: Answer) -> tuple[Block, ...]:
    """Return the claims; a figure that a claim rests on stands beside the first that names it."""
    if not answer.claims:
        return (Prose((edition.say("front.no_claims"),)),)
    deciding = deciding_figure(edition, answer)
    shown = {one for one, view in edition.figures.items() if one == "lives" or view is deciding}
    argument, strips = _argument_of(edition, answer), strips_of(edition, answer.claims)
    sides = _sides_of_first(edition, answer)
    sentences = []
    for claim in answer.claims:
        names = [name for one in claim.because if (name := _pictured(one)) and name not in shown]
        figure = next((view for name in names if (view := edition.figure(name))), None)
        shown.update(names[:1] if figure else ())
        told = sentence_of(edition, claim, argument, figure, strips.get(claim.id))
        sentences.append(replace(told, sides=sides.get(claim.id, ())))
    return tuple(sentences)


def _sides_of_first(edition: Edition, answer: Answer) -> dict[str, Words]:
    """Return, by the claim on each group's life, the injections between which its first column failed."""
    marker, metric = deciding_of(edition, answer)
    found = {}
    for life in lives_of(edition, answer):
        own = [edition.declines.get((column, marker, metric)) for column in life.columns]
        failed = [(one.life.hours.value, one) for one in own if one and one.life.hours.value is not None]
        if (life.marker, life.metric) == (marker, metric) and failed:
            _, first = min(failed, key=lambda one: one[0])
            if sides := named_sides(edition, first):
                lead = edition.say("proof.first_column", column=first.series.column)
                found[joined(answer.question.id or "question", "life", life.group)] = (
                    f"{lead} ",
                    *sides,
                    ".",
                )
    return found


def _expected(edition: Edition, answer: Answer) -> tuple[Block, ...]:
    """Return what was expected, and what became of it."""
    if answer.expectation_verdict is None:
        return ()
    told = (f"{edition.say('front.expectation')} ", Quoted(answer.question.expectation))
    return (Beside(told), *_sentences(edition, answer, (answer.expectation_verdict,)))


def _limits(edition: Edition) -> tuple[Prose, ...]:
    """Return the limits of the study in one sentence."""
    limits = "; ".join(limits_words(edition))
    return (Prose((f"{edition.say('front.limits_are')} {limits}.",)),) if limits else ()


def _lives(edition: Edition, answer: Answer) -> Iterator[Block]:
    """Yield every life: drawn on one axis where the question is about all, and as a table."""
    told = lives_by_group(edition, answer)
    if not told.rows:
        yield Prose((edition.say("front.no_lives"),))
        return
    every = edition.figure("limits")
    if every and answer is edition.report.findings.answers[0]:
        yield every
    yield told


def _audit(edition: Edition, answer: Answer) -> Iterator[Block]:
    """Yield how the checks of one question came out: counted, then each on its groups that was not good."""
    checks = checks_for(edition, answer.question)
    counted = audit_words(edition, checks)
    yield Prose((f"{counted} ", Link(edition.say("front.audit_all"), edition.page("audit"))))
    missing = frozenset(edition.report.findings.missing)
    for result, link, check in audit_worst(edition, [one for one in checks if _bears(edition, answer, one)]):
        # What could not be checked is told in full among what is missing, on the same page.
        told = ("",) if lacking(check) in missing else (" ", check.bearing or check.detail)
        margin = Prose((Strong(f"{result.capitalize()}."), *told), "rests", explained=True)
        yield Beside((link,), (margin,))


def _bears(edition: Edition, answer: Answer, check: Check) -> bool:
    """Return whether a check is about what a question asks of: not of another group or column alone."""
    asked, study = answer.question.groups, edition.report.study
    others = {one.group for one in study.columns if one.group not in asked}
    others |= {one.id for one in study.columns if one.group not in asked}
    return not asked or check.subject not in others


def _first_last(edition: Edition, answer: Answer | None) -> tuple[Block, ...]:
    """Return the chromatograms at start and end of the groups asked about; of all without an answer."""
    asked = (answer.question.groups if answer else ()) or edition.report.study.groups
    names = {f"first-last-{slug(group)}" for group in asked}
    every = [one for one in edition.figures if one.startswith("first-last")]
    figures = tuple(edition.figures[one] for one in every if one in names or not names.intersection(every))
    return (Abreast(figures, "multiples"),) if figures else ()


def _listing(lines: Sequence[str]) -> tuple[Listing, ...]:
    return (Listing(tuple((line,) for line in lines), explained=True),) if lines else ()


def _others(edition: Edition, answer: Answer) -> tuple[Listing, ...]:
    """Return the ways to the other answers."""
    others = tuple(
        (edition.link("answer", other.question.id, other.question.text),)
        for other in edition.report.findings.answers
        if other is not answer
    )
    return (Listing(others),) if others else ()


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield each answer; what holds for all, and a figure that several show, stands with the first."""
    shown: set[str] = set()
    for place, answer in enumerate(edition.report.findings.answers):
        first = opening(edition, answer, most=0)
        pictures = [first.lives_figure, first.decline_figure]
        lives, decline = (None if one is None or one.id in shown else one for one in pictures)
        shown |= {one.id for one in pictures if one}
        yield Part(
            key="answer",
            path=edition.addresses.page("answer", answer.question.id),
            title=answer.question.text,
            blocks=(
                replace(first, lives_figure=lives, decline_figure=decline),
                *_on_paper(edition, answer, decline, is_first=place == 0),
            ),
        )


def _on_paper(
    edition: Edition, answer: Answer, decline: FigureBlock | None, is_first: bool
) -> Iterator[Block]:
    """Yield what stands on paper below the first lines of an answer."""
    say = edition.say
    doing: tuple[Block, ...] = (
        *_advice_on_paper(edition, answer),
        *_sentences(edition, answer, answer.recommendations),
    )
    yield from _titled(say("front.doing"), doing, "claims")
    if decline:
        yield decline
    if is_first:
        yield Contents()
    yield from _titled(say("front.claims"), _claims(edition, answer), "claims")
    yield from _titled(say("front.expected"), _expected(edition, answer))
    lives = banded(lives_table(edition, answer), by=("marker", "metric", "limit"), style="lives")
    told: Block = lives if lives.bands else Prose((say("front.no_lives"),))
    yield from _titled(say("front.lives"), (*(_limits(edition) if is_first else ()), told))
    if is_first:
        yield from _titled(say("front.first_last"), _first_last(edition, None))
    yield from _titled(say("front.next"), _sentences(edition, answer, answer.next_experiments))
    if is_first:
        yield from _titled(say("front.missing"), _listing(edition.report.findings.missing))


def _advice_on_paper(edition: Edition, answer: Answer) -> tuple[Block, ...]:
    """Return what to do with each group, below the heading that tells so."""
    told = advice_table(edition, answer)
    return () if told is None else (replace(told, title="", style="advice"),)


def _titled(heading: str, blocks: tuple[Block, ...], style: str = "") -> Iterator[Section]:
    """Yield blocks below a heading; nothing where there are none."""
    if blocks:
        yield Section(heading, blocks, apart=False, style=style)


def asked_words(edition: Edition, answer: Answer) -> str:
    """Return who asked and when, as far as it is known."""
    question = answer.question
    if question.asked_by and question.asked_on:
        return edition.say("front.asked_by_on", who=question.asked_by, when=question.asked_on.isoformat())
    if question.asked_by:
        return edition.say("front.asked_by", who=question.asked_by)
    if question.asked_on:
        return edition.say("front.asked_on", when=question.asked_on.isoformat())
    return edition.say("front.asked")


def issued_words(edition: Edition) -> str:
    """Return which revision this is, of what day, by whom and why, and which study it takes the place of."""
    study, revision = edition.report.study, edition.report.revision
    told = [revision_words(edition, revision)] if revision else []
    if study.supersedes:
        told.append(edition.say("issue.instead", id=study.supersedes))
    return " ".join(told)


def _pictured(because: Because) -> str:
    """Return the id of the figure that shows a reason; empty where it is no picture."""
    if because.kind == "image":
        return f"image-{because.target}"
    return because.target if because.kind == "figure" else ""


def deciding_of(edition: Edition, answer: Answer) -> tuple[str, str]:
    """Return marker and metric that decide the question; those of the study where it names none."""
    return answer.deciding if answer.deciding[1] else edition.report.judgement.deciding


def deciding_figure(edition: Edition, answer: Answer) -> FigureBlock | None:
    """Return the decline figure of the metric that decides the question."""
    marker, metric = deciding_of(edition, answer)
    return edition.first_figure(f"decline-{slug(marker)}-{metric}", f"decline-{marker}-{metric}", "decline")


def lives_of(edition: Edition, answer: Answer) -> list[GroupLife]:
    """Return the lives of the groups, markers and metrics that the question is about."""
    question = answer.question
    return [
        life
        for life in edition.report.judgement.group_lives
        if (not question.groups or life.group in question.groups)
        and (not question.markers or not life.marker or life.marker in question.markers)
        and (not question.metrics or life.metric in question.metrics)
    ]


def lives_table(edition: Edition, answer: Answer) -> Table:
    """Return the lives of the groups that the question is about, one row a limit."""
    lives, question = lives_of(edition, answer), answer.question
    path = edition.addresses.page("answer", question.id)
    return table(
        edition,
        f"{path}#table-lives",
        edition.say("front.lives_title"),
        columns_of(edition, *LIVES),
        [_life_row(edition, life) for life in lives],
        csv="data/decline.csv",
        note=edition.say("front.lives_note", confidence=percent_of(edition.report.study.choices.confidence)),
    )


MOST_GROUPS = 6
"""Beyond this many groups, columns of lives are narrower than the words in them."""


def lives_by_group(edition: Edition, answer: Answer) -> Table:
    """Return the lives that the question is about, one row a limit and one column a group."""
    lives = lives_of(edition, answer)
    groups = [group for group in edition.report.study.groups if any(one.group == group for one in lives)]
    if len(groups) > MOST_GROUPS:
        return lives_table(edition, answer)
    by_limit: dict[tuple[str, str, Limit], dict[str, GroupLife]] = {}
    for one in lives:
        by_limit.setdefault((one.marker, one.metric, one.limit), {})[one.group] = one
    path = edition.addresses.page("answer", answer.question.id)
    confidence = percent_of(edition.report.study.choices.confidence)
    return table(
        edition,
        f"{path}#table-lives",
        edition.say("front.lives_title"),
        [*columns_of(edition, "limit"), *(Column(f"life-{place}", one) for place, one in enumerate(groups))],
        [
            Row((_limit_cell(edition, *key), *(_life_at(edition, some.get(group)) for group in groups)))
            for key, some in by_limit.items()
        ],
        csv="data/decline.csv",
        note=edition.say("front.lives_by_group", confidence=confidence),
    )


def _limit_cell(edition: Edition, marker: str, metric: str, limit: Limit) -> Cell:
    """Return what is limited, with the limit below it; it leads to the marker."""
    return replace(
        words(metric_of_marker(marker, metric), edition.addresses.of("marker", marker)),
        title=limit_text(limit),
    )


def _life_at(edition: Edition, life: GroupLife | None) -> Cell:
    """Return one life with how many columns failed, and when the first did."""
    if life is None:
        return words("")
    failed = sum(state == "reached" for state in life.states)
    told = _held_so_far(edition, life) or edition.say(
        "front.failed_told", failed=failed, all=len(life.columns)
    )
    if life.shortest_h is not None and failed < len(life.columns):
        told = f"{told}; {edition.say('front.first_at', when=failed_when(life.first, life.life.hours))}"
        if (least := _least_known(edition, life)) and life.life.state != "reached":
            # Without it, a bound below the first failure contradicts that.
            told = f"{told}; {edition.say('front.known_for', column=least)}"
    return replace(words(tell(life.life), title=told), proof=_brief(edition, proof_of_group(edition, life)))


def _held_so_far(edition: Edition, life: GroupLife) -> str:
    """Return that no column failed though a life is known for less than all of them ran; else empty.

    Beside `at least 88 h`, a bare `0 of 3 failed` in a test of 96 h would be taken for a mistake.
    """
    own = [edition.declines.get((column, life.marker, life.metric)) for column in life.columns]
    ran = min((one.end_h for one in own if one and one.end_h is not None), default=0.0)
    low = life.life.hours.low
    # Within a hundredth they are one number.
    if set(life.states) != {"not reached"} or low is None or low > 0.99 * ran:
        return ""
    return edition.say("front.held_so_far", tested=exposure(ran))


def _brief(edition: Edition, proof: Link | None) -> Link | None:
    """Return a link of one word, with all of its words for those who hear it: cells are narrow."""
    if proof is None:
        return None
    brief = edition.say("proof.brief")
    return replace(proof, label=brief, name=f"{brief}: {proof.label}")


def _least_known(edition: Edition, life: GroupLife) -> str:
    """Return the column that did not surely fail and bounds a group's life below its first failure."""
    found = [edition.declines.get((column, life.marker, life.metric)) for column in life.columns]
    held = [(one.life.hours.low or 0.0, one) for one in found if one and one.life.state != "reached"]
    low, least = min(held, key=lambda pair: pair[0], default=(0.0, None))
    return least.series.column if least is not None and low < (life.shortest_h or 0.0) else ""


def _life_row(edition: Edition, life: GroupLife) -> Row:
    failed = sum(state == "reached" for state in life.states)
    return Row(
        (
            edition.group_cell(life.group),
            marker_cell(edition, life.marker),
            words(metric_name(life.metric)),
            words(limit_text(life.limit)),
            life_cell(edition, life.life, life.reason, proof_of_group(edition, life)),
            words(edition.say("front.failed_of", failed=failed, all=len(life.columns))),
            sized(moment_text(life.first, life.life.hours), life.shortest_h),
            sized(interval(life.remaining, "%"), life.remaining.value),
        )
    )


def audit_words(edition: Edition, checks: Sequence[Check]) -> str:
    """Return how the checks came out, counted."""
    if not checks:
        return edition.say("audit.none")
    counted = Counter(check.result for check in checks)
    order: tuple[CheckResult, ...] = ("good", "caution", "problem", "not possible")
    parts = [
        edition.say(f"audit.count.{result.replace(' ', '_')}", n=counted[result])
        for result in order
        if counted[result]
    ]
    return edition.say("audit.counted", all=len(checks), parts=", ".join(parts))


def checks_for(edition: Edition, question: Question | None = None) -> list[Check]:
    """Return the checks of the audit as they bear on a question, or on the study as a whole.

    Where another metric decides a question, some were asked again for it: its own stand in their place.
    """
    again = asked_again(edition)
    asked = question.id if question else ""
    replaced = {first for first, own in again.values() if own == asked}
    checks = edition.report.findings.checks
    return [one for one in checks if again.get(one.id, ("", asked))[1] == asked and one.id not in replaced]


def audit_worst(edition: Edition, checks: Sequence[Check]) -> list[tuple[str, Link, Check]]:
    """Return (result, link, check) of every check that did not come out good, worst first."""
    order = {"problem": 0, "caution": 1, "not possible": 2}
    bad = [check for check in checks if check.result in order]
    bad.sort(key=lambda check: order[check.result])
    return [
        (
            edition.say(f"audit.result.{check.result.replace(' ', '_')}"),
            edition.link("check", check.id, about(edition, check)),
            check,
        )
        for check in bad
    ]


def limits_words(edition: Edition) -> list[str]:
    """Return the limits of the study, a phrase each."""
    return [
        edition.say(
            "front.limit_of" if limit.markers else "front.limit",
            metric=metric_name(limit.metric),
            limit=limit_text(limit),
            markers=", ".join(limit.markers),
        )
        for limit in edition.report.study.limits
    ]


def _own(edition: Edition, name: str, answer: Answer) -> FigureBlock | None:
    """Return the figure of this question where one was drawn, else that of the study."""
    return edition.figure(f"{name}-{slug(answer.question.id)}") or edition.first_figure(name)

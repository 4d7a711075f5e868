"""The reply to the one who asked, as a colleague writes it: one page, at most 300 words.

In: the parts of the report and one answer. Out: HTML that survives being pasted into a mail, HTML to be set
as a PDF of one page, and plain text.

Its sentences are the report's claims and nothing further; only what the conditions were, what was expected
and where the evidence stands is told beside them, as the study states it. What a reader does not have is not
named: no page, no file. The first sentence answers. Mail programs drop style sheets and drawings, so styles
stand on the elements and the figure is made of cells. Where the words would be too many, what is wanted least
is left out (`WANTED`).

A note whose header says `letter = "ID of the question"` is the author's own word: it stands apart.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median
from textwrap import fill
from typing import Any

from lyewitness.decline.judging import under_one_stress
from lyewitness.decline.records import GroupLife
from lyewitness.document.answers import deciding_of
from lyewitness.document.edition import Edition
from lyewitness.document.parts import Document
from lyewitness.document.themes import LETTER_STYLES
from lyewitness.figures.asked_times import end_with, words_of
from lyewitness.figures.style import look_from
from lyewitness.findings.answer.as_asked import ASKED_ELSEWHERE
from lyewitness.findings.answer.recommending import HERE
from lyewitness.findings.answer.stress_words import conditions_words
from lyewitness.findings.answer.without_doubtful import UNMOVED
from lyewitness.findings.ends import end_of
from lyewitness.findings.medium.cautions import most_urgent
from lyewitness.findings.records import Answer, Report
from lyewitness.outputs.letter_scale import scale_of
from lyewitness.outputs.paper import foot, hyphened_names, print_styles
from lyewitness.outputs.salutations import department_of, person_of
from lyewitness.outputs.templates import kept_together, names_whole, templates_of
from lyewitness.store import NO_STORE, Store
from lyewitness.study.events import event_hours, event_name
from lyewitness.study.records import Column
from lyewitness.words.lives import label_of
from lyewitness.words.phrases import (
    exposure,
    listed,
    mid_sentence,
    run_together,
    sentences_of,
    spelled,
    unlinked,
)

WIDTH = 76
"""Characters in a line of the plain text, as mail programs show it without breaking it again."""
MOST_WORDS = 300
"""A page in a reader's hand, read in two minutes."""
LONGEST_BAR = 85
"""% of the axis: the arrow behind a bar needs its place beside it, on a phone too."""
STROKE = 0.6
"""% of the axis: two pixels of a letter's width."""
ALL = 99
"""More sentences of a kind than any answer has."""
MOST_CAUTIONS = 3
"""A reader remembers three; the report has all."""
NEARLY = 0.9
"""Share of the longest test from which on a column counts as tested for as long, as the audit has it."""
MOST_OF_PARTS = 70
"""Words up to which the verdicts on all statements of an expectation stand or fall together: of two halves
one alone is half an answer."""
MOST_NAMED = 3
"""Columns that were tested for less; beyond that they are counted."""
MOST_PAUSES = 2
"""The longest stops; the report tells every event."""
_OTHERS = re.compile(r"; the others?(?:: | concerns? )")
_RAISED = re.compile(r"(of \S+ checks of the audit that|\S+ checks? of the audit) raised ", re.IGNORECASE)
"""How a sentence begins that tells of cautions which weaken nothing."""
_CORRECTED = re.compile(r"; (?:each|for the|life ratio|ratio of rates) [^;]*\bp\s[≤=<][^;]*?(?=\.$|;)")
"""How surely each difference is one, after which correction: the report says it beside each of them."""
HARDWARE = ("same-particle-size", "same-length", "same-inner-diameter", "same-bonding")
"""What makes columns of two types different besides their type, the gravest first: who compares them must
hear of one, though it weakens nothing."""
_WAY = re.compile(r"(?<=plate number)[ \u00a0]\([^()]+\)")


@dataclass(frozen=True, slots=True)
class Bar:
    """One group's life in the figure."""

    group: str
    told: str
    colour: str
    sure: int
    """% of the axis up to the lower end of the interval."""
    open: int
    """% of the axis from there to the upper end."""
    beyond: bool
    """Whether no more is known than that the life is at least so long."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A time that is asked about, ruled through the figure."""

    told: str
    begins: float
    """% of the axis at which the stroke begins …"""
    ends: float
    """… and at which it ends."""
    beyond: bool
    """Whether it lies beyond the axis."""


@dataclass(frozen=True, slots=True)
class Letter:
    """What a reply says."""

    greeting: str
    paragraphs: tuple[tuple[str, str], ...]
    """(kind, text) in the order of reading; the figure stands after the first."""
    bars: tuple[Bar, ...]
    asked: tuple[Rule, ...]
    own_words: tuple[tuple[str, str], ...]
    """(author, text) of the notes that are marked for this letter."""
    signed: str


def render_letter(document: Document, answer: Answer) -> tuple[str, str]:
    """Return the reply to `answer`'s question as one HTML document and as plain text."""
    values = _values(document, answer)
    templates = templates_of(document.edition.theme)
    values["sizes"] = MAIL
    return templates.page("letter.html", values, POLICY), templates.fill("letter.txt", values)


def letter_on_paper(document: Document, answer: Answer, store: Store = NO_STORE) -> Iterator[str]:
    """Yield the reply as HTML for paper, in type that grows smaller, until it fills one page at most."""
    edition, values = document.edition, _values(document, answer)
    names = hyphened_names(edition.report.study)
    paper = {"styles": print_styles(edition.theme, LETTER_STYLES, store), "foot": foot(edition)}
    for sizes in PRINT:
        html = templates_of(edition.theme).page("letter.html", {**values, **paper, "sizes": sizes}, POLICY)
        yield names_whole(kept_together(html), names)


POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'"
"""Of a reply: it shows what it holds, and loads and runs nothing."""
MAIL = ("17px", "13px")
"""Sizes of text and labels on a screen."""
PRINT = (("11pt", "8.5pt"), ("10pt", "8pt"), ("9pt", "7.5pt"), ("8pt", "7pt"))
"""On paper: as large as one page allows. Names of 60 letters and a dozen groups go into the smallest."""


def _values(document: Document, answer: Answer) -> dict[str, Any]:
    edition = document.edition
    return {
        "say": edition.say,
        "logo": edition.theme.logo,
        "study": edition.report.study,
        "question": answer.question,
        "wrapped": wrapped,
        "colours": look_from(edition.theme.look).light,
        "letter": letter_of(edition, answer),
        "scale": scale_of(_axis_h(_lives(edition, answer), answer), LONGEST_BAR),
        "styles": "",
        "foot": "",
    }


def letter_of(edition: Edition, answer: Answer) -> Letter:
    """Return what the reply to `answer`'s question says."""
    study, asker = edition.report.study, answer.question.asked_by
    bars, own = tuple(_bars(edition, answer)), _own_words(edition.report, answer)
    asked = tuple(_asked(edition, answer)) if bars else ()
    greeting = _greeting(edition, asker)
    signed = ", ".join(person.name for person in study.people)
    quoted = [f"{edition.say('letter.own', who=author)} {text}" for author, text in own]
    more = edition.say("letter.cautions_more", n=spelled(2))
    frame = _count(study.title, greeting, signed, study.invented, more, *quoted)
    return Letter(
        greeting,
        _kept(edition, list(_paragraphs(edition, answer)), MOST_WORDS - frame),
        bars,
        asked,
        own,
        signed,
    )


def _greeting(edition: Edition, asker: str) -> str:
    """Return how who asked is addressed; a department has no name, and a role alone is nobody's."""
    if who := person_of(asker):
        return edition.say("letter.greeting", who=who)
    if where := department_of(asker):
        return edition.say("letter.greeting_in", where=where)
    return edition.say("letter.greeting_all")


def _paragraphs(edition: Edition, answer: Answer) -> Iterator[tuple[str, str]]:
    """Yield (kind, text); an answer whose expectation failed says so before how sure it is."""
    say, verdict = edition.say, answer.expectation_verdict
    said = sentences_of(answer.short)
    elsewhere = [part for part in said if part.lower().startswith(ASKED_ELSEWHERE)]
    for part in said:
        if part not in elsewhere:
            yield "answer", part
    if verdict:
        first, *others = sentences_of(reason_untold(verdict.text, answer.short))
        what = answer.question.expectation.strip()
        stop = "" if what.endswith((".", "!", "?")) else "."
        if _quoted_whole(what, verdict.text):
            # Each of its statements stands beside its verdict: the whole before them would be a second time.
            first = say("letter.expected_parts", first=mid_sentence(first))
            while others and _count(first, others[0]) <= MOST_OF_PARTS:
                first = f"{first} {others.pop(0)}"
            yield "expected", first
        else:
            yield "expected", f"{say('letter.expected', what=what)}{stop} {first}" if what else first
        for part in others:
            yield "expected", part
    # That other conditions are asked about is read with those that were tested.
    for place, (kind, part) in enumerate(_tested(edition, answer)):
        yield kind, part if place else " ".join([part, *elsewhere])
    for part in answer.reserved:
        # Injections without which nothing changes can wait.
        yield "unmoved" if UNMOVED in part else "reserved", part
    where = conditions_words(edition.report.study, _asked_about(edition, answer)).removeprefix("at ")
    for claim in answer.recommendations:
        # The paragraph before has just named them.
        advice = claim.text.replace(f" ({where})", "", 1) if where else claim.text
        if told := _not_told(advice, answer.short):
            yield "advice", told
    how_sure = answer.how_sure
    for part in answer.reserved:
        how_sure = how_sure.replace(part, "", 1)
    told = _smaller_counted(edition, how_sure.strip()).replace(
        ". The most important: ", "; the most important: "
    )
    for place, part in enumerate(sentences_of(told)):
        # The most important of several cautions is told, what the others concern in the report.
        if _RAISED.match(part):
            # What weakens nothing is no word of a letter, nor what stands behind it.
            yield from _differing(edition, answer)
            break
        yield "sure", _worst_alone(part) if place else _CORRECTED.sub("", part)
    for claim in answer.next_experiments[:1]:
        yield "next", claim.text
    yield from _cautions(edition)
    yield "evidence", _evidence(edition)


def _quoted_whole(what: str, verdict: str) -> bool:
    """Return whether a verdict quotes every statement of what was expected."""
    quoted = [one for one in re.findall(r"‘([^’]+)’", verdict) if one in what]
    rest = what
    for one in sorted(quoted, key=len, reverse=True):
        rest = rest.replace(one, "", 1)
    return len(quoted) > 1 and len(re.findall(r"\w+", rest)) <= len(quoted)


def _differing(edition: Edition, answer: Answer) -> Iterator[tuple[str, str]]:
    """Yield in what else than their type the columns differ that are compared: one of it."""
    alone = answer.spans and len({group for span in answer.spans for group in span.groups}) == 1
    if alone or len(_asked_about(edition, answer)) < 2:
        return
    found = [one for one in edition.report.findings.checks if one.result == "caution"]
    for name in HARDWARE:
        for check in found:
            if check.id == name:
                yield "differs", run_together([f"mind that {mid_sentence(check.detail.partition('; ')[0])}"])
                return


def reason_untold(verdict: str, short: str) -> str:
    """Return a verdict on what was expected, without its reason where the answer has just given it.

    Neither what stands in brackets nor the hours asked about count: the answer may name the limits and the
    reason the hours.
    """
    return " ".join(_untold(one, _bare(short)) for one in sentences_of(verdict))


def _untold(sentence: str, before: str) -> str:
    """Return one sentence of a verdict without the reason that stands `before`, bare of brackets."""
    lead, colon, reason = sentence.partition(": ")
    clauses = _clauses(reason.rstrip("."))
    if (said := _EFFECT.fullmatch(reason.rstrip("."))) and _bare(said["what"]) in before:
        return f"{lead}: {said['wanted']} was expected."
    # What was expected stands right before, in the words of who asked.
    new = [one for one in clauses if not one.startswith("you expected ") and _bare(one) not in before]
    if not colon or (new and len(new) == len(clauses)) or " in part" in lead:
        # Which part it is, is told even twice.
        return sentence
    return f"{lead}: {'; '.join(new)}." if new else f"{lead}."


def _clauses(reason: str) -> list[str]:
    """Return what stands between semicolons, or commas before what is said of other columns; brackets stay
    whole."""
    found, depth, begins = [], 0, 0
    for place, sign in enumerate(reason):
        depth += (sign == "(") - (sign == ")")
        if depth == 0 and sign in ";," and (sign == ";" or _OF_OTHERS.match(reason, place + 2)):
            found.append(reason[begins:place])
            begins = place + 2
    return [*found, reason[begins:]]


_OF_OTHERS = re.compile(r"(?:both|all|none|no|one|two|three|four|five|the one) ")
"""How a clause begins on how columns did."""


def _bare(text: str) -> str:
    return _BESIDE.sub("", text).rstrip(".").lower()


_EFFECT = re.compile(r"(?P<what>.* by) \S+ \([^()]*\), where (?P<wanted>\S+) was expected")
"""What a factor does, as the answer has told it, against what was expected of it."""
_BESIDE = re.compile(r"\s*\([^()]*\)|(?<=\bbefore)\s\d[\d.]*\sh\b")
SMALLER = re.compile(r"\b(\w+) more should be kept in mind\b[^.]*\.")


def _smaller_counted(edition: Edition, told: str) -> str:
    """Return a text; where it lists what else should be minded, how much that is: a reader of a letter can
    look up none of it."""
    found = SMALLER.search(told)
    if found is None:
        return told
    counted = edition.say("letter.smaller_one" if found[1] == "One" else "letter.smaller", n=found[1].lower())
    return told.replace(found[0], counted, 1)


def _not_told(advice: str, short: str) -> str:
    """Return the sentences of an advice that the answer has not said already, word for word."""
    lead = f"{HERE}, "
    before = short.lower()
    kept = [one for one in sentences_of(advice) if one.lower().removeprefix(lead) not in before]
    return " ".join(kept)


def _cautions(edition: Edition) -> Iterator[tuple[str, str]]:
    """Yield the most urgent cautions, a plain sentence each."""
    found = [one for one in edition.report.findings.cautions if one.brief]
    for place, one in enumerate(most_urgent(found, MOST_CAUTIONS)):
        lead = "" if place else edition.say("letter.cautions_first")
        yield "cautions", run_together([lead, one.brief])


def _evidence(edition: Edition) -> str:
    """Return where the evidence stands, with a fingerprint of every file that was read."""
    study, known = edition.report.study.id, edition.report.fingerprint
    whom = "us" if len(edition.report.study.people) > 1 else "me"
    if not known:
        return edition.say("letter.evidence", study=study, whom=whom)
    return edition.say("letter.evidence_of", study=study, hash=known, whom=whom)


def _asked_about(edition: Edition, answer: Answer) -> Sequence[str]:
    """Return the groups that a question is about: all of the study, where it names none of them."""
    known = edition.report.study.groups
    return [group for group in known if group in answer.question.groups] or known


def _tested(edition: Edition, answer: Answer) -> Iterator[tuple[str, str]]:
    """Yield what was tested, beyond which nothing is said."""
    ends = [life.tested_to_h for life in _lives(edition, answer) if life.tested_to_h]
    where = conditions_words(edition.report.study, _asked_about(edition, answer))
    if ends and where:
        span = exposure(max(ends))
        if next(_shorter(edition, answer, max(ends)), ""):
            span = f"up to {span}"
        varied = listed(f"the {one.name} ({' or '.join(one.levels)})" for one in edition.report.study.factors)
        told = edition.say("letter.varied", what=varied) if varied else ""
        running = edition.report.findings.outlook is not None
        tested = edition.say("letter.tested_so_far" if running else "letter.tested", where=where, span=span)
        yield "tested", run_together([tested])
        # Sentences of their own: where words are few, the conditions stay.
        varied_words = [run_together([told])] if told else []
        for more in (*varied_words, *_shorter(edition, answer, max(ends)), *_pauses(edition, answer)):
            yield "tested", more


def _compared_columns(edition: Edition, answer: Answer) -> Sequence[Column]:
    """Return the columns of the groups that are asked about, but those under another stress."""
    study = edition.report.study
    return [one for group in _asked_about(edition, answer) for one in under_one_stress(study, group)]


def _shorter(edition: Edition, answer: Answer, longest: float) -> Iterator[str]:
    """Yield of which columns less was seen: taken off when and why, else when they were last injected."""
    report = edition.report
    ends = [end_of(report.study, report.measurements, one) for one in _compared_columns(edition, answer)]
    short = [end for end in ends if 0.0 < end.seen_h < NEARLY * longest]
    off = [end for end in short if end.is_stated] if len(short) <= MOST_NAMED else []
    for end in off:
        key = "letter.taken_off_unseen" if end.ran_on else "letter.taken_off"
        when = {"span": exposure(end.ran_h), "seen": exposure(end.seen_h)}
        yield run_together(
            [edition.say(key, who=_with_group(edition, answer, end.column), why=end.why, **when)]
        )
    # A column that took another's place ran for less because it began later.
    placed = {one.id: one.replaces for one in report.study.columns if one.replaces}
    late = [end for end in short if end not in off and end.column in placed]
    for end in late:
        who, whose = _with_group(edition, answer, end.column), placed[end.column]
        words = edition.say("letter.took_place", who=who, whose=whose, span=exposure(end.seen_h))
        yield run_together([words])
    if others := [end for end in short if end not in off and end not in late]:
        named = listed(end.column for end in others)
        who = named if len(others) <= MOST_NAMED else f"{spelled(len(others))} columns"
        first, *_, last = sorted(end.seen_h for end in others) * 2
        spans = dict.fromkeys((exposure(first), exposure(last)))
        verb = "was" if len(others) == 1 else "were"
        yield run_together([edition.say("letter.shorter", who=f"{who} {verb}", span=" to ".join(spans))])


def _with_group(edition: Edition, answer: Answer, column: str) -> str:
    """Return `P1 (phenyl)` of a column, where groups are compared: the answer tells lives by group."""
    group = edition.report.study.column(column).group
    alone = len(_asked_about(edition, answer)) < 2
    return column if alone else f"{column} ({group})"


PUMPS_OFF = re.compile(
    r"pumps?\W+(and|,)\W*ovens?\W+(were\W+)?off|ovens?\W+(and|,)\W*pumps?\W+(were\W+)?off", re.I
)
"""What the note of an event must say for its pumps and ovens to be told as off."""


def _pauses(edition: Edition, answer: Answer) -> Iterator[str]:
    """Yield when the stress paused, and for how long, the longest first: columns cool down meanwhile."""
    study, columns = edition.report.study, _compared_columns(edition, answer)
    found: list[tuple[float, str]] = []
    for event in study.events:
        begin, end = event.begin, event.end
        placed = {
            one.id: at[0]
            for one in study.columns
            if (at := event_hours(event, one, study.events)) is not None
        }
        if event.exposes or not isinstance(begin, datetime) or not isinstance(end, datetime):
            continue
        if not any(one.id in placed for one in columns):
            continue
        lost = (end - begin).total_seconds() / 3600
        words = edition.say(
            "letter.paused_off" if PUMPS_OFF.search(event.note) else "letter.paused",
            span=exposure(lost),
            at=_at_exposures(list(placed.values())),
            on=_on_which(event.columns, [one.id for one in columns]),
            kind="" if event.kind == "pause" else f" ({event_name(event)})",
        )
        found.append((lost, run_together([words])))
    yield from (words for _, words in sorted(found, key=lambda one: -one[0])[:MOST_PAUSES])


def _on_which(stopped: Sequence[str], asked: Sequence[str]) -> str:
    """Return ` on W1 and W4`, of the columns that are asked about; empty where it met all of them."""
    own = [one for one in asked if one in stopped]
    return f" on {listed(own)}" if stopped and len(own) < len(asked) else ""


SAME_EXPOSURE_H = 1.0
"""Hours by which columns are put in one after the other, and which no reader need be told."""


def _at_exposures(hours: Sequence[float]) -> str:
    """Return `35 to 38 h` of what met columns at different exposures: one event, alike in all letters."""
    low, high = round(min(hours)), round(max(hours))
    apart = max(hours) - min(hours) > SAME_EXPOSURE_H and low < high
    return f"{low} to {exposure(high)}" if apart else exposure(median(hours))


WANTED = (
    ("evidence", 1), ("answer", 1), ("cautions", 1), ("expected", 1), ("sure", 1), ("answer", 2),
    ("tested", 1), ("advice", 1), ("expected", 2), ("reserved", ALL), ("answer", ALL), ("differs", 1),
    ("tested", ALL), ("sure", 2), ("unmoved", ALL), ("expected", ALL), ("advice", ALL), ("cautions", ALL),
    ("sure", ALL), ("next", ALL),
)  # fmt: skip
"""What is told as far as it fits, the most wanted first, and up to how many sentences of it. Read backwards,
it is the order in which a letter is shortened: plans before details, details before what to do, this before
the conditions, without which no life means anything, and all of these before the lesser of what weakens the
answer. A second sentence of the answer holds the second thing that was asked, or the lives behind an order;
the report has all of it."""


BELONGS = {"differs": "sure", "unmoved": "reserved"}
"""In the paragraph of which other kind a piece stands."""


def _kept(edition: Edition, pieces: list[tuple[str, str]], words: int) -> tuple[tuple[str, str], ...]:
    """Return the paragraphs within `words`: what is wanted most as far as it fits.

    Of one kind nothing follows what did not fit. Pieces of one kind become one paragraph.
    """
    kept, full = _fitting(pieces, words)
    cut: set[str] = set()
    while now := (full & {"answer", "expected"}) - cut:
        # What is cut short is said to go on.
        cut |= now
        words -= len(now) * _count(edition.say("letter.more"))
        kept, full = _fitting(pieces, words)
    if {"tested", "advice"} - {pieces[place][0] for place in kept} or "expected" in full:
        # What to do, and where it holds, before the lesser of what weakens the answer.
        pieces = [(kind, _worst_alone(text) if kind == "sure" else text) for kind, text in pieces]
        kept, full = _fitting(pieces, words)
    paragraphs = [pieces[place] for place in sorted(kept)]
    joined: dict[str, str] = {}
    for kind, text in _qualified_once(paragraphs):
        kind = BELONGS.get(kind, kind)
        joined[kind] = f"{joined[kind]} {text}" if kind in joined else text
    left = sum(bool(one.brief) for one in edition.report.findings.cautions)
    left -= sum(kind == "cautions" for kind, _ in paragraphs)
    for kind in cut & full & set(joined):
        joined[kind] += f" {edition.say('letter.more')}"
    if "cautions" in joined and left:
        joined["cautions"] += f" {edition.say('letter.cautions_more', n=spelled(left))}"
    return tuple(joined.items())


def _worst_alone(text: str) -> str:
    """Return `four points weaken the answer; the most serious: …` without the others that it names."""
    return run_together([_OTHERS.split(text)[0].rstrip(".")])


def _fitting(pieces: Sequence[tuple[str, str]], words: int) -> tuple[set[int], set[str]]:
    """Return the places of the pieces that fit into so many words, and the kinds that did not fit whole."""
    of_kind = {kind: [place for place, one in enumerate(pieces) if one[0] == kind] for kind, _ in WANTED}
    kept: set[int] = set()
    full: set[str] = set()
    for kind, most in WANTED:
        for place in of_kind[kind][:most]:
            if place in kept or kind in full:
                continue
            fits = _count(*(pieces[one][1] for one in kept | {place})) <= words
            if fits or (kind == "answer" and place == of_kind[kind][0]):
                kept.add(place)
            else:
                full.add(kind)
    return kept, full


def _count(*texts: str) -> int:
    return len(" ".join(texts).split())


def _qualified_once(paragraphs: Sequence[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Yield the paragraphs, the way in which plates are counted told once where there is one way only."""
    ways = {found for _, text in paragraphs for found in _WAY.findall(text)}
    told = len(ways) > 1
    for kind, text in paragraphs:
        first, found, rest = text.partition(next(iter(ways), "\0"))
        if not found or len(ways) > 1:
            yield kind, text
            continue
        yield kind, f"{first}{'' if told else found}{rest.replace(found, '')}"
        told = True


def _lives(edition: Edition, answer: Answer) -> Sequence[GroupLife]:
    """Return the lives that decide, of the groups that are asked about."""
    judgement, groups = edition.report.judgement, answer.question.groups
    if answer.lives_by_any:
        return answer.lives_by_any
    return [
        life
        for life in judgement.group_lives
        if (life.marker, life.metric) == deciding_of(edition, answer) and (not groups or life.group in groups)
    ]


def _axis_h(lives: Sequence[GroupLife], answer: Answer) -> float:
    """Return the hours at which the axis of the figure ends: the longest life, or what is asked about."""
    ends = [end for one in lives for end in (one.life.hours.high, one.life.hours.low) if end]
    # An end that the data hardly bound must not push all else to the left.
    tested = max((one.tested_to_h or 0.0 for one in lives), default=0.0)
    axis = min(max(ends, default=1.0), 2 * tested) if tested else max(ends, default=1.0)
    return end_with(answer.spans, axis, tested or axis)


def _asked(edition: Edition, answer: Answer) -> Iterator[Rule]:
    """Yield the times that the question asks about, where they lie on the axis of the bars."""
    axis = _axis_h(_lives(edition, answer), answer)
    for one in answer.spans:
        at = LONGEST_BAR * min(1.0, one.hours / axis)
        yield Rule(words_of(one), round(at - STROKE / 2, 2), round(at + STROKE / 2, 2), one.hours > axis)


def _bars(edition: Edition, answer: Answer) -> Iterator[Bar]:
    """Yield the lives as bars on one axis from zero to the longest."""
    lives, colours = _lives(edition, answer), look_from(edition.theme.look).light.groups
    order = edition.report.study.groups
    axis = _axis_h(lives, answer)
    for one in lives:
        hours = one.life.hours
        low = hours.low or hours.value or 0.0
        high = max(low, hours.high or low) if one.life.state == "reached" else low
        sure, whole = (round(LONGEST_BAR * min(1.0, end / axis)) for end in (low, high))
        yield Bar(
            group=one.group,
            told=label_of(one.life),
            colour=colours[order.index(one.group) % len(colours)],
            sure=sure,
            open=whole - sure,
            beyond=low > 0 and hours.value is None and hours.high is None,
        )


def _own_words(report: Report, answer: Answer) -> tuple[tuple[str, str], ...]:
    """Return the words of notes that are marked for this letter, links as their words."""
    return tuple(
        (note.author, " ".join(unlinked(note.text).split()))
        for note in report.study.notes
        if note.letter == answer.question.id
    )


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Return `text` in lines of `WIDTH` characters, the first begun with `first`, the others with `rest`."""
    return fill(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)

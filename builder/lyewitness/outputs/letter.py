"""The reply to the one who asked, as a colleague writes it: one page, at most 300 words.

In: the parts of the report and one answer. Out: HTML that survives being pasted into a mail, and plain text.

Its sentences are the report's claims and nothing further; only what the conditions were, what was expected
and where the evidence stands is told beside them, as the study states it. What a reader does not have is not
named: no page, no file. The first sentence answers. Mail programs drop style sheets and drawings, so styles
stand on the elements and the figure is made of cells. Where the words would be too many, what is wanted least
goes first (`_kept`); answer, expectation, safety and evidence stay.

A note whose header says `letter = "ID of the question"` is the author's own word: it stands apart.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from textwrap import fill

from lyewitness.decline.records import GroupLife
from lyewitness.document.answers import deciding_of
from lyewitness.document.edition import Edition
from lyewitness.document.parts import Document
from lyewitness.figures.style import look_from
from lyewitness.findings.answer.recommending import conditions_words
from lyewitness.findings.records import Answer, Report
from lyewitness.outputs.archive import file_hashes
from lyewitness.outputs.templates import templates_of
from lyewitness.words.lives import tell
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import sentence

WIDTH = 76
"""Characters in a line of the plain text, as mail programs show it without breaking it again."""
MOST_WORDS = 300
"""A page in a reader's hand, read in two minutes."""
LONGEST_BAR = 85
"""% of the axis: the arrow behind a bar needs its place beside it, on a phone too."""
HASH_SIGNS = 16
"""Of a SHA-256: 64 bits, enough to tell one state of a folder from another."""
_MARKUP = re.compile(r"\[\[[a-z]+:([^\[\]|]+)(?:\|([^\[\]]+))?\]\]")
_SENTENCES = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")


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
class Letter:
    """What a reply says."""

    greeting: str
    paragraphs: tuple[tuple[str, str], ...]
    """(kind, text) in the order of reading; the figure stands after the first."""
    bars: tuple[Bar, ...]
    own_words: tuple[tuple[str, str], ...]
    """(author, text) of the notes that are marked for this letter."""
    signed: str


def render_letter(document: Document, answer: Answer) -> tuple[str, str]:
    """Return the reply to `answer`'s question as one HTML document and as plain text."""
    edition = document.edition
    templates, whole = templates_of(edition.theme), letter_of(edition, answer)
    values = {
        "say": edition.say,
        "study": edition.report.study,
        "question": answer.question,
        "wrapped": wrapped,
        "colours": look_from(edition.theme.look).light,
    }
    return tuple(  # type: ignore[return-value]  # two names, two texts
        templates.fill(name, {**values, "letter": whole}) for name in ("letter.html", "letter.txt")
    )


def letter_of(edition: Edition, answer: Answer) -> Letter:
    """Return what the reply to `answer`'s question says."""
    study, asker = edition.report.study, answer.question.asked_by
    bars, own = tuple(_bars(edition, answer)), _own_words(edition.report, answer)
    told = len(" ".join((study.invented, *(f"{author} {text}" for author, text in own))).split())
    return Letter(
        greeting=edition.say("letter.greeting", who=asker) if asker else edition.say("letter.greeting_all"),
        paragraphs=_kept(list(_paragraphs(edition, answer)), MOST_WORDS - told),
        bars=bars,
        own_words=own,
        signed=", ".join(person.name for person in study.people),
    )


def _paragraphs(edition: Edition, answer: Answer) -> Iterator[tuple[str, str]]:
    """Yield (kind, text); an answer whose expectation failed says so before how sure it is."""
    say, verdict = edition.say, answer.expectation_verdict
    yield "answer", answer.short
    if verdict and answer.question.expectation:
        yield "expected", f"{say('letter.expected', what=answer.question.expectation)} {verdict.text}"
    elif verdict:
        yield "expected", verdict.text
    for claim in answer.recommendations:
        yield "advice", claim.text
    for part in _SENTENCES.split(answer.how_sure):
        yield "sure", part
    for claim in answer.next_experiments[:1]:
        yield "next", claim.text
    yield from _tested(edition, answer)
    cautions = edition.report.findings.cautions[1:-1]
    if cautions:
        titles = "; ".join(one.title[:1].lower() + one.title[1:] for one in cautions)
        yield "cautions", say("letter.cautions", titles=titles)
    yield "evidence", _evidence(edition)


def _evidence(edition: Edition) -> str:
    """Return where the evidence stands, with a fingerprint of every file that was read."""
    study, hashes = edition.report.study.id, file_hashes(edition.report.provenance)
    if not hashes:
        return edition.say("letter.evidence", study=study)
    listing = "".join(f"{digest}  {name}\n" for name, digest in sorted(hashes.items()))
    known = sha256(listing.encode()).hexdigest()[:HASH_SIGNS]
    return edition.say("letter.evidence_of", study=study, hash=known)


def _tested(edition: Edition, answer: Answer) -> Iterator[tuple[str, str]]:
    """Yield what was tested, beyond which nothing is said."""
    ends = [life.tested_to_h for life in _lives(edition, answer) if life.tested_to_h]
    where = conditions_words(edition.report.study)
    if ends and where:
        span = with_unit(stated(max(ends)), "h")
        yield "tested", sentence(edition.say("letter.tested", where=where, span=span))


def _kept(paragraphs: list[tuple[str, str]], words: int) -> tuple[tuple[str, str], ...]:
    """Return the paragraphs within `words`: what could be done next goes first, then the last of how sure
    this is, then the last of the advice; one sentence of each stays. Pieces of one kind become one."""
    for kind, least in (("next", 0), ("sure", 1), ("advice", 1)):
        while len(" ".join(text for _, text in paragraphs).split()) > words - FRAME_WORDS:
            places = [place for place, (found, _) in enumerate(paragraphs) if found == kind]
            if len(places) <= least:
                break
            del paragraphs[places[-1]]
    joined: dict[str, str] = {}
    for kind, text in paragraphs:
        joined[kind] = f"{joined[kind]} {text}" if kind in joined else text
    return tuple(joined.items())


FRAME_WORDS = 24
"""Title, greeting and signature."""


def _lives(edition: Edition, answer: Answer) -> Sequence[GroupLife]:
    """Return the lives that decide, of the groups that are asked about."""
    judgement, groups = edition.report.judgement, answer.question.groups
    return [
        life
        for life in judgement.group_lives
        if (life.marker, life.metric) == deciding_of(edition, answer) and (not groups or life.group in groups)
    ]


def _bars(edition: Edition, answer: Answer) -> Iterator[Bar]:
    """Yield the lives as bars on one axis from zero to the longest."""
    lives, colours = _lives(edition, answer), look_from(edition.theme.look).light.groups
    order = edition.report.study.groups
    ends = [end for one in lives for end in (one.life.hours.high, one.life.hours.low) if end]
    # An end that the data hardly bound must not push all else to the left.
    tested = max((one.tested_to_h or 0.0 for one in lives), default=0.0)
    axis = min(max(ends, default=1.0), 2 * tested) if tested else max(ends, default=1.0)
    for one in lives:
        hours = one.life.hours
        low = hours.low or hours.value or 0.0
        high = max(low, hours.high or low) if one.life.state == "reached" else low
        sure, whole = (round(LONGEST_BAR * min(1.0, end / axis)) for end in (low, high))
        yield Bar(
            group=one.group,
            told=tell(one.life),
            colour=colours[order.index(one.group) % len(colours)],
            sure=sure,
            open=whole - sure,
            beyond=low > 0 and hours.value is None and hours.high is None,
        )


def _own_words(report: Report, answer: Answer) -> tuple[tuple[str, str], ...]:
    """Return the words of notes that are marked for this letter, links as their words."""
    return tuple(
        (note.author, " ".join(_MARKUP.sub(lambda found: found[2] or found[1], note.text).split()))
        for note in report.study.notes
        if note.letter == answer.question.id
    )


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Return `text` in lines of `WIDTH` characters, the first begun with `first`, the others with `rest`."""
    return fill(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)

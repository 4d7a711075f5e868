"""The reply to the person who asked, as HTML and as plain text, made of the report's claims alone.

A letter is read in a minute: answer, how sure, what to do, what was expected, what would settle the rest.
Reasons stay in the report, to which it points. In: `Document`, one `Answer`. Out: (HTML, text).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import fill

from lyewitness.document.answers import opening
from lyewitness.document.blocks import Opening
from lyewitness.document.parts import Document
from lyewitness.findings.records import Answer, Claim
from lyewitness.outputs.assets import colour_styles
from lyewitness.outputs.templates import templates_of

WIDTH = 76
"""Characters in a line of the plain text, as mail programs show it without breaking it again."""
MOST_EXPERIMENTS = 2
"""Further experiments that a letter names; the report has them all."""


@dataclass(frozen=True, slots=True)
class Letter:
    """What a reply says."""

    opening: Opening
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    """Headings, each with its sentences."""
    cautions: str
    people: str
    page: str
    """The page of the report to which it points."""


def render_letter(document: Document, answer: Answer) -> tuple[str, str]:
    """Return the reply to `answer`'s question as one HTML document and as plain text."""
    edition = document.edition
    values = {
        "say": edition.say,
        "study": edition.report.study,
        "letter": letter_of(document, answer),
        "styles": colour_styles(edition.theme),
        "wrapped": wrapped,
    }
    templates = templates_of(edition.theme)
    return templates.fill("letter.html", values), templates.fill("letter.txt", values)


def letter_of(document: Document, answer: Answer) -> Letter:
    """Return what the reply to `answer`'s question says."""
    edition = document.edition
    verdict = answer.expectation_verdict
    parts: tuple[tuple[str, Sequence[Claim]], ...] = (
        ("front.doing", answer.recommendations),
        ("front.expected", (verdict,) if verdict else ()),
        ("front.next", answer.next_experiments[:MOST_EXPERIMENTS]),
    )
    cautions = edition.report.findings.cautions[1:-1]
    return Letter(
        opening=opening(edition, answer, most=0),
        parts=tuple(
            (edition.say(heading), tuple(claim.text for claim in claims))
            for heading, claims in parts
            if claims
        ),
        cautions="; ".join(_mid_sentence(caution.title) for caution in cautions),
        people=", ".join(person.name for person in edition.report.study.people),
        page=edition.addresses.page("answer", answer.question.id),
    )


def _mid_sentence(title: str) -> str:
    """Return a title as it stands within a sentence."""
    return title[:1].lower() + title[1:]


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Return `text` in lines of `WIDTH` characters, the first begun with `first`, the others with `rest`."""
    return fill(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)

"""The answer on one sheet that stands alone, and the same as a picture for a talk.

In: the parts of the report, its figures. Out: HTML for one printed page, PNG of 1920 × 1080.

Answer, the lives, what to do with each group, the three most urgent cautions, and by what the evidence is
known. It says nothing that the first page does not say; who holds it needs no other file to read it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from lyewitness.document.answers import asked_words, contradicted_words, deciding_of, opening
from lyewitness.document.edition import Edition
from lyewitness.document.parts import Document
from lyewitness.document.provisos import differing_words, limit_passed, limit_words, strength_meaning
from lyewitness.document.themes import SUMMARY_STYLES, Theme
from lyewitness.figures.style import look_from
from lyewitness.figures.talk import Faces, Slide, draw_slide
from lyewitness.findings.medium.cautions import most_urgent
from lyewitness.findings.records import Answer
from lyewitness.outputs.paper import foot, hyphened_names, print_styles
from lyewitness.outputs.templates import kept_together, names_whole, templates_of
from lyewitness.shipped import font_file
from lyewitness.store import NO_STORE, Store
from lyewitness.words.phrases import mid_sentence, run_together, spelled

MOST_CAUTIONS = 3
"""Who reads one sheet remembers three; the report has all."""
SIZES = ((12.0, 125), (11.2, 112), (10.5, 100), (9.6, 85), (8.8, 75), (8.0, 65), (7.2, 60), (6.4, 50))
"""(points of text, mm of the figure's height at most): as large as one page allows."""
COLUMNS = ("group", "do", "replace_after", "tested", "strength")


@dataclass(frozen=True, slots=True)
class Doing:
    """One line of the table."""

    group: str
    cells: tuple[str, ...]
    """Of the other columns."""
    strength: str


def summary_on_paper(document: Document, store: Store = NO_STORE) -> Iterator[str]:
    """Yield the sheet as HTML, in type that grows smaller, until it fills one page at most."""
    edition = document.edition
    answer, names = edition.report.findings.answers[0], hyphened_names(edition.report.study)
    first, passed = opening(edition, answer, most=0), limit_passed(edition, answer)
    values = {
        "say": edition.say,
        "logo": edition.theme.logo,
        "study": edition.report.study,
        "asked": asked_words(edition, answer),
        "answer": answer,
        "opening": first,
        "limit": "" if passed and passed in first.short else limit_words(edition, answer),
        "heads": heads(edition),
        "doing": doing(edition, answer),
        "note": strengths_note(edition, answer),
        "cautions": cautions(edition),
        "more": cautions_more(edition),
        "styles": print_styles(edition.theme, SUMMARY_STYLES, store),
        "foot": foot(edition),
        "marks": edition.marks,
    }
    for size, tall in SIZES:
        own = {"size": f"{size}pt", "tall": f"{tall}mm"}
        html = kept_together(templates_of(edition.theme).fill("summary.html", {**values, **own}))
        yield names_whole(html, names)


def heads(edition: Edition) -> tuple[str, ...]:
    """Return the words above the columns of the table."""
    return tuple(edition.say(f"summary.{key}") for key in COLUMNS)


def doing(edition: Edition, answer: Answer) -> tuple[Doing, ...]:
    """Return what to do with each group."""
    return tuple(
        Doing(
            one.group,
            (one.do, one.replace_after, one.tested, edition.say(f"strength.{_style(one.strength)}")),
            _style(one.strength),
        )
        for one in answer.advice
    )


def strengths_note(edition: Edition, answer: Answer) -> str:
    """Return what the words of strength that the table uses mean."""
    used = dict.fromkeys(_style(one.strength) for one in answer.advice)
    means = ((key, mid_sentence(strength_meaning(edition, key, answer))) for key in used)
    said = [f"{edition.say(f'strength.{key}')}: {told}" for key, told in means]
    # No time for replacing is shown, whatever stands beside it.
    times = any(one.replace_after[:1].isdigit() for one in answer.advice)
    return run_together([*said, edition.say("summary.bounds") if times else ""])


def cautions(edition: Edition) -> tuple[str, ...]:
    """Return the most urgent cautions, a sentence each."""
    return tuple(one.brief for one in most_urgent(edition.report.findings.cautions, MOST_CAUTIONS))


def cautions_more(edition: Edition) -> str:
    """Return how many cautions the report names beside these; empty for none."""
    more = sum(bool(one.brief) for one in edition.report.findings.cautions) - MOST_CAUTIONS
    return edition.say("letter.cautions_more", n=spelled(more)) if more > 0 else ""


def _style(strength: str) -> str:
    return strength.replace(" ", "-")


def summary_picture(document: Document) -> bytes:
    """Return the same for a talk, as a PNG."""
    edition = document.edition
    answer, theme = edition.report.findings.answers[0], edition.theme
    told = " ".join((edition.say("letter.cautions_first"), *cautions(edition)))
    table = (heads(edition), *((one.group, *one.cells) for one in doing(edition, answer)))
    # What weighs most comes first: sentences without a place are left out from the end.
    sure = run_together([differing_words(edition, answer), answer.how_sure])
    minds = ((edition.say("front.how_sure"), sure), (edition.say("summary.mind"), told))
    slide = Slide(
        question=_in_lines(answer.question.text),
        answer=_in_lines(answer.short),
        minds=tuple((head, _in_lines(text)) for head, text in minds),
        table=table,
        note=strengths_note(edition, answer),
        foot=foot(edition),
        contradicted=_in_lines(contradicted_words(edition, answer)),
        invented=edition.report.study.invented,
        limit=_in_lines(limit_words(edition, answer)),
        limit_told=_in_lines(limit_passed(edition, answer)),
    )
    groups = answer.question.groups or edition.report.study.groups
    look = look_from(theme.look)
    return draw_slide(slide, edition.report, deciding_of(edition, answer), groups, look, faces(theme))


def _in_lines(text: str) -> str:
    """Return a text whose lines do not break within an interval, or within the name of a pair of columns."""
    return kept_together(text).replace(" + ", "\u00a0+\u00a0")


def faces(theme: Theme) -> Faces:
    """Return the theme's font files."""
    serif, sans = theme.typefaces["serif"], theme.typefaces["sans"]
    names = (serif["regular"], sans["regular"], sans.get("bold", sans["regular"]))
    return Faces(*map(font_file, names))

"""The reply to the person who asked, as HTML and as plain text, made of the report's claims alone.

In: `Report`, one `Answer`, `Theme`. Out: (HTML, text).
"""

from textwrap import fill

from lyewitness.findings.records import Answer, Report
from lyewitness.pages.assets import colour_styles
from lyewitness.pages.environment import environment_of
from lyewitness.pages.site import Site, site_of
from lyewitness.pages.themes import Theme
from lyewitness.pages.views import Said
from lyewitness.pages.views_front import asked_words

WIDTH = 76
"""Characters in a line of the plain text, as mail programs show it without breaking it again."""


def render_letter(report: Report, answer: Answer, theme: Theme) -> tuple[str, str]:
    """Return the reply to `answer`'s question as one HTML document and as plain text."""
    site = site_of(report, (), theme)
    content = _content(site, answer)
    environment = environment_of(theme)
    html = environment.get_template("letter.html").render(**content, styles=colour_styles(theme))
    return html, environment.get_template("letter.txt").render(**content)


def _content(site: Site, answer: Answer) -> dict[str, object]:
    study = site.report.study
    return {
        "say": site.say,
        "study": study,
        "asked": asked_words(site, answer),
        "answer": answer,
        "claims": [_named(site, site.said(claim)) for claim in answer.claims],
        "doing": [_named(site, site.said(claim)) for claim in answer.recommendations],
        "next": [_named(site, site.said(claim)) for claim in answer.next_experiments],
        "verdict": _named(site, site.said(answer.expectation_verdict))
        if answer.expectation_verdict
        else None,
        "cautions": site.report.findings.cautions,
        "people": [person.name for person in study.people],
        "page": site.addresses.page("answer", answer.question.id),
        "wrapped": wrapped,
    }


def _named(site: Site, said: Said) -> dict[str, str]:
    """Return a claim with its strength and what it rests on, in words."""
    return {
        "text": said.text,
        "strength": site.say(f"strength.{said.strength_class}"),
        "rests": "; ".join(link.label for link in said.because),
    }


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Return `text` in lines of `WIDTH` characters, the first begun with `first`, the others with `rest`."""
    return fill(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)

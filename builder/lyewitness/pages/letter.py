"""The reply to the person who asked, as HTML and as plain text, made of the report's claims alone.

A letter is read in a minute: answer, how sure, what to do, what was expected, what would settle the rest.
Reasons stay in the report, to which it points. In: `Report`, one `Answer`, `Theme`. Out: (HTML, text).
"""

from textwrap import fill

from lyewitness.findings.records import Answer, Report
from lyewitness.pages.assets import colour_styles
from lyewitness.pages.environment import environment_of
from lyewitness.pages.site import Site, site_of
from lyewitness.pages.themes import Theme
from lyewitness.pages.views_front import asked_words

WIDTH = 76
"""Characters in a line of the plain text, as mail programs show it without breaking it again."""
MOST_EXPERIMENTS = 2
"""Further experiments that a letter names; the report has them all."""


def render_letter(report: Report, answer: Answer, theme: Theme) -> tuple[str, str]:
    """Return the reply to `answer`'s question as one HTML document and as plain text."""
    site = site_of(report, (), theme)
    content = _content(site, answer)
    environment = environment_of(theme)
    html = environment.get_template("letter.html").render(**content, styles=colour_styles(theme))
    return html, environment.get_template("letter.txt").render(**content)


def _content(site: Site, answer: Answer) -> dict[str, object]:
    """Return what the two templates show."""
    study = site.report.study
    verdict = answer.expectation_verdict
    parts = [
        ("front.doing", [claim.text for claim in answer.recommendations]),
        ("front.expected", [verdict.text] if verdict else []),
        ("front.next", [claim.text for claim in answer.next_experiments[:MOST_EXPERIMENTS]]),
    ]
    return {
        "say": site.say,
        "study": study,
        "asked": asked_words(site, answer),
        "answer": answer,
        "parts": [(site.say(heading), texts) for heading, texts in parts if texts],
        "cautions": "; ".join(
            _mid_sentence(caution.title) for caution in site.report.findings.cautions[1:-1]
        ),
        "people": ", ".join(person.name for person in study.people),
        "page": site.addresses.page("answer", answer.question.id),
        "wrapped": wrapped,
    }


def _mid_sentence(title: str) -> str:
    """Return a title as it stands within a sentence."""
    return title[:1].lower() + title[1:]


def wrapped(text: str, first: str = "", rest: str = "") -> str:
    """Return `text` in lines of `WIDTH` characters, the first begun with `first`, the others with `rest`."""
    return fill(text, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)

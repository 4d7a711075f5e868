"""The site's pages, as text.

In: `Report`, `Figure`s, `Theme`. Out: `Page`s: every HTML page, the search index, the traces' scripts.
"""

from collections.abc import Iterator, Mapping

from jinja2 import Environment

from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.pages.environment import environment_of
from lyewitness.pages.glossary import WordsUsed
from lyewitness.pages.records import Page
from lyewitness.pages.site import Site, site_of
from lyewitness.pages.themes import Theme
from lyewitness.pages.trace_data import trace_pages
from lyewitness.pages.views import Link, Sheet
from lyewitness.pages.views_columns import column_sheets
from lyewitness.pages.views_evidence import evidence_sheets
from lyewitness.pages.views_front import answer_sheets
from lyewitness.pages.views_injections import injection_sheets
from lyewitness.pages.views_judged import judged_sheets
from lyewitness.pages.views_markers import marker_sheets
from lyewitness.pages.views_method import method_sheets
from lyewitness.pages.views_search import search_index, search_sheet

NAVIGATION = (
    ("answer", "index.html"),
    ("columns", "columns/index.html"),
    ("markers", "markers/index.html"),
    ("injections", "injections/index.html"),
    ("traces", "traces.html"),
    ("images", "images.html"),
    ("notes", "notes/index.html"),
    ("audit", "audit.html"),
    ("signs", "signs.html"),
    ("chemistry", "chemistry.html"),
    ("method", "method.html"),
    ("cautions", "cautions.html"),
    ("data", "data.html"),
    ("search", "search.html"),
)


def render_pages(
    report: Report, figures: tuple[Figure, ...], theme: Theme, pdf: str = ""
) -> tuple[Page, ...]:
    """Return every text file of the site, in the order in which a reader would meet them.

    `pdf` is the path of the report as one PDF, below the report; empty where there is none to lead to.
    """
    site = site_of(report, figures, theme)
    sheets = tuple(sheets_of(site))
    environment = environment_of(theme)
    pages = tuple(render_sheet(sheet, site, environment, pdf) for sheet in sheets)
    return (*pages, search_index(site, sheets), *trace_pages(site))


def sheets_of(site: Site) -> Iterator[Sheet]:
    """Yield every page before it is text; the search page comes last, for it lists the others."""
    sheets = (
        *answer_sheets(site),
        *column_sheets(site),
        *marker_sheets(site),
        *injection_sheets(site),
        *evidence_sheets(site),
        *judged_sheets(site),
        *method_sheets(site),
    )
    yield from sheets
    yield search_sheet(site, sheets)


def render_sheet(sheet: Sheet, site: Site, environment: Environment, pdf: str = "") -> Page:
    """Return one page as text."""
    words_used = WordsUsed(site.theme.words_of("glossary"))
    shell = {
        "sheet": sheet,
        "root": "../" * sheet.path.count("/"),
        "say": site.say,
        "study": site.report.study,
        "nav": navigation(site, sheet.part),
        "words_used": words_used,
        "terms": words_used.mark,
        "program": program_words(site),
        "pdf": pdf,
    }
    return Page(sheet.path, environment.get_template(sheet.template).render(**shell, **sheet.content))


def navigation(site: Site, part: str) -> dict[str, tuple[Link, bool]]:
    """Return the parts of the report by key, each with whether the page belongs to it."""
    return {key: (Link(site.say(f"nav.{key}"), path), key == part) for key, path in NAVIGATION}


def program_words(site: Site) -> str:
    """Return the program and its version, as the provenance has them."""
    builder = site.report.provenance.get("builder")
    if isinstance(builder, Mapping):
        return f"{builder.get('name', 'lyewitness')} {builder.get('version', '')}".strip()
    return "lyewitness"

"""The whole report as one document in the order of reading, to be set as a PDF.

In: `Report`, `Figure`s, `Theme`. Out: HTML; its pictures are paths below the report.
"""

from collections.abc import Iterator

from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.pages.assets import PRINT_STYLES, colour_styles, group_styles
from lyewitness.pages.environment import environment_of
from lyewitness.pages.glossary import WordsUsed
from lyewitness.pages.metrics import places_in, words_for
from lyewitness.pages.notes import note_html
from lyewitness.pages.site import Site, site_of
from lyewitness.pages.themes import Theme
from lyewitness.pages.typefaces import typeface_styles
from lyewitness.pages.views_columns import column_content
from lyewitness.pages.views_evidence import images_content
from lyewitness.pages.views_front import answer_content
from lyewitness.pages.views_injections import along_column, exposure_of
from lyewitness.pages.views_judged import audit_content, cautions_content, chemistry_content
from lyewitness.pages.views_markers import marker_content
from lyewitness.pages.views_method import data_content, method_content
from lyewitness.quantities import fixed

PARTS = {
    "audit.html": "at-audit",
    "chemistry.html": "at-chemistry",
    "method.html": "at-method",
    "cautions.html": "at-cautions",
    "data.html": "at-data",
    "images.html": "at-images",
    "columns/index.html": "at-columns",
    "markers/index.html": "at-markers",
    "injections/index.html": "at-injections",
    "notes/index.html": "at-notes",
}
"""Pages that the document holds as a part, with the part's anchor."""


def render_print(report: Report, figures: tuple[Figure, ...], theme: Theme) -> str:
    """Return the report as one HTML document; traces and their files stay in the site and in the tables."""
    site = site_of(report, figures, theme)
    words_used = WordsUsed({})
    anchors = dict(_anchors(site))
    environment = environment_of(theme)

    def at(href: str) -> str:
        return f"#{anchors[page]}" if (page := href.partition("#")[0]) in anchors else ""

    return environment.get_template("print.html").render(
        **_content(site),
        say=site.say,
        study=report.study,
        at=at,
        terms=words_used.mark,
        styles=print_styles(theme),
    )


def print_styles(theme: Theme) -> str:
    """Return the styles of the document: type, the light colours, the theme's `print.css`."""
    own = next(file for folder in theme.folders if (file := folder / "assets" / PRINT_STYLES).is_file())
    return (
        typeface_styles(theme)
        + colour_styles(theme, dark=False)
        + group_styles(theme)
        + own.read_text("utf-8")
    )


def _anchors(site: Site) -> Iterator[tuple[str, str]]:
    """Yield each page that the document holds, with its anchor."""
    yield from PARTS.items()
    for (kind, _), place in site.addresses.places.items():
        if kind in ("answer", "column", "marker", "note"):
            yield place, "at-" + place.removesuffix(".html").replace("/", "-")


def _content(site: Site) -> dict[str, object]:
    """Return every part of the document."""
    study, found = site.report.study, site.report.findings
    answers = [
        (site.addresses.page("answer", answer.question.id), answer_content(site, answer, "index.html"))
        for answer in found.answers
    ]
    return {
        "answers": answers,
        "audit": audit_content(site),
        "columns": [
            (site.addresses.page("column", one.id), one.label, column_content(site, one))
            for one in study.columns
        ],
        "markers": [
            (site.addresses.page("marker", one.id), one.id, marker_content(site, one))
            for one in study.markers
        ],
        "images": images_content(site),
        "injections": "\n".join(injection_lines(site)),
        "notes": [
            (site.addresses.page("note", one.id), one, note_html(one.text, site.addresses, root=""))
            for one in study.notes
        ],
        "chemistry": chemistry_content(site),
        "method": method_content(site),
        "cautions": cautions_content(site),
        "data": data_content(site),
    }


def injection_lines(site: Site) -> Iterator[str]:
    """Yield the injections as lines of even width, a head line first: a table of rows would take minutes."""
    marker, metric = site.report.judgement.deciding
    values = {
        row.injection: getattr(row, metric, None)
        for row in site.report.measurements.rows
        if row.marker == marker
    }
    places = places_in(metric, values.values())
    ids = [injection.id for injection in site.report.study.injections]
    wide = max((len(one) for one in ids), default=9)
    heads = f"{site.say('heads.injection'):<{wide}}  {site.say('heads.exposure_h'):>12}"
    yield f"{heads}  {words_for(metric)} ({marker})"
    for column in site.report.study.columns:
        for injection in along_column(site, column.id):
            hours, value = exposure_of(site, injection.id)[0], values.get(injection.id)
            exposure = "–" if hours is None else fixed(hours, 1)
            shown = "–" if value is None else fixed(value, places)
            out = "" if injection.used else "  " + site.say("injections.left_out", why=injection.why)
            yield f"{injection.id:<{wide}}  {exposure:>12}  {shown:>10}{out}"

"""The whole report as one document in the order of reading, to be set as a PDF.

In: `Report`, `Figure`s, `Theme`. Out: HTML; its pictures are paths below the report.
"""

import re
from collections.abc import Iterator
from html import escape, unescape
from urllib.parse import urlsplit

from lyewitness.figures.records import Figure
from lyewitness.findings.records import Report
from lyewitness.pages.assets import PRINT_STYLES, colour_styles, group_styles
from lyewitness.pages.environment import environment_of
from lyewitness.pages.print_contents import At, contents_of
from lyewitness.pages.print_parts import content_of
from lyewitness.pages.site import Site, site_of
from lyewitness.pages.themes import Theme
from lyewitness.pages.typefaces import typeface_styles

PARTS = {
    "audit.html": "at-audit",
    "signs.html": "at-signs",
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
WITHIN = "--"
"""What stands between the anchor of a part and that of a piece of it."""
_PLACE = re.compile(r' id="([^"]+)"')
_LINK = re.compile(r' href="([^"]+)"')


def render_print(report: Report, figures: tuple[Figure, ...], theme: Theme) -> str:
    """Return the report as one HTML document; traces and their files stay in the site and in the tables."""
    site = site_of(report, figures, theme)
    anchors = dict(_anchors(site))

    def at(href: str) -> str:
        page, _, fragment = href.partition("#")
        inside = f"#{anchors[page]}" if page in anchors else ""
        return inside + WITHIN + fragment if inside and fragment else inside

    html = (
        environment_of(theme)
        .get_template("print.html")
        .render(
            **content_of(site),
            contents=tuple(contents_of(site, at)),
            say=site.say,
            study=report.study,
            at=at,
            styles=print_styles(theme),
        )
    )
    return _with_links_inside(html, at)


def _with_links_inside(html: str, at: At) -> str:
    """Return `html` with its links leading to places of the document, or to nothing where it has none.

    A piece that is not printed is stood for by its part; addresses of the outside world stay.
    """
    places = set(_PLACE.findall(html))

    def inside(found: re.Match[str]) -> str:
        address = unescape(found[1])
        if urlsplit(address).scheme:
            return found[0]
        place = (address if address.startswith("#") else at(address)).removeprefix("#")
        known = place if escape(place) in places else place.partition(WITHIN)[0]
        return f' href="#{escape(known)}"' if known else ""

    return _LINK.sub(inside, html)


def print_styles(theme: Theme) -> str:
    """Return the document's styles: type, light colours, each folder's `print.css`, the theme's own last."""
    files = (folder / "assets" / PRINT_STYLES for folder in reversed(theme.folders))
    return "\n".join(
        (
            typeface_styles(theme),
            colour_styles(theme, dark=False),
            group_styles(theme),
            *(file.read_text("utf-8") for file in files if file.is_file()),
        )
    )


def _anchors(site: Site) -> Iterator[tuple[str, str]]:
    """Yield each page that the document holds, with its anchor; a part that has no words has none."""
    found, study = site.report.findings, site.report.study
    absent = {
        "signs.html": not found.signs,
        "images.html": not study.images,
        "notes/index.html": not study.notes,
    }
    yield from ((page, anchor) for page, anchor in PARTS.items() if not absent.get(page))
    for (kind, _), place in site.addresses.places.items():
        if kind in ("answer", "column", "marker", "note"):
            yield place, "at-" + place.removesuffix(".html").replace("/", "-")

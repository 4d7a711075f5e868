"""The whole report as one document in the order of reading, to be set as a PDF.

In: `Document`. Out: HTML; its pictures are paths below the report. Traces and their files stay in the site
and in the tables.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from lyewitness.document.blocks import Link, Piece
from lyewitness.document.parts import Document
from lyewitness.document.themes import Theme
from lyewitness.outputs.assets import PRINT_STYLES, colour_styles, group_styles, typeface_styles
from lyewitness.outputs.templates import templates_of
from lyewitness.outputs.ways import NOWHERE, note_html, outside, sheet_name

WITHIN = "--"
"""What stands between the anchor of a page and that of a piece of it."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the contents; the layout finds the page numbers."""

    to: Link
    within: tuple[Link, ...]
    """The columns or markers that stand in that part."""


class PaperWays:
    """Within the printed document: links lead to what is printed, else to its part, else nowhere."""

    def __init__(self, placed: frozenset[str] | None = None) -> None:
        """Know what was `placed` when the document was written before; nothing yet the first time."""
        self._known = placed
        self.placed: set[str] = set()

    def place(self, href: str) -> str:
        """Return the anchor of what stands at `href` in the site."""
        page, _, fragment = href.partition("#")
        anchor = f"at-{sheet_name(page)}{WITHIN + fragment if fragment else ''}"
        self.placed.add(anchor)
        return anchor

    def to(self, href: str) -> Markup:
        """Return the attributes of a link."""
        if link := outside(href):
            return link
        page, _, fragment = href.partition("#")
        part = f"at-{sheet_name(page)}"
        wanted = (f"{part}{WITHIN}{fragment}", part) if fragment else (part,)
        known = [one for one in wanted if self._known is None or one in self._known]
        return Markup(' href="#{}"').format(known[0]) if known else NOWHERE


def print_html(document: Document) -> str:
    """Return the report as one HTML document.

    It is written twice: only when all stands in its place is it known what can be led to.
    """
    first = PaperWays()
    _written(document, first)
    return _written(document, PaperWays(frozenset(first.placed)))


def _written(document: Document, ways: PaperWays) -> str:
    edition = document.edition
    values = {
        "parts": document.on_paper,
        "contents": tuple(_contents(document)),
        "to": ways.to,
        "place": ways.place,
        "say": edition.say,
        "study": edition.report.study,
        "styles": print_styles(edition.theme),
        "markdown": lambda text: Markup(note_html(text, edition.addresses, ways.to)),
        "kind_of": lambda block: type(block).__name__,
    }
    return templates_of(edition.theme).fill("print.html", values)


def _contents(document: Document) -> Iterator[Entry]:
    """Yield the parts of the document, with the columns and markers within them."""
    for part in document.on_paper:
        pieces = (block for block in part.blocks if isinstance(block, Piece))
        yield Entry(Link(part.title, part.path), tuple(Link(one.id, one.page) for one in pieces))


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

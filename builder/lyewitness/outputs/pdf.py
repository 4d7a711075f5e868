"""The report as one PDF for the archive: PDF/A-3a and PDF/UA-1, with its tables attached.

In: the print page as HTML, the files it shows, the tables to attach, a date. Out: the PDF's bytes, the same
for the same input. Nothing but the given files can be shown: no network, no other file of the machine.

The document before it: everything in the order of reading, pictures as paths below the report; traces and
their files stay in the site and in the tables.
"""

import contextlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from urllib.parse import unquote, urlsplit

from markupsafe import Markup

from lyewitness.document.blocks import Link, Piece
from lyewitness.document.parts import Document
from lyewitness.outputs.links import NOWHERE, note_html, outside, sheet_name
from lyewitness.outputs.paper import foot, hyphened_names, print_styles, words_in_one
from lyewitness.outputs.pdf_hooks import (
    clear_faces,
    ends_in_line_break,
    finisher,
    with_quick_paths,
    with_second_standard,
    with_settled_numbers,
)
from lyewitness.outputs.templates import kept_together, names_whole, templates_of, told_once
from lyewitness.store import NO_STORE, Store

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


def print_html(document: Document, store: Store = NO_STORE) -> str:
    """Return the report as one HTML document.

    It is written twice: only when all stands in its place is it known what can be led to.
    """
    first, styles = PaperWays(), print_styles(document.edition.theme, store=store)
    _written(document, first, styles)
    return _written(document, PaperWays(frozenset(first.placed)), styles)


_PART = '<section class="part'


def _written(document: Document, ways: PaperWays, styles: str) -> str:
    edition = document.edition
    values = {
        "parts": document.on_paper,
        "contents": tuple(_contents(document)),
        "to": ways.to,
        "place": ways.place,
        "say": edition.say,
        "logo": edition.theme.logo,
        "study": edition.report.study,
        "styles": styles,
        "foot": foot(edition),
        "markdown": lambda text: Markup(note_html(text, edition.addresses, ways.to)),
        "kind_of": lambda block: type(block).__name__,
    }
    printed = kept_together(templates_of(edition.theme).fill("print.html", values))
    printed = names_whole(printed, hyphened_names(edition.report.study))
    return _PART.join(map(told_once, printed.split(_PART)))


def _contents(document: Document) -> Iterator[Entry]:
    """Yield the parts of the document, with the columns and markers within them."""
    for part in document.on_paper:
        pieces = (block for block in part.blocks if isinstance(block, Piece))
        yield Entry(Link(part.title, part.path), tuple(Link(one.id, one.page) for one in pieces))


BASE = "file:///report/"
"""Where the print page believes to lie; every address is looked up in the given files instead."""
VARIANT = "pdf/a-3a"
MOST_TRIES = 8
"""The table of objects is packed when all else is done, and ends in a line break as often as any stream:
then the whole is packed again with one small object more."""


INSTALL_PANGO = (
    "report.pdf was left out: Pango, which sets its text, is not on this machine. Install it "
    "('apt-get install libpango-1.0-0 libpangoft2-1.0-0', or 'brew install pango') and run the command again."
)


INSTALL_LIBRARY = (
    "report.pdf was left out: the library that sets it cannot be loaded. Install it anew "
    "(pip install --upgrade weasyprint) and run the command again; '--no-pdf' leaves the PDF out on purpose."
)


class PangoMissingError(Exception):
    """The library that sets the PDF's text is not on this machine; the edition does not need it."""


class NotShownError(Exception):
    """A page for paper shows what is no file of the report."""


class PdfLibraryError(Exception):
    """The PDF library is not there, or is one that this program does not know how to use."""


def pdf_bytes(html: str, files: Mapping[str, bytes], attached: Mapping[str, bytes], dated: datetime) -> bytes:
    """Return the PDF of `html`; addresses in it are paths of `files`.

    `attached` are embedded by name and bear `dated` as their date. Raises PangoMissingError where the text
    layout library is missing, PdfLibraryError where the PDF library is, NotShownError where the page shows
    what is not among `files`.
    """
    with _set_in() as fonts:
        return _written_out(_laid_out(html, files, fonts), attached, dated)


def one_page_pdf(htmls: Iterable[str], files: Mapping[str, bytes], dated: datetime) -> bytes:
    """Return the PDF of the first of `htmls` that fills one page, else of the last. Raises as `pdf_bytes`."""
    with _set_in() as fonts:
        document = None
        for html in htmls:
            document = _laid_out(html, files, fonts)
            if len(document.pages) == 1:
                break
        if document is None:
            raise ValueError("there is nothing to set")
        return _written_out(document, {}, dated)


@contextlib.contextmanager
def _set_in() -> Iterator[Any]:
    """Give the faces that a document is set in; raises where the library or Pango is missing."""
    # Loading it opens Pango, which a machine may lack: the edition must be built all the same.
    try:
        import weasyprint

        fonts = weasyprint.text.fonts.FontConfiguration()
    except OSError as error:
        raise PangoMissingError(f"{INSTALL_PANGO} ({error})") from error
    except ImportError as error:
        raise PdfLibraryError(f"{INSTALL_LIBRARY} ({error})") from error
    try:
        yield fonts
    finally:
        clear_faces(fonts)


def _laid_out(html: str, files: Mapping[str, bytes], fonts: Any) -> Any:
    """Return the pages of `html`."""
    import weasyprint

    with_quick_paths(weasyprint.svg.TAGS)
    with_settled_numbers(weasyprint.layout)
    try:
        fetcher = _fetcher(files)
    except ImportError as error:
        raise PdfLibraryError(f"{INSTALL_LIBRARY} ({error})") from error
    page = weasyprint.HTML(string=html, base_url=BASE, url_fetcher=fetcher)
    try:
        return page.render(font_config=fonts, pdf_variant=VARIANT)
    # It stands above `Exception`, so that the library itself does not go on without the picture.
    except weasyprint.urls.FatalURLFetchingError as error:
        raise NotShownError(str(error)) from error


def _written_out(document: Any, attached: Mapping[str, bytes], dated: datetime) -> bytes:
    import weasyprint

    with_second_standard(document.metadata)
    options = {**weasyprint.DEFAULT_OPTIONS, "pdf_variant": VARIANT}
    pdf = b""
    for padding in range(MOST_TRIES):
        attachments = _attachments(attached, dated)
        pdf = document.write_pdf(finisher=finisher(padding), **options | {"attachments": attachments})
        if not ends_in_line_break(pdf):
            break
    return pdf


def _attachments(attached: Mapping[str, bytes], dated: datetime) -> list[Any]:
    """Return the files to embed, sorted by name: readers look them up in a sorted table."""
    import weasyprint

    return [
        weasyprint.Attachment(
            string=data,
            base_url=BASE,
            name=name,
            description=name,
            created=dated,
            modified=dated,
            relationship="Data",
        )
        for name, data in sorted(attached.items())
    ]


def _fetcher(files: Mapping[str, bytes]) -> Any:
    """Return a fetcher that knows `files` and data addresses, and nothing else."""
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    class ReportFetcher(URLFetcher):  # type: ignore[misc]
        """Serves the report's own files from memory."""

        def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> Any:
            if url.startswith("data:"):
                return super().fetch(url, headers)
            name = unquote(urlsplit(url).path.removeprefix(urlsplit(BASE).path))
            if not url.startswith(BASE) or name not in files:
                raise FatalURLFetchingError(
                    f"it shows '{url.removeprefix(BASE)}', which is no file of the report"
                )
            return URLFetcherResponse(
                url, words_in_one(files[name]) if name.endswith(".svg") else files[name]
            )

    return ReportFetcher(allowed_protocols=("file", "data"), allow_redirects=False, fail_on_errors=True)

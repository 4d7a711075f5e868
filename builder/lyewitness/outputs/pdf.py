"""The report as one PDF for the archive: PDF/A-3a and PDF/UA-1, with its tables attached.

In: the print page as HTML, the files it shows, the tables to attach, a date. Out: the PDF's bytes, the same
for the same input. Nothing but the given files can be shown: no network, no other file of the machine.

The document before it: everything in the order of reading, pictures as paths below the report; traces and
their files stay in the site and in the tables.
"""

import base64
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from types import MethodType
from typing import Any
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree

from markupsafe import Markup

from lyewitness.document.blocks import Link, Piece
from lyewitness.document.edition import Theme
from lyewitness.document.parts import Document
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


BASE = "file:///report/"
"""Where the print page believes to lie; every address is looked up in the given files instead."""
_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_UA_ID = "http://www.aiim.org/pdfua/ns/id/"
_PREFIXES = {
    "pdfuaid": _UA_ID,
    "pdfaExtension": "http://www.aiim.org/pdfa/ns/extension/",
    "pdfaSchema": "http://www.aiim.org/pdfa/ns/schema#",
    "pdfaProperty": "http://www.aiim.org/pdfa/ns/property#",
}
"""PDF/A wants these very prefixes, so the writer must not choose its own."""
_UA_SCHEMA = f"""
<rdf:Description xmlns:rdf="{_RDF}" rdf:about=""
  xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
  xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
  xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
  <pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
    <pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
    <pdfaSchema:namespaceURI>{_UA_ID}</pdfaSchema:namespaceURI>
    <pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
    <pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
      <pdfaProperty:name>part</pdfaProperty:name>
      <pdfaProperty:valueType>Integer</pdfaProperty:valueType>
      <pdfaProperty:category>internal</pdfaProperty:category>
      <pdfaProperty:description>Part of ISO 14289 to which the file conforms</pdfaProperty:description>
    </rdf:li></rdf:Seq></pdfaSchema:property>
  </rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description>
"""


MOST_TRIES = 8
"""The table of objects is packed when all else is done, and ends in a line break as often as any stream:
then the whole is packed again with one small object more."""
_ENDS_IN_LINE_BREAK = re.compile(rb"[\r\n]\nendstream")


INSTALL_PANGO = (
    "report.pdf was left out: Pango, which sets its text, is not on this machine. Install it "
    "('apt-get install libpango-1.0-0 libpangoft2-1.0-0', or 'brew install pango') and run the command again."
)


class PangoMissingError(Exception):
    """The library that sets the PDF's text is not on this machine; the edition does not need it."""


def pdf_bytes(html: str, files: Mapping[str, bytes], attached: Mapping[str, bytes], dated: datetime) -> bytes:
    """Return the PDF of `html`; addresses in it are paths of `files`.

    `attached` are embedded by name and bear `dated` as their date. Raises PangoMissingError where the text
    layout library is missing, FileNotFoundError where the page shows what is not among `files`.
    """
    # Loading it opens Pango, which a machine may lack: the edition must be built all the same.
    try:
        import weasyprint
    except OSError as error:
        raise PangoMissingError(f"{INSTALL_PANGO} ({error})") from error
    fonts = weasyprint.text.fonts.FontConfiguration()
    document = weasyprint.HTML(string=html, base_url=BASE, url_fetcher=_fetcher(files)).render(
        font_config=fonts, pdf_variant="pdf/a-3a"
    )
    document.metadata.generate_rdf_metadata = MethodType(_with_ua(document.metadata), document.metadata)
    options = {**weasyprint.DEFAULT_OPTIONS, "pdf_variant": "pdf/a-3a"}
    pdf = b""
    for padding in range(MOST_TRIES):
        attachments = _attachments(attached, dated)
        finish = partial(_finish, padding=padding)
        pdf = document.write_pdf(finisher=finish, **options | {"attachments": attachments})
        if not _ENDS_IN_LINE_BREAK.search(pdf):
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
                raise FatalURLFetchingError(f"the print page shows '{url}', which is no file of the report")
            return URLFetcherResponse(url, files[name])

    return ReportFetcher(allowed_protocols=("file", "data"), allow_redirects=False, fail_on_errors=True)


def _with_ua(metadata: Any) -> Any:
    """Return a replacement for the metadata's writer that also names PDF/UA-1 (ISO 14289-1)."""
    write = metadata.generate_rdf_metadata

    def generate(self: Any, variant: str, version: int, conformance: str) -> bytes:
        rdf = ElementTree.fromstring(write(variant, version, conformance))
        rdf.append(ElementTree.fromstring(_UA_SCHEMA.strip()))
        named = ElementTree.SubElement(rdf, f"{{{_RDF}}}Description", {f"{{{_RDF}}}about": ""})
        ElementTree.SubElement(named, f"{{{_UA_ID}}}part").text = "1"
        for prefix, address in _PREFIXES.items():
            ElementTree.register_namespace(prefix, address)
        written: bytes = ElementTree.tostring(rdf, encoding="utf-8")
        return written

    return generate


def _finish(document: Any, pdf: Any, padding: int) -> None:
    """Mend what PDF/A-3 forbids, and take out links that would point at this machine's disk.

    `padding` shifts the bytes of the streams that are packed after this, see `MOST_TRIES`.
    """
    if padding:
        pdf.add_object(type(pdf.info)({"Padding": padding}))
    if "AF" in pdf.catalog:
        entries = pdf.catalog["AF"]
        pdf.catalog["AF"] = type(entries)(dict.fromkeys(entries))
    for thing in pdf.objects:
        extra = getattr(thing, "extra", {})
        if extra.get("Type") == "/Metadata":
            thing.compress = False
        if isinstance(thing, dict) and thing.get("Subtype") == "/Link" and _points_at_disk(thing):
            thing.pop("A", None)
        if getattr(thing, "compress", False):
            _end_without_line_break(thing)


def _end_without_line_break(stream: Any) -> None:
    """Re-encode a deflated stream whose last byte is CR or LF (one in 128).

    Readers that take line breaks before `endstream` for its end count such a stream one byte short, which
    PDF/A (ISO 19005-3, 6.1.7.1) forbids; in base 85 (ISO 32000-1, 7.4.3) the last sign is always `>`.
    """
    packed = stream.data.partition(b"\nstream\n")[2].removesuffix(b"\nendstream")
    if packed[-1:] in (b"\r", b"\n"):
        stream.stream = [base64.a85encode(packed, wrapcol=120) + b"~>"]
        stream.compress = False
        stream.extra["Filter"] = "[/ASCII85Decode /FlateDecode]"


def _points_at_disk(annotation: Mapping[str, Any]) -> bool:
    """Return whether a link annotation leads to a file address."""
    action = annotation.get("A")
    if not isinstance(action, Mapping):
        return False
    address = action.get("URI")
    text: object = getattr(address, "string", address)
    return isinstance(text, str | bytes) and str(text).startswith(("file:", "b'file:"))

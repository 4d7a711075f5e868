"""Where the PDF is mended through parts of its library that are not meant for others, and why each has to be.

In: a laid out document of weasyprint, and the objects (pydyf) that it is about to write. Out: the same,
changed. Nothing else in the program looks behind the public face of these two. A release of either that
fails here costs the PDF, never the site; `tests/outputs/test_pdf.py` holds the result against an outside
checker.

- `metadata.generate_rdf_metadata`: one variant can be chosen, and the report is PDF/A and PDF/UA at once.
  Without it the file does not say that it is accessible, and no checker takes it for PDF/UA.
- `catalog["AF"]`: an attached file is named there again for each place that lists it. Without it PDF/A-3
  fails.
- `compress` of the metadata: archives look for the standard's name without a PDF reader (ISO 19005-3,
  6.6.2.1). Without it PDF/A-3 fails.
- `compress`, `data` and `stream` of any stream: a packed stream may end in a line break
  (`_pack`). Without it one stream in 128 makes PDF/A-3 fail.
- `add_object`: shifts the bytes of the table of objects, which is packed when all else is done; the same
  fault.
- `svg.TAGS["path"]`: the library reads each number of a path by several patterns, a quarter of the time of a
  report (`with_quick_paths`). Without it the PDF is the same and takes longer.
- `layout.make_all_pages`: pages that tell the numbers of others are laid out again only as far as the library
  notices, and once more with what it knew (`with_settled_numbers`). Without it a contents may name the page
  before, and a third of the pages are laid out twice more.
- `FontConfiguration._folder`: faces lie in a temporary folder that goes with the object, and a process that
  ends without collecting it leaves the folder for ever (`clear_faces`). Without it each PDF leaves one.
- Annotations of links: a link out of the print page becomes an address on this machine's disk. Without it
  paths of the machine leak.
"""

import base64
import re
import shutil
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache, partial
from types import MethodType
from typing import Any
from xml.etree import ElementTree

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
_ENDS_IN_LINE_BREAK = re.compile(rb"[\r\n]\nendstream")


def with_second_standard(metadata: Any) -> None:
    """Let the document's metadata also name PDF/UA-1 (ISO 14289-1)."""
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

    metadata.generate_rdf_metadata = MethodType(generate, metadata)


def clear_faces(fonts: Any) -> None:
    """Remove the temporary folder of a configuration of fonts, if it made one."""
    folder = getattr(fonts, "_folder", None)
    if folder is not None:
        shutil.rmtree(folder, ignore_errors=True)


def with_quick_paths(tags: dict[str, Any]) -> None:
    """Let paths of plain absolute steps be written as they stand; the library itself draws all others."""
    draw = tags["path"]
    if getattr(draw, "func", None) is _draw_path:
        return
    tags["path"] = partial(_draw_path, draw)


def with_settled_numbers(layout: Any) -> None:
    """Let pages that name the pages of others be laid out until no page that is named moves any more.

    The library lays out no more than some times; what still moves then stays as it is.
    """
    make = getattr(layout, "make_all_pages", None)
    if make is None or getattr(make, "func", None) is _settling:
        return
    layout.make_all_pages = partial(_settling, make)


def _settling(make: Callable[..., Iterator[Any]], context: Any, *more: Any) -> Iterator[Any]:
    yield from make(context, *more)
    collector = context.target_collector
    stand = {name: item.page_maker_index for name, item in collector.target_lookup_items.items()}
    if stand == getattr(context, "places_before", None):
        return
    context.places_before = stand
    # Told now where all stand; the library tells a page that after laying it out once more with what it knew.
    pages = len(context.page_maker) - 1
    for (box, part), lookup in collector.counter_lookup_items.items():
        if part == "content" and lookup.page_maker_index is not None:
            told = _words_of(box)
            lookup.cached_page_counter_values["pages"] = [pages]
            lookup.parse_again(lookup.cached_page_counter_values)
            if _words_of(box) != told:
                context.page_maker[lookup.page_maker_index][-1]["content_changed"] = True


def _words_of(box: Any) -> list[str]:
    return [getattr(one, "text", "") for one in box.descendants()]


def _draw_path(draw: Callable[[Any, Any, float], None], svg: Any, node: Any, font_size: float) -> None:
    steps = path_operators(node.get("d", ""))
    if steps is None or any(name.startswith("marker") for name in node.attrib):
        draw(svg, node, font_size)
    else:
        svg.stream.stream.append(steps)


_PLAIN_PATH = re.compile(r"M(?: ?(?:[MLQCz]|-?\d+(?:\.\d+)?))*")
_STEP = re.compile("([MLQCz])([^MLQCz]*)")
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_OPERATORS = {"M": (2, "m"), "L": (2, "l"), "Q": (4, "c"), "C": (6, "c")}
"""How many numbers a step has, and what PDF calls it."""


@lru_cache(maxsize=1 << 14)
def path_operators(data: str) -> bytes | None:
    """Return the steps of a path as PDF has them (ISO 32000-1, 8.5.2); None where one is not plain.

    Plain are M, L, Q, C and z with absolute numbers. Numbers stay as they were written; a
    quadratic curve becomes the cubic one that it is.
    """
    if not _PLAIN_PATH.fullmatch(data):
        return None
    written: list[str] = []
    start = here = ["0", "0"]
    for command, told in _STEP.findall(data):
        numbers = _NUMBER.findall(told)
        if command == "z":
            if numbers:
                return None
            written.append("h")
            here = start
            continue
        count, operator = _OPERATORS[command]
        if not numbers or len(numbers) % count:
            return None
        for first in range(0, len(numbers), count):
            step = numbers[first : first + count]
            end = step[-2:]
            if command == "Q":
                step = [*_third(here, step), *_third(end, step), *end]
            # Further pairs behind M are lines (SVG 1.1, 8.3.2).
            written.append(f"{' '.join(step)} {'l' if command == 'M' and first else operator}")
            start = end if command == "M" and not first else start
            here = end
    return "\n".join(written).encode()


def _third(end: list[str], control: list[str]) -> list[str]:
    """Return the cubic control that stands a third of the way from that of a quadratic curve to an end."""
    pairs = zip(end, control, strict=False)
    return [_five_digits((float(at) + 2 * float(to)) / 3) for at, to in pairs]


def _five_digits(value: float) -> str:
    """Return a number as finely as any sheet shows it, never with an exponent, which PDF does not know."""
    places = max(0, 4 - len(str(int(abs(value)))))
    return f"{value:.{places}f}"


def finisher(padding: int) -> Callable[[Any, Any], None]:
    """Return what mends the objects of a PDF before they are written.

    `padding` shifts the bytes of the streams that are packed after this: where a PDF `ends_in_line_break`
    somewhere, another number gives another one.
    """
    return partial(_finish, padding=padding)


def ends_in_line_break(pdf: bytes) -> bool:
    """Return whether a stream of the PDF ends in a line break."""
    return _ENDS_IN_LINE_BREAK.search(pdf) is not None


def _finish(document: Any, pdf: Any, padding: int) -> None:
    """Mend what PDF/A-3 forbids, and take out links that would point at this machine's disk."""
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
            _pack(thing)


def _pack(stream: Any) -> None:
    """Deflate a stream for good, which the library would do three times; none ends in CR or LF (one in 128).

    Readers that take line breaks before `endstream` for its end count such a stream one byte short, which
    PDF/A (ISO 19005-3, 6.1.7.1) forbids; in base 85 (ISO 32000-1, 7.4.3) the last sign is always `>`.
    """
    packed = stream.data.partition(b"\nstream\n")[2].removesuffix(b"\nendstream")
    stream.compress = False
    if packed[-1:] in (b"\r", b"\n"):
        stream.stream = [base64.a85encode(packed, wrapcol=120) + b"~>"]
        stream.extra["Filter"] = "[/ASCII85Decode /FlateDecode]"
    else:
        stream.stream = [packed]
        stream.extra["Filter"] = "/FlateDecode"


def _points_at_disk(annotation: Mapping[str, Any]) -> bool:
    """Return whether a link annotation leads to a file address."""
    action = annotation.get("A")
    if not isinstance(action, Mapping):
        return False
    address = action.get("URI")
    text: object = getattr(address, "string", address)
    return isinstance(text, str | bytes) and str(text).startswith(("file:", "b'file:"))

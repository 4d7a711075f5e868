"""Where a bag contradicts itself: what it says of one thing in several places, held side by side.

In: a `Bag`. Out: sentences. Whoever changes a bag with all its hashes must change each of these alike: the
version that made it, the hashes of the study's files, the claims and the pages that print them, the tables
and the workbook that holds them again. Nothing here depends on today's version of the program but the list of
versions that there have been.
"""

import csv
import hashlib
import io
import re
import zipfile
from collections.abc import Iterator, Mapping
from xml.etree import ElementTree

from lyewitness import RELEASES
from lyewitness.findings.records import fingerprint_of
from lyewitness.findings.revised import json_of, same
from lyewitness.keeping.crate import METADATA, README
from lyewitness.keeping.discrepancies import texts_of
from lyewitness.keeping.packing import Bag
from lyewitness.outputs.workbook import MOST_SIGNS

PROGRAM = "lyewitness"
# More than these of one kind say no more than that the bag is not to be trusted.
MOST_TOLD = 5
_GENERATOR = re.compile(rb'<meta name="generator" content="lyewitness ([^"]*)"')
_PACKED = re.compile(r"^Packed on .* by lyewitness (\S+?)\.$", re.MULTILINE)
_SHEET = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_OFFICE = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}"


Sheets = Mapping[str, list[dict[int, str]]]
"""Rows of each sheet of a workbook: cells as text by their column."""


def contradictions(bag: Bag) -> tuple[str, ...]:
    """Return where a bag says two things of one, a sentence each without its full stop."""
    own = bag.below("data/report/")
    provenance = json_of(own.get("data/provenance.json", b""))
    if not provenance:
        return tuple(_of_size(bag))
    sheets = _workbook(own)
    kinds = (
        _of_size(bag),
        _of_versions(bag, own, sheets, provenance),
        _of_libraries(bag, own, provenance),
        _of_files(bag, provenance),
        _of_claims(own),
        _of_tables(own, sheets),
    )
    return tuple(told for kind in kinds for told in _first(kind))


def _of_size(bag: Bag) -> Iterator[str]:
    """Yield where bag-info.txt states another size of the payload than it has (RFC 8493, Payload-Oxum)."""
    stated = bag.info.get("Payload-Oxum", "").strip()
    payload = bag.below("data/")
    found = f"{sum(map(len, payload.values()))}.{len(payload)}"
    if stated and stated != found:
        yield f"bag-info.txt states {stated} octets and files (Payload-Oxum), the payload has {found}"


def _first(told: Iterator[str]) -> list[str]:
    every = list(told)
    more = [f"and {len(every) - MOST_TOLD} more of this kind"] if len(every) > MOST_TOLD else []
    return [*every[:MOST_TOLD], *more]


def _of_versions(
    bag: Bag, own: Mapping[str, bytes], sheets: Sheets, provenance: Mapping[str, object]
) -> Iterator[str]:
    """Yield each place that names another version of the program than the provenance, and an unknown one."""
    builder = provenance.get("builder")
    stated = str(builder.get("version", "")) if isinstance(builder, dict) else ""
    if not stated:
        return
    for place, version in _versions(bag, own, sheets):
        if version != stated:
            yield f"{place} names version {version} of the program, data/report/data/provenance.json {stated}"
    if stated not in RELEASES:
        yield (
            f"it says that version {stated} of the program made it, which this one does not know of "
            f"(it knows {', '.join(RELEASES)}): verify it with that version, if there is one"
        )


def _versions(bag: Bag, own: Mapping[str, bytes], sheets: Sheets) -> Iterator[tuple[str, str]]:
    """Yield (place, version of the program) wherever a bag tells it."""
    agent = bag.info.get("Bag-Software-Agent", "")
    if agent.startswith(f"{PROGRAM} "):
        yield "bag-info.txt", agent.removeprefix(f"{PROGRAM} ")
    if found := _PACKED.search(bag.files.get(f"data/{README}", b"").decode("utf-8", "replace")):
        yield f"data/{README}", found[1]
    for name, rows in sheets.items():
        told = [row.get(1, "") for row in rows if row.get(0) == "made by"] if name == "about" else []
        yield from (("data/report/data/tables.xlsx", one.removeprefix(f"{PROGRAM} ")) for one in told)
    for name, version in _in_crate(bag).items():
        if name == PROGRAM:
            yield f"data/{METADATA}", version
    for name in sorted(own):
        if name.endswith(".html") and (made := _GENERATOR.search(own[name])):
            yield f"data/report/{name}", made[1].decode("utf-8", "replace")


def _in_crate(bag: Bag) -> dict[str, str]:
    """Return the version of each software by the crate."""
    graph = json_of(bag.files.get(f"data/{METADATA}", b"")).get("@graph")
    entities = [one for one in graph if isinstance(one, dict)] if isinstance(graph, list) else []
    return {
        str(one.get("name")): str(one.get("version"))
        for one in entities
        if one.get("@type") == "SoftwareApplication"
    }


def _of_libraries(bag: Bag, own: Mapping[str, bytes], provenance: Mapping[str, object]) -> Iterator[str]:
    """Yield each library of which crate or page names another version than the provenance."""
    used = provenance.get("computed_with")
    libraries = {str(name): str(version) for name, version in used.items()} if isinstance(used, dict) else {}
    crate = _in_crate(bag)
    page = " ".join(texts_of("data.html", own.get("data.html", b"")))
    for name, version in sorted((libraries | {"python": str(provenance.get("python", ""))}).items()):
        on_page = re.search(rf"(?<![\w-]){re.escape(name)} (\d[\w.+]*)", page)
        for place, told in ((METADATA, crate.get(name)), ("report/data.html", on_page and on_page[1])):
            if told and version and told != version:
                yield f"data/{place} names {name} {told}, data/report/data/provenance.json {version}"
    builder = provenance.get("builder")
    digest = str(builder.get("sha256", "")) if isinstance(builder, dict) else ""
    shown = re.search(r"sha256 ([0-9a-f]{64})", page)
    if digest and shown and shown[1] != digest:
        yield "data/report/data.html names another digest of the program than provenance.json beside it"


def _of_files(bag: Bag, provenance: Mapping[str, object]) -> Iterator[str]:
    """Yield each file of the study that is another than the report read, and a fingerprint of other files."""
    stated = provenance.get("files")
    files = {str(name): str(digest) for name, digest in stated.items()} if isinstance(stated, dict) else {}
    for name, digest in sorted(files.items()):
        data = bag.files.get(f"data/study/{name}")
        if data is not None and hashlib.sha256(data).hexdigest() != digest:
            yield f"'data/study/{name}' is not the file that the report read, by its hash in provenance.json"
    fingerprint = provenance.get("fingerprint")
    if fingerprint and fingerprint != fingerprint_of(files):
        yield f"the fingerprint {fingerprint} in provenance.json is not that of the files that it lists"


def _of_claims(own: Mapping[str, bytes]) -> Iterator[str]:
    """Yield each claim and each answer that stands on no page of an answer."""
    claims = json_of(own.get("data/claims.json", b"")).get("claims")
    answers = json_of(own.get("data/study.json", b"")).get("answers")
    told = [("claims.json", "text", one) for one in claims if isinstance(one, dict)] if claims else []
    for key in ("short", "how_sure"):
        told += [("study.json", key, one) for one in answers if isinstance(one, dict)] if answers else []
    pages = [name for name in own if name == "index.html" or re.fullmatch(r"answers/[^/]+\.html", name)]
    printed = _spoken(" ".join(text for name in sorted(pages) for text in texts_of(name, own[name])))
    for name, key, one in told if pages else ():
        text = str(one.get(key, ""))
        if _spoken(text) not in printed:
            yield f"{name} says what no page of an answer prints: ‘{_shortened(text)}’"


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def _spoken(text: str) -> str:
    """Return text without the way of counting plates, which a page tells where it first names them."""
    return re.sub(r"(?<=plate number) \([A-Za-z ]+\)", "", _plain(text))


def _shortened(text: str) -> str:
    return text if len(text) <= 120 else f"{text[:120]} …"


def _of_tables(own: Mapping[str, bytes], sheets: Sheets) -> Iterator[str]:
    """Yield each cell of the workbook that is another than that of the table of its name."""
    if "data/tables.xlsx" in own and not sheets:
        yield "data/report/data/tables.xlsx cannot be read as a workbook"
    for name, rows in sheets.items():
        table = own.get(f"data/{name}.csv")
        if table is None:
            continue
        told = list(csv.reader(io.StringIO(table.decode("utf-8", "replace"))))
        if len(told) != len(rows):
            yield f"data/report/data/{name}.csv has {len(told)} rows, and {len(rows)} in tables.xlsx"
            continue
        for number, (row, line) in enumerate(zip(rows, told, strict=True), start=1):
            for column, cell in enumerate(line):
                if len(cell) <= MOST_SIGNS and not same(row.get(column, ""), cell):
                    yield (
                        f"data/report/data/{name}.csv, row {number}, {told[0][column]}: {cell or 'empty'}, "
                        f"and {row.get(column) or 'empty'} in tables.xlsx"
                    )


def _workbook(own: Mapping[str, bytes]) -> Sheets:
    """Return the rows of each sheet of the workbook; nothing where there is none that can be read."""
    try:
        return dict(_sheets(own["data/tables.xlsx"]))
    except (zipfile.BadZipFile, KeyError, ElementTree.ParseError, ValueError, IndexError):
        return {}


def _sheets(book: bytes) -> Iterator[tuple[str, list[dict[int, str]]]]:
    """Yield name and rows of each sheet of a workbook of ours: cells as text by their column."""
    with zipfile.ZipFile(io.BytesIO(book)) as archive:
        shared = "xl/sharedStrings.xml"
        held = archive.read(shared) if shared in archive.namelist() else b"<sst/>"
        texts = [_text(one) for one in ElementTree.fromstring(held)]
        targets = {
            one.get("Id"): one.get("Target", "")
            for one in ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
        }
        for sheet in ElementTree.fromstring(archive.read("xl/workbook.xml")).iter(f"{_SHEET}sheet"):
            data = ElementTree.fromstring(archive.read(f"xl/{targets[sheet.get(f'{_OFFICE}id')]}"))
            rows = [
                {_column(cell.get("r", "")): _cell(cell, texts) for cell in row}
                for row in data.iter(f"{_SHEET}row")
            ]
            yield sheet.get("name", ""), rows


def _column(address: str) -> int:
    """Return the place of a cell in its row from its address: 0 of `A1`, 26 of `AA1`."""
    place = 0
    for letter in re.match(r"[A-Z]*", address)[0]:  # type: ignore[index]
        place = 26 * place + ord(letter) - 64
    return place - 1


def _text(element: ElementTree.Element) -> str:
    return "".join(part.text or "" for part in element.iter(f"{_SHEET}t"))


def _cell(cell: ElementTree.Element, texts: list[str]) -> str:
    value = cell.findtext(f"{_SHEET}v") or ""
    if cell.get("t") == "inlineStr":
        return _text(cell)
    if cell.get("t") == "s":
        return texts[int(value)]
    if cell.get("t") == "b":
        return "yes" if value == "1" else "no"
    return value

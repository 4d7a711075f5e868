"""The traces of one export, whatever its format.

In: the bytes of a file, its path for messages, and what `[exports]` says. Out: `Trace`s, or a
`StudyFolderError` that says what cannot be read, where, and what to do.

A further format is one module with `FORMAT`, `recognises(head)` and `read(data, file, exports)`, and one line
in `READERS`.
"""

import hashlib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from lyewitness.study.records import Exports
from lyewitness.traces import animl, datacubes, delimited, jcamp, mzml, netcdf
from lyewitness.traces.records import Trace
from lyewitness.traces.shaping import Draft, Origin, as_utf8, shape, unpack, unreadable
from lyewitness.words.problems import StudyFolderError

_AS_TEXT = "Export the trace as text, mzML, AnIML, JCAMP-DX or ASTM netCDF from the program that wrote it."
_SIGNS: Mapping[bytes, tuple[str, str]] = {
    b"\x89HDF\r\n\x1a\n": (
        "an HDF5 file, such as netCDF-4",
        "Write it as classic netCDF: `nccopy -k classic in.cdf out.cdf`, or export it so.",
    ),
    b"PK\x03\x04": ("a ZIP archive or a spreadsheet", "Unpack it, or save the sheet as CSV."),
    b"\xd0\xcf\x11\xe0": ("a compound binary file, such as an old spreadsheet", _AS_TEXT),
    b"BZh": ("a file compressed with bzip2", "Unpack it, or compress it with gzip."),
    b"\xfd7zXZ\0": ("a file compressed with xz", "Unpack it, or compress it with gzip."),
    b"(\xb5/\xfd": ("a file compressed with zstd", "Unpack it, or compress it with gzip."),
    b"7z\xbc\xaf\x27\x1c": ("a 7-Zip archive", "Unpack it."),
    b"%PDF": ("a PDF document", _AS_TEXT),
    b"\x89PNG": ("a picture (PNG)", _AS_TEXT),
    b"\xff\xd8\xff": ("a picture (JPEG)", _AS_TEXT),
    b"II*\0": ("a picture (TIFF)", _AS_TEXT),
    b"MM\0*": ("a picture (TIFF)", _AS_TEXT),
    b"SQLite format 3": ("a database (SQLite)", _AS_TEXT),
    b"version https://git-lfs": ("a pointer to a file kept elsewhere (Git LFS)", "Fetch the file itself."),
}
_TEXT_SIGNS: Mapping[bytes, tuple[str, str]] = {
    b"<!doctype html": ("a web page", _AS_TEXT),
    b"<html": ("a web page", _AS_TEXT),
    b"<?xml": ("XML of another kind than mzML and AnIML", _AS_TEXT),
    b"<": ("XML of another kind than mzML and AnIML", _AS_TEXT),
    b"{": ("JSON without data cubes", _AS_TEXT),
    b"{\\rtf": ("a word processor's document (RTF)", _AS_TEXT),
}


def name_foreign(head: bytes) -> tuple[str, str]:
    """Return (what the file is, the cure) for a known other format; empty words for none."""
    for sign, words in _SIGNS.items():
        if head.startswith(sign):
            return words
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()[:40].lower()
    matches = [(len(sign), words) for sign, words in _TEXT_SIGNS.items() if start.startswith(sign)]
    return max(matches)[1] if matches else ("", "")


HEAD_BYTES = 16_384
"""How much of a file a reader sees to recognise it."""


@dataclass(frozen=True, slots=True)
class Reader:
    """One format."""

    format: str
    recognises: Callable[[bytes], bool]
    read: Callable[[bytes, str, Exports], tuple[Draft, ...]]


READERS: tuple[Reader, ...] = (
    Reader(netcdf.FORMAT, netcdf.recognises, netcdf.read),
    Reader(mzml.FORMAT, mzml.recognises, mzml.read),
    Reader(animl.FORMAT, animl.recognises, animl.read),
    Reader(datacubes.FORMAT, datacubes.recognises, datacubes.read),
    Reader(jcamp.FORMAT, jcamp.recognises, jcamp.read),
    Reader(delimited.FORMAT, delimited.recognises, delimited.read),  # last: it takes any text
)
"""Asked in this order."""
FORMATS = tuple(reader.format for reader in READERS)


def read_traces(data: bytes, file: str, exports: Exports) -> tuple[Trace, ...]:
    """Return the traces in `data`, the bytes of `file` as they lie on disk, at least one.

    Raises StudyFolderError with one Problem where the file cannot be read.
    """
    content = unpack(data, file)
    reader = _reader_for(content, file)
    origin = Origin(file, reader.format, hashlib.sha256(data).hexdigest(), _names_at(content[:NAMED_WITHIN]))
    return _with_own_names(_shape_all(reader.read(content, file, exports), origin, exports))


NAMED_WITHIN = 4096
"""Bytes within which exports of every format name sample, vial or injection; numbers follow soon."""
_NAME = re.compile(r"\w[\w.+-]{0,62}\w")
MOST_NAMES = 200
"""Heads hold some dozen; of a file without one, such as packed numbers, no more are kept."""


def _names_at(head: bytes) -> frozenset[str]:
    """Return the words of a head that have a letter and a digit and are no numbers, in small letters.

    A file name counts without its ending, too.
    """
    words = (word.casefold() for word in _NAME.findall(as_utf8(head).decode("utf-8", "replace")))
    named = [word for word in words if _is_name(word)]
    stems = (word.rpartition(".")[0] for word in named)
    return frozenset((*named[:MOST_NAMES], *filter(_is_name, stems)))


def _is_name(word: str) -> bool:
    """Return whether a word has letters and digits, and no number is written so."""
    return not _NUMERAL.fullmatch(word) and any(map(str.isdigit, word)) and any(map(str.isalpha, word))


_NUMERAL = re.compile(r"[\d.+-]+(?:e[\d+-]*)?")


def choose_trace(traces: Sequence[Trace], wanted: str = "", place: str = "") -> Trace:
    """Return the trace called `wanted`, or the only one.

    `place` says where the name stands, such as `injections.csv, row 14`. Raises StudyFolderError where no
    trace or more than one answers, with the names that there are.
    """
    if not wanted.strip():
        found = list(traces)
    else:
        found = [trace for trace in traces if trace.name == wanted]
        found = found or [trace for trace in traces if _plain(trace.name) == _plain(wanted)]
    if len(found) == 1:
        return found[0]
    if len(traces) == 1 and not traces[0].name:
        caution = f"The trace {wanted!r} was asked for; the file holds one, without a name."
        return replace(traces[0], cautions=(*traces[0].cautions, caution))
    raise _not_chosen(traces, wanted, place)


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _not_chosen(traces: Sequence[Trace], wanted: str, place: str) -> StudyFolderError:
    names = ", ".join(repr(trace.name) for trace in traces)
    asked = f"no trace called {wanted!r}" if wanted.strip() else "no word on which trace to take"
    left_out = "; ".join(caution for caution in traces[0].cautions if f"The trace {wanted!r}" in caution)
    return unreadable(
        traces[0].file,
        place,
        f"{asked} of {len(traces)}" + (f" ({left_out})" if left_out else ""),
        f"one of {names}",
        "Put one of these names into the column `trace` of injections.csv.",
    )


def _reader_for(content: bytes, file: str) -> Reader:
    head = content[:HEAD_BYTES]
    for reader in READERS[:-1]:
        if reader.recognises(head):
            return reader
    known, cure = name_foreign(head)
    if not known and READERS[-1].recognises(head):
        return READERS[-1]
    raise unreadable(
        file,
        "",
        known or "bytes of no format that is known here",
        "one of " + ", ".join(reader.format for reader in READERS),
        cure or "Export the trace as text with times and signals.",
    )


def _shape_all(drafts: Sequence[Draft], origin: Origin, exports: Exports) -> list[Trace]:
    """Return the drafts as traces; one that is none is left out, with a caution on the others."""
    traces: list[Trace] = []
    failures: list[StudyFolderError] = []
    cautions: list[str] = []
    for draft in drafts:
        try:
            traces.append(shape(draft, origin, exports))
        except StudyFolderError as failure:
            failures.append(failure)
            cautions.append(f"The trace {draft.name!r} beside it was left out: {failure.problems[0].found}.")
    if failures and not traces:
        raise failures[0]
    return [replace(trace, cautions=(*trace.cautions, *cautions)) for trace in traces]


def _with_own_names(traces: Sequence[Trace]) -> tuple[Trace, ...]:
    """Return the traces with a number behind a name that an earlier one bears."""
    seen: dict[str, int] = {}
    named: list[Trace] = []
    for trace in traces:
        seen[trace.name] = count = seen.get(trace.name, 0) + 1
        named.append(trace if count == 1 else replace(trace, name=f"{trace.name} ({count})".strip()))
    return tuple(named)

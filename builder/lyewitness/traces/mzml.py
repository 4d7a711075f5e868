"""Reads absorbance chromatograms in mzML.

In: the bytes of an mzML file. Out: one `Draft` for each absorption or emission chromatogram; spectra and
ion chromatograms are passed over. Only the PSI-MS terms named here are read: nothing of contacts, source
files and paths gets into a trace's data.
"""

import base64
import binascii
import re
import zlib
from dataclasses import dataclass, field
from xml.parsers import expat

import numpy as np

from lyewitness.study.records import Exports
from lyewitness.traces.markup import new_parser, parse
from lyewitness.traces.shaping import (
    LARGEST_BYTES,
    Draft,
    as_utf8,
    inflate,
    unit_of_time,
    unreadable,
)
from lyewitness.traces.stamps import iso_time
from lyewitness.words.arrays import FloatArray
from lyewitness.words.problems import shortened, told_plainly

FORMAT = "mzML"

_OPTICAL = ("MS:1000811", "MS:1000812", "MS:1000813")
"""Chromatograms of light: of electromagnetic radiation, absorption, emission."""
_TIME_ARRAY, _SIGNAL_ARRAY = "MS:1000595", "MS:1000515"
_TYPES = {"MS:1000523": "<f8", "MS:1000521": "<f4", "MS:1000522": "<i8", "MS:1000519": "<i4"}
_ZLIB, _NOT_PACKED = "MS:1000574", "MS:1000576"
_OTHERWISE_PACKED = frozenset(f"MS:{number}" for number in (
    1002312, 1002313, 1002314, 1002746, 1002747, 1002748, 1003088, 1003089, 1003090,
))  # fmt: skip
"""Numpress in its three kinds, the same with zlib, truncation with prediction or without (PSI-MS)."""
_UNIT_WORDS = {"UO:0000028": "ms", "UO:0000010": "s", "UO:0000031": "min", "UO:0000032": "h"}
_PACKED = re.compile(r"numpress|truncation|zstd|prediction", re.IGNORECASE)
"""Names of these and of further ways to pack; vocabularies grow."""


@dataclass(frozen=True, slots=True)
class _Term:
    accession: str
    name: str
    unit_accession: str
    unit: str


@dataclass(slots=True)
class _Array:
    """One binary data array while it is read."""

    length: str = ""
    terms: list[_Term] = field(default_factory=list)
    text: list[str] = field(default_factory=list)


@dataclass(slots=True)
class _Chromatogram:
    """One chromatogram while it is read."""

    id: str
    length: str
    line: int
    terms: list[_Term] = field(default_factory=list)
    arrays: list[_Array] = field(default_factory=list)

    @property
    def accessions(self) -> set[str]:
        return {term.accession for term in self.terms}


class _PackedError(ValueError):
    """The numbers are packed in a way that is not read."""


def recognises(head: bytes) -> bool:
    """Whether a file that begins with `head` is mzML, indexed or not."""
    return bool(re.search(rb"<(?:\w+:)?(?:indexedmzML|mzML)[\s>]", as_utf8(head)))


def read(data: bytes, file: str, exports: Exports) -> tuple[Draft, ...]:
    """Return the optical chromatograms of an mzML file; raises StudyFolderError with line or element."""
    parser = new_parser()
    gathering = _Gathering(parser)
    parse(parser, data, file, FORMAT)
    optical = [found for found in gathering.chromatograms if found.accessions & set(_OPTICAL)]
    if not optical:
        raise _none_optical(gathering, file)
    return tuple(_draft(found, gathering.started_at, file, exports) for found in optical)


class _Gathering:
    """Takes chromatograms out of the stream of elements; everything else is passed over."""

    def __init__(self, parser: expat.XMLParserType) -> None:
        self.chromatograms: list[_Chromatogram] = []
        self.spectra = 0
        self.started_at = ""
        self._groups: dict[str, list[_Term]] = {}
        self._terms: list[_Term] | None = None
        self._chromatogram: _Chromatogram | None = None
        self._array: _Array | None = None
        self._parser = parser
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        tag = name.rpartition(" ")[2]
        if tag == "cvParam":
            if self._terms is not None:
                self._terms.append(_term(attributes))
        elif tag == "referenceableParamGroup":
            self._terms = self._groups.setdefault(attributes.get("id", ""), [])
        elif tag == "referenceableParamGroupRef" and self._terms is not None:
            self._terms += self._groups.get(attributes.get("ref", ""), [])
        elif tag == "run":
            self.started_at = iso_time(attributes.get("startTimeStamp", ""))
        elif tag == "spectrum":
            self.spectra += 1
        else:
            self._start_of_chromatogram(tag, attributes)

    def _start_of_chromatogram(self, tag: str, attributes: dict[str, str]) -> None:
        if tag == "chromatogram":
            length = attributes.get("defaultArrayLength", "")
            line = self._parser.CurrentLineNumber
            self._chromatogram = _Chromatogram(attributes.get("id", ""), length, line)
            self._terms = self._chromatogram.terms
        elif self._chromatogram is None:
            return
        elif tag == "binaryDataArray":
            self._array = _Array(attributes.get("arrayLength", ""))
            self._terms = self._array.terms
            self._chromatogram.arrays.append(self._array)
        elif tag == "binary" and self._array is not None:
            self._parser.CharacterDataHandler = self._array.text.append
        elif tag in ("precursor", "product"):
            self._terms = None

    def _end(self, name: str) -> None:
        tag = name.rpartition(" ")[2]
        if tag == "binary":
            self._parser.CharacterDataHandler = None
        elif tag == "chromatogram" and self._chromatogram is not None:
            self.chromatograms.append(self._chromatogram)
            self._chromatogram = self._array = self._terms = None
        elif tag == "referenceableParamGroup":
            self._terms = None


def _term(attributes: dict[str, str]) -> _Term:
    words = (attributes.get(key, "") for key in ("accession", "name", "unitAccession", "unitName"))
    return _Term(*words)


def _draft(found: _Chromatogram, started_at: str, file: str, exports: Exports) -> Draft:
    place = f"chromatogram {shortened(found.id)!r}, line {found.line}"
    times, time_term = _values(found, _TIME_ARRAY, "time", file, place)
    signal, signal_term = _values(found, _SIGNAL_ARRAY, "intensity", file, place)
    if times.size != signal.size:
        expected = f"one for each of {signal.size} signals"
        raise unreadable(file, place, f"{times.size} times", expected, "Export the file again.")
    unit = _time_unit(time_term, file, place)
    unit = unit or ("" if time_term.unit else exports.time_unit)
    if not unit:
        raise unreadable(
            file,
            place,
            f"times in {shortened(time_term.unit)!r}" if time_term.unit else "times without a unit",
            "minutes or seconds",
            "Export it again in minutes or seconds."
            if time_term.unit
            else "State `time_unit` in [exports] of study.toml.",
        )
    return Draft(times, signal, unit, signal_term.unit, found.id[:80], started_at)


def _time_unit(term: _Term, file: str, place: str) -> str:
    """Return the unit of time by its accession, else by its name; raises where the two contradict."""
    by_accession, by_name = _UNIT_WORDS.get(term.unit_accession, ""), unit_of_time(term.unit)
    if by_accession and by_name and by_accession != by_name:
        raise unreadable(
            file,
            place,
            f"times in {shortened(term.unit)!r} by name and in {by_accession} by {term.unit_accession}",
            "one unit of time",
            "Look up which is right, and export the file again with it.",
        )
    return by_accession or by_name


def _values(
    found: _Chromatogram, accession: str, word: str, file: str, place: str
) -> tuple[FloatArray, _Term]:
    for array in found.arrays:
        for term in array.terms:
            if term.accession == accession:
                try:
                    return _decode(array, found.length), term
                except _PackedError as error:
                    where = f"{place}, {word} array"
                    cure = "This compression is not read: export the file with zlib compression or none."
                    expected = "numbers packed with zlib, or not packed"
                    raise unreadable(file, where, f"{error}", expected, cure) from error
                except (ValueError, EOFError, zlib.error, binascii.Error) as error:
                    where = f"{place}, {word} array"
                    raise unreadable(
                        file, where, told_plainly(error), "whole base64 data", "Export the file again."
                    ) from error
    raise unreadable(
        file, place, f"no {word} array", "a time and an intensity array", "Export the file again."
    )


def _decode(array: _Array, default_length: str) -> FloatArray:
    """Return the numbers of one array; raises ValueError, EOFError, zlib.error or binascii.Error."""
    accessions = {term.accession for term in array.terms}
    for term in array.terms:
        unknown = "compression" in term.name and term.accession not in (_ZLIB, _NOT_PACKED)
        if unknown or _PACKED.search(term.name) or term.accession in _OTHERWISE_PACKED:
            raise _PackedError(f"data packed by {shortened(term.name or term.accession, 60)}")
    kind = next((_TYPES[accession] for accession in _TYPES if accession in accessions), "")
    if not kind:
        raise ValueError("no type of number that is known (32 or 64 bit)")
    count = int(array.length or default_length)
    raw = base64.b64decode("".join("".join(array.text).split()), validate=True)
    if _ZLIB in accessions:
        raw, _ = inflate(raw, min(LARGEST_BYTES, max(count, 0) * int(kind[-1])))
    if len(raw) != count * int(kind[-1]):
        raise ValueError(f"{len(raw)} bytes of data for {count} numbers of {8 * int(kind[-1])} bits")
    with np.errstate(invalid="ignore"):  # NaNs of the signalling kind
        return np.frombuffer(raw, dtype=kind).astype(np.float64)


def _none_optical(gathering: _Gathering, file: str) -> Exception:
    names = {
        term.name for found in gathering.chromatograms for term in found.terms if "chromatogram" in term.name
    }
    listed = f" ({shortened(', '.join(sorted(names)), 80)})" if names else ""
    found = f"{len(gathering.chromatograms)} chromatograms{listed} and {gathering.spectra} spectra"
    return unreadable(
        file,
        "chromatogramList",
        found,
        "an absorption chromatogram (MS:1000812)",
        "Export the trace of the UV detector.",
    )

"""Files that hold chromatograms, perhaps, but in no format that is read here.

In: the first bytes of a file. Out: what it is and how to get at its trace, in words.
"""

from collections.abc import Mapping

_AS_TEXT = "Export the trace as text, mzML, JCAMP-DX or ASTM netCDF from the program that wrote it."
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
    b"<?xml": ("XML of another kind than mzML", _AS_TEXT),
    b"<": ("XML of another kind than mzML", _AS_TEXT),
    b"{": ("JSON", _AS_TEXT),
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

"""Files made to break a reader: each is read or refused with a message, within bounded time and memory."""

import base64
import bz2
import gzip
import io
import lzma
import time
import zipfile
import zlib

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lyewitness.traces import shaping
from lyewitness.traces.reading import read_traces
from tests.traces.expecting import STATED, read_or_refused, refused

TEXT = b"Run: 12\nTime (min);A (mAU);B\n" + b"".join(
    b"%d,%02d;%d,5;%d\n" % (i // 60, i % 60, i, -i) for i in range(60)
)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=400))
@example(b"\x1f\x8b")
@example(b"CDF\x01")
@example(b"CDF\x02\xff\xff\xff\xff" * 4)
@example(b"##TITLE=\n##XYDATA=(X++(Y..Y))\n")
@example(b"<mzML>")
@example(b"\xff\xfe\n")
@example(b"\0" * 40)
def test_any_bytes(data: bytes) -> None:
    """Arbitrary bytes are read or refused."""
    read_or_refused(data)


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="0123456789.,;:-+eE \t\n\r\"'|#NaTimes()[]/µ", max_size=300))
def test_any_numeric_text(text: str) -> None:
    """Text of the signs that tables are made of is read or refused."""
    read_or_refused(text.encode())
    read_or_refused(text.encode("utf-16"))


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_mutated_text(data: st.DataObject) -> None:
    """A table with bytes changed, taken out or doubled is read or refused."""
    whole = bytearray(TEXT)
    for _ in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, len(whole) - 1))
        action = data.draw(st.sampled_from(["change", "cut", "double", "end"]))
        if action == "change":
            whole[place] = data.draw(st.integers(0, 255))
        elif action == "cut":
            del whole[place : place + data.draw(st.integers(1, 40))]
        elif action == "double":
            whole[place:place] = whole[place : place + 30]
        else:
            del whole[place + 1 :]
        if not whole:
            break
    read_or_refused(bytes(whole))


def test_an_empty_file_is_called_empty() -> None:
    """Nothing, blanks or NULs alone are named as an empty file."""
    for data in (b"", b" \r\n\t", b"\0" * 100, gzip.compress(b"")):
        assert refused(data).found == "an empty file"


def test_a_gzip_bomb_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    """A small file that swells beyond the bound is refused before it is unpacked whole."""
    monkeypatch.setattr(shaping, "LARGEST_BYTES", 2**20)
    bomb = gzip.compress(b"0 " * 2**22)
    assert "1 MiB" in refused(bomb).found
    many = gzip.compress(b"0 " * 2**18) * 9
    assert "1 MiB" in refused(many).found


def test_damaged_gzip_is_called_so() -> None:
    """A compressed file that breaks off, or whose sum is wrong, is refused."""
    data = gzip.compress(TEXT)
    assert "break off" in refused(data[:-20]).found
    assert "damaged" in refused(data[:-8] + b"\0" * 8).found
    assert "compressed twice" in refused(gzip.compress(data)).found


def test_gzip_with_several_members_is_read() -> None:
    """A file compressed in pieces is read as one."""
    middle = TEXT.index(b"\n0,30;")
    whole = read_traces(TEXT, "a", STATED)
    pieces = read_traces(gzip.compress(TEXT[:middle]) + gzip.compress(TEXT[middle:]), "a", STATED)
    np.testing.assert_array_equal(pieces[1].signal, whole[1].signal)


def zipped() -> bytes:
    """Return a ZIP archive with a table in it."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("a.csv", TEXT)
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (zipped(), "ZIP"),
        (bz2.compress(TEXT), "bzip2"),
        (lzma.compress(TEXT), "xz"),
        (b"%PDF-1.7\n1 2\n3 4\n", "PDF"),
        (b"\x89PNG\r\n\x1a\n", "PNG"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "compound binary"),
        (b"<!DOCTYPE html><table><tr><td>1</td></tr></table>", "web page"),
        (b"<?xml version='1.0'?><x>1 2</x>", "XML"),
        (b'{"time": [0, 1, 2]}', "JSON"),
        (b"version https://git-lfs.github.com/spec/v1\noid sha256:0\nsize 12\n", "Git LFS"),
        (bytes(range(256)) * 4, "no format that is known"),
    ],
)
def test_other_formats_are_named(data: bytes, found: str) -> None:
    """A file of another format is named, with a way to a trace."""
    assert found in refused(data).found


def mzml(body: str, head: str = "") -> bytes:
    """Return an mzML file around `body`."""
    return f'<?xml version="1.0"?>{head}<mzML xmlns="http://psi.hupo.org/ms/mzml"><run>{body}</run></mzML>'.encode()


def test_entities_are_never_expanded() -> None:
    """A document type is refused at once: no bomb, no file fetched."""
    bomb = '<!DOCTYPE m [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    outside = '<!DOCTYPE m [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
    for head in (bomb, outside, '<!DOCTYPE mzML SYSTEM "http://localhost:9/x.dtd">'):
        problem = refused(mzml("<chromatogramList>&b;</chromatogramList>", head))
        assert "document type" in problem.found
        recoded = mzml("", head).decode().replace("?>", ' encoding="utf-16"?>', 1).encode("utf-16")
        assert "document type" in refused(recoded).found


def test_a_zlib_bomb_in_mzml_is_stopped() -> None:
    """Data that unpack to more than the stated number of values are refused without unpacking them."""
    packed = base64.b64encode(zlib.compress(bytes(2**24), 9)).decode()
    terms = (
        '<cvParam accession="MS:1000523"/><cvParam accession="MS:1000574"/>'
        '<cvParam accession="MS:1000595" unitAccession="UO:0000031"/>'
    )
    body = (
        '<chromatogramList><chromatogram id="c" defaultArrayLength="10"><cvParam accession="MS:1000812"/>'
        f"<binaryDataArrayList><binaryDataArray>{terms}<binary>{packed}</binary></binaryDataArray>"
        "</binaryDataArrayList></chromatogram></chromatogramList>"
    )
    problem = refused(mzml(body))
    assert "81 bytes of data for 10 numbers" in problem.found


@pytest.mark.parametrize(
    "data",
    [
        b'"' * 200_000,
        b"," * 200_000,
        b"1," * 100_000,
        (b" " * 399 + b"=\n") * 300 + b"1 2\n" * 30,
        b",,,,\n" * 20_000,
        b"1 2 x\n" * 20_000,
        b"(" * 100_000 + b"\n1 2\n3 4\n",
        b"Time (min) " * 20_000 + b"\n" + b"1 2\n" * 30,
        b"a" * 300_000 + b"\n" + b"1 2\n" * 30,
        b"1 " * 100_000 + b"x",
        b"sampling " * 20_000 + b": 3\n1\n2\n3\n",
        b"##TITLE=" + b"=" * 100_000,
        b"##TITLE=\n##XUNITS=s\n##XYDATA=(X++(Y..Y))\n0A" + b"s99999" * 200,
        b"1\t2\n" * 3 + b"\n" * 200_000 + b"x",
        b"0.1.2.3" * 20_000,
        b"1e999,1e999\n" * 100,
        b"-" * 100_000 + b"\n",
        b'"1,2\n' * 20_000,
        b"1:" * 50_000,
        b"1,234" * 20_000,
    ],
)
def test_no_text_takes_long(data: bytes) -> None:
    """Long lines, long runs of one sign and huge repeats are dealt with within seconds."""
    start = time.perf_counter()
    read_or_refused(data)
    assert time.perf_counter() - start < 20  # a bound against runaway patterns, not a measure of speed


def test_a_file_of_too_many_lines_is_refused() -> None:
    """Lines that have to be gone through one by one have a limit."""
    assert "lines" in refused(b"1 2 x\n" * 2_000_001).found

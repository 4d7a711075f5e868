"""What libraries say of damaged data is told without their vocabulary."""

import base64
import gzip
import io
import json
import tarfile
import tomllib
import zipfile
import zlib
from collections.abc import Callable
from xml.parsers import expat

import pytest

from lyewitness.words.problems import LONGEST_WORD, told_plainly

DAMAGES: dict[str, tuple[Callable[[], object], str]] = {
    "letters": (lambda: float("abc"), "'abc' where a number belongs"),
    "a count in letters": (lambda: int("x7"), "'x7' where a number belongs"),
    "a count beyond bounds": (lambda: float(10**400), "a number beyond all bounds"),
    "base64": (lambda: base64.b64decode("ab*=", validate=True), "signs that are no base64"),
    "zlib": (lambda: zlib.decompress(b"nothing packed"), "packed data that are damaged"),
    "JSON": (lambda: json.loads('{"a": \n }'), "no value in line 2"),
    "no zip": (lambda: zipfile.ZipFile(io.BytesIO(b"x")), "its head is that of no archive"),
    "no tar": (
        lambda: tarfile.TarFile.open(fileobj=io.BytesIO(b"x" * 9)),
        "its head is that of no archive",
    ),
    "a gzip cut short": (lambda: gzip.decompress(gzip.compress(b"x" * 99)[:-9]), "it breaks off"),
    "TOML": (lambda: tomllib.loads("a = 1\na = 2"), "a key that stands twice"),
    "XML": (lambda: expat.ParserCreate().Parse("<a>", True), "it breaks off"),
}


@pytest.mark.parametrize("name", DAMAGES)
def test_a_fault_is_told_as_a_chemist_would(name: str) -> None:
    """Each library is made to fail by itself, so that its wording is the one of the version in use."""
    damage, told = DAMAGES[name]
    with pytest.raises(Exception) as caught:  # noqa: PT011 - of whatever kind the library has
        damage()
    assert told_plainly(caught.value) == told


def test_what_nobody_foresaw_is_quoted_and_cut() -> None:
    """An unknown message stands as it is, and never fills a page."""
    assert told_plainly("out of cheese") == "out of cheese"
    assert len(told_plainly("x" * 500)) <= LONGEST_WORD * 2

"""Ids are safe everywhere, and different wherever the names are."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lyewitness.words.names import joined, repeated, slug, slugs

NAMES = st.text(alphabet=st.sampled_from("abAB19 -_+−()αβ./"), max_size=8)


@pytest.mark.parametrize(
    "names",
    [("Type α", "Type β"), ("A+", "A−"), ("C18 (A)", "C18-A"), ("α", "β"), ("", "column"), ("a b", "a-b")],
)
def test_names_that_differ_in_signs_alone_have_different_ids(names: tuple[str, str]) -> None:
    """Greek letters, signs and brackets do not make two groups one."""
    first, second = names
    assert slug(first) != slug(second)
    assert joined("q1", "life", first) != joined("q1", "life", second)


def test_a_plain_name_stays_as_it_is() -> None:
    """Ids can be read where the names are letters and digits."""
    assert slug("H1-0120") == "H1-0120"
    assert joined("q1", "life", "polymer") == "q1-life-polymer"
    assert slug("") == "column"


@given(NAMES, NAMES)
def test_different_names_have_different_safe_ids(first: str, second: str) -> None:
    """Every id holds letters, digits, `-` and `_` alone, and no two names share one."""
    assert re.fullmatch(r"[A-Za-z0-9_][A-Za-z0-9_-]*", slug(first))
    assert (slug(first) == slug(second)) == (first == second)


@given(st.lists(NAMES, min_size=1, max_size=4), st.lists(NAMES, min_size=1, max_size=4))
def test_different_parts_make_different_ids(first: list[str], second: list[str]) -> None:
    """`A` with `B-C` is not `A-B` with `C`."""
    assert (joined("q", *first) == joined("q", *second)) == (first == second)


@given(st.lists(NAMES, unique=True, max_size=6))
def test_paths_differ_on_a_disk_that_ignores_case(names: list[str]) -> None:
    """Pages of columns `a` and `A` do not overwrite each other."""
    assert len({name.lower() for name in slugs(names).values()}) == len(names)


def test_what_stands_twice_is_found() -> None:
    """The names that stand more than once are told, in order."""
    assert repeated(["b", "a", "b", "c", "a"]) == ("b", "a")
    assert repeated(["a", "b"]) == ()

"""What is made together stays in the store until it is asked for, and is the same whatever comes of that."""

from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path

import pytest

from lyewitness.figures.kept import FigureHead, KeptFigure, bare_heads_of, figures_of, heads_of
from lyewitness.figures.records import Figure
from lyewitness.sheaves import MOST_HELD, Binding, Files, Piece, Sheaf, bound
from lyewitness.store import NO_STORE, Store


def lines(count: int, made: list[int]) -> list[Binding[list[str]]]:
    """Return bindings of a few lines each, which say when they are made."""

    def make(number: int) -> list[str]:
        made.append(number)
        return [f"{number}-{line}" for line in range(3)]

    return [Binding((number,), lambda number=number: make(number)) for number in range(count)]  # type: ignore[misc]


def sheaves(store: Store, made: list[int], jobs: int = 1) -> list[Sheaf[int, list[str]]]:
    """Return twenty sheaves of three lines."""
    return list(bound("lines", lines(20, made), len, store, jobs))


@pytest.mark.parametrize("jobs", [1, 2])
def test_the_whole_is_what_was_made(tmp_path: Path, jobs: int) -> None:
    """With a store, with one that was filled before, and with none, head and whole are the same."""
    wholes = [
        [(one.head, one.whole()) for one in sheaves(store, [], jobs)]
        for store in (NO_STORE, Store(tmp_path), Store(tmp_path), Store(tmp_path, used=False))
    ]
    assert wholes[0][7] == (3, ["7-0", "7-1", "7-2"])
    assert wholes[0] == wholes[1] == wholes[2] == wholes[3]


def test_nothing_is_made_twice(tmp_path: Path) -> None:
    """What a store has is neither made nor brought before it is asked for."""
    made: list[int] = []
    sheaves(Store(tmp_path), made)
    again: list[int] = []
    found = sheaves(Store(tmp_path), again)
    assert [one.whole() for one in found] == [one.whole() for one in reversed(found)][::-1]
    assert (len(made), again) == (20, [])


@pytest.mark.parametrize("left", [b"", b"damaged"])
def test_what_the_store_has_lost_is_made_anew(tmp_path: Path, left: bytes) -> None:
    """Entries that are cut off or damaged after their heads were read are made anew, to the byte."""
    made: list[int] = []
    found = sheaves(Store(tmp_path), made)
    for path in tmp_path.rglob("*"):
        if path.is_file():
            path.write_bytes(left)
    assert [one.whole() for one in found] == [
        [f"{number}-{line}" for line in range(3)] for number in range(20)
    ]
    assert len(made) == 40


def test_few_stay_in_memory(tmp_path: Path) -> None:
    """Of many sheaves that were brought the last ones alone are held."""
    found = sheaves(Store(tmp_path), [])
    first = found[0].whole()
    assert found[0].whole() is first
    for one in found[1 : MOST_HELD + 1]:
        one.whole()
    assert found[0].whole() is not first


def test_hashes_are_told_without_bringing() -> None:
    """The hash and length of a piece are known; its bytes come when they are asked for, and only then."""
    brought: list[bytes] = []

    def bring() -> bytes:
        brought.append(b"page")
        return b"page"

    files = Files({"a.html": Piece(sha256(b"page").hexdigest(), 4, bring), "b.css": b"style"})
    assert files.hashes == {name: sha256(files[name]).hexdigest() for name in files} | {}
    assert len(brought) == 1
    assert files.size == 9
    assert dict(files) == {"a.html": b"page", "b.css": b"style"}


@pytest.mark.parametrize("heads", [heads_of, bare_heads_of])
def test_a_kept_figure_is_the_figure_that_was_drawn(
    tmp_path: Path, heads: Callable[[Sequence[Figure]], tuple[FigureHead, ...]]
) -> None:
    """What is brought and what is at hand make up the figure; one in other colours keeps its table."""
    table = (("a", "b"), ("1", "2"))
    drawn = [
        Figure(f"trace-{n}", f"figures/traces/{n}.svg", b"<svg/>", "T", "C", "A", 3, 2, table, dark=b"<svg>")
        for n in range(3)
    ]
    (run,) = bound("figures", [Binding((1,), lambda: drawn)], heads, Store(tmp_path))
    kept = figures_of(run)
    for one, whole in zip(kept, drawn, strict=True):
        assert isinstance(one, KeptFigure)
        assert one.has_table
        assert values_of(one) == values_of(whole)
        colours = (b"<svg a/>", b"", b"<svg b/>", b"")
        assert values_of(one.repainted(*colours)) == values_of(whole.repainted(*colours))
        assert isinstance(one.repainted(*colours), KeptFigure)
    (bare,) = bound("figures", [Binding((1,), lambda: drawn)], heads, NO_STORE)
    assert list(figures_of(bare)) == drawn


def values_of(figure: Figure) -> dict[str, object]:
    """Return all that a figure tells."""
    return {name: getattr(figure, name) for name in Figure.__dataclass_fields__}

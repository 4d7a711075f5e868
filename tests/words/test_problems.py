"""A message stays short enough to be read, whatever stands in the folder."""

import pytest

from lyewitness.study.delimited import read_table
from lyewitness.words.problems import Gathering, Problem, listed, shortened

PAGE = "x" * 4000


@pytest.mark.parametrize(
    "head", [f"injection,{PAGE}", f"injection,file,{PAGE},{PAGE}", f"{PAGE}", f'injection,file,"{PAGE}"']
)
def test_a_heading_of_a_page_is_not_quoted_whole(head: str) -> None:
    """Unknown, missing and repeated columns are named by the beginning of their names."""
    gathered = Gathering("injections.csv")
    read_table(f"{head}\nA,b,1,2\n".encode(), gathered, ("injection", "file"), ("injection", "file"))
    assert gathered.problems
    for problem in gathered.problems:
        assert len(str(problem)) < 400, str(problem)[:80]


def test_what_a_message_forgot_to_shorten_is_cut() -> None:
    """A quotation of found or place goes no further than any path does; what is not quoted stays."""
    problem = Problem("error", "study.toml", f"'{PAGE}'", f"the words '{PAGE}' and 'short'", "else", "Mend.")
    assert len(str(problem)) < 600
    assert problem.found.endswith("x…' and 'short'")
    path = f"'{'a' * 90}/{'b' * 90}.csv'"
    assert Problem("error", "", "", path, "", "").found == path


def test_a_quotation_is_one_printable_line() -> None:
    """Line breaks become blanks, signs that a terminal obeys become marks."""
    assert shortened("a\n b\x1b[2J") == "a b·[2J"
    assert shortened("x" * 61) == "x" * 60 + "…"
    assert listed(["a", "x" * 61]) == f"'a', '{'x' * 60}…'"

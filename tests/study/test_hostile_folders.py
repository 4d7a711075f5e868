"""Whatever stands in a study folder, reading it ends in records or in problems, never in a traceback."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lyewitness.study.folder import read_study
from tests.study.making import INJECTIONS, NOTE, STUDY, lay_out

FILES = {"study.toml": STUDY, "injections.csv": INJECTIONS, "notes/2026-03-02.md": NOTE}


@st.composite
def damaged(draw: st.DrawFn) -> tuple[str, bytes]:
    """Give one file of the folder with a piece of it replaced by something else."""
    name = draw(st.sampled_from(sorted(FILES)))
    data = FILES[name].encode()
    start = draw(st.integers(0, len(data)))
    end = draw(st.integers(start, min(len(data), start + 60)))
    words = st.sampled_from(
        [
            b"",
            b"[[",
            b"]]",
            b'"',
            b"=",
            b"{}",
            b"[]",
            b"-1",
            b"1e999",
            b"nan",
            b"\x00",
            b"\xff\xfe",
            b"../../etc",
            b"\n",
        ]
    )
    return name, data[:start] + draw(st.one_of(words, st.binary(max_size=20))) + data[end:]


@settings(max_examples=250, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(damage=damaged())
def test_damage_ends_in_records_or_problems(tmp_path: Path, damage: tuple[str, bytes]) -> None:
    """A damaged file gives a study, or problems that each say where, what and what to do."""
    lay_out(tmp_path)
    (tmp_path / damage[0]).write_bytes(damage[1])
    reading = read_study(tmp_path)
    assert (reading.study is None) == any(problem.severity == "error" for problem in reading.problems)
    for problem in reading.problems:
        assert problem.found
        assert problem.expected
        assert problem.cure


@pytest.mark.parametrize(
    "text",
    [
        "study = 3",
        "column = 3\nmarker = true\nlimits = []\nquestion = 1.5",
        "[[study]]\nid = 1",
        "[study]\nid = 'a'\ntitle = 3\nquestion = []\nkeywords = 'x'\n[column]\nid = 4",
        "[[column]]\nid = []\n[[marker]]\nid = {}\nretention_min = {a = 'x'}\n[injections]\npattern = 7",
        "[limits]\nretention_factor = 3\nplate_number_half_height = [1, {at_least = -1}]",
        "[choices]\nreference_injections = 1.5\nconfidence = 95",
    ],
)
def test_wrong_kinds_of_values_are_told(tmp_path: Path, text: str) -> None:
    """A table where a number belongs, or the other way round, is a problem and no traceback."""
    lay_out(tmp_path)
    (tmp_path / "study.toml").write_text(text)
    assert read_study(tmp_path).study is None

"""Study folders written without knowledge of the program are read and judged."""

from pathlib import Path

import pytest
from foreign_studies import cases, write

from tests.foreign_lives import main


@pytest.mark.slow
def test_the_command_writes_reads_and_judges_folders(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two folders give a row for all, and one for the law and the noise of each."""
    assert main(["--seed", "1", "--folders", "2", "--into", str(tmp_path)]) == 0
    names = [line[:32].strip() for line in capsys.readouterr().out.splitlines()]
    for case in list(cases(1))[:2]:
        assert (tmp_path / case.name / "study.toml").is_file()
        assert {"all", f"law: {case.law}", f"noise: {case.noise}"} <= set(names)


def test_seeds_give_other_columns_of_the_same_plan(tmp_path: Path) -> None:
    """Another seed is another draw of the same law, noise and design."""
    (one, *_), (other, *_) = cases(1), cases(2)
    first, second, again = (
        write(case, tmp_path / place) for case, place in ((one, "a"), (other, "b"), (one, "c"))
    )
    assert first == again
    assert (first.law, first.noise, first.design) == (second.law, second.noise, second.design)
    assert first.columns != second.columns

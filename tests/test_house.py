"""The checkout holds what it should, and says nothing that it should not."""

import re
import subprocess
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "builder",
    "themes",
    "tests",
    "example_study",
}


def tracked() -> list[str]:
    """Return every file that git tracks."""
    command = ["git", "ls-files"]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.splitlines()


def test_the_top_level_holds_nothing_else() -> None:
    """The top of the checkout is the eight names of the house, and dot-folders."""
    tops = {name.split("/")[0] for name in tracked()}
    assert {name for name in tops if not name.startswith(".")} == TOP


def test_the_readme_gives_two_commands_and_a_picture() -> None:
    """Two commands stand in README.md, each in a block of its own, and the picture they lead to exists."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert len(re.findall(r"^```sh\n[^\n]+\n```$", text, re.MULTILINE)) == 2
    for picture in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", text):
        assert (ROOT / picture).is_file(), picture


def test_every_dependency_has_its_reason() -> None:
    """Each run-time dependency of pyproject.toml is named in DEVELOPERS.md."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    names = {re.split(r"[<>=\[ ]", dependency)[0] for dependency in project["dependencies"]}
    assert [name for name in sorted(names) if name not in told] == []


@pytest.mark.parametrize(
    "name", ["study", "traces", "peaks", "decline", "chemistry", "findings", "figures", "document"]
)
def test_every_module_says_what_it_is_for(name: str) -> None:
    """Each module of a stage begins with a docstring that says what it holds."""
    for path in (ROOT / "builder" / "lyewitness" / name).rglob("*.py"):
        assert path.read_text(encoding="utf-8").lstrip().startswith(('"""', 'r"""')), path

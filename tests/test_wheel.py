"""What is installed holds all that the program needs."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.slow
def test_themes_travel_in_the_wheel_and_the_example_does_not(tmp_path: Path) -> None:
    """A wheel built from the checkout holds every file of `themes/`; `rehearse` writes the example."""
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", tmp_path, ROOT]
    subprocess.run([str(part) for part in command], check=True)
    wheel = next(tmp_path.glob("lyewitness-*.whl"))
    held = set(zipfile.ZipFile(wheel).namelist())
    files = [path for path in (ROOT / "themes").rglob("*") if path.is_file()]
    assert len(files) > 5
    missing = [path for path in files if f"lyewitness/{path.relative_to(ROOT).as_posix()}" not in held]
    assert missing == []
    assert not any("example_study" in name for name in held)
    assert "lyewitness/py.typed" in held
    assert "lyewitness/study/blank_study.toml" in held

"""What is installed holds all that the program needs."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.slow
def test_themes_and_example_travel_in_the_wheel(tmp_path: Path) -> None:
    """A wheel built from the checkout holds every file of `themes/` and `example_study/`."""
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", tmp_path, ROOT]
    subprocess.run([str(part) for part in command], check=True)
    wheel = next(tmp_path.glob("lyewitness-*.whl"))
    held = set(zipfile.ZipFile(wheel).namelist())
    for name in ("themes", "example_study"):
        files = [path for path in (ROOT / name).rglob("*") if path.is_file()]
        assert len(files) > 5
        missing = [path for path in files if f"lyewitness/{path.relative_to(ROOT).as_posix()}" not in held]
        assert missing == []
    assert "lyewitness/study/blank_study.toml" in held

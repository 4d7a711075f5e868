"""Pages on the disk, and the tools that look at them."""

import os
from pathlib import Path

import pytest

from lyewitness.pipeline import Rendered

CHROMIUM = "/usr/bin/chromium"


def needs(tool: str | Path | None, name: str) -> str:
    """Return the tool's path; where it is missing, skip on a desk and fail in CI."""
    if tool and Path(tool).exists():
        return str(tool)
    if os.environ.get("CI"):
        pytest.fail(f"{name} is not installed")
    pytest.skip(f"{name} is not installed")


def node_module(path: str) -> str:
    """Return a file of the node modules that check pages."""
    folder = Path(os.environ.get("LYEWITNESS_NODE_MODULES", "/opt/lye-node/node_modules"))
    return needs(folder / path, path)


def written(rendered: Rendered, folder: Path) -> Path:
    """Write the files of a site into `folder` and return it."""
    for name, data in rendered.files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(data)
    return folder

"""Setting up a machine goes on where an earlier run was stopped, and trusts nothing left half done."""

import importlib.util
import os
import sys
import venv
from pathlib import Path
from types import ModuleType

import pytest

START = Path(__file__).resolve().parent.parent / "builder" / "start.py"


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """Return the script as a module with an environment of the test, which installs nothing."""
    spec = importlib.util.spec_from_file_location("start", START)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    monkeypatch.setattr(module, "ENVIRONMENT", tmp_path / ".venv")
    monkeypatch.setattr(module, "NODE_FOLDER", tmp_path / ".venv" / "node")
    module.called = []  # type: ignore[attr-defined]
    monkeypatch.setattr(module, "must", lambda *command: module.called.append([str(one) for one in command]))
    monkeypatch.setattr(module, "install_system_packages", lambda _: None)
    return module


def test_an_environment_is_sound_when_its_python_runs_can_install_and_is_new_enough(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    """None there, one without pip, one that does not run and one of an older Python are made anew."""
    assert not start.is_sound()
    venv.create(start.ENVIRONMENT, with_pip=False, symlinks=os.name != "nt")
    assert not start.is_sound()
    python = start.program("python")
    python.unlink()
    python.write_text("no program")
    assert not start.is_sound()
    python.unlink()
    python.symlink_to(sys.executable)
    monkeypatch.setenv("PYTHONPATH", str(Path(importlib.import_module("pip").__file__ or "").parent.parent))
    assert start.is_sound()
    monkeypatch.setattr(start, "OLDEST", (99, 0))
    assert not start.is_sound()


@pytest.mark.parametrize("sound", [True, False])
def test_only_what_is_not_sound_is_made_anew(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch, sound: bool
) -> None:
    """A sound environment is kept; the program is installed each time: a stopped run may not have."""
    made: list[dict[str, object]] = []
    monkeypatch.setattr(start, "is_sound", lambda: sound)
    monkeypatch.setattr(start.venv, "create", lambda *_, **how: made.append(how))
    start.set_up("[checks]")
    assert made == ([] if sound else [{"with_pip": True, "clear": True}])
    assert start.called == [
        [str(start.program("python")), "-m", "pip", "install", "--quiet", "--editable", ".[checks]"]
    ]


def test_a_python_that_is_too_old_is_told(start: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    """The message names the version that is wanted, and nothing is made."""
    monkeypatch.setattr(start, "OLDEST", (99, 1))
    with pytest.raises(SystemExit, match=r"Python 99\.1 or later"):
        start.set_up("")
    assert not start.called
    assert not start.ENVIRONMENT.exists()


def test_node_packages_of_a_stopped_run_are_installed_anew(
    start: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Folders alone are no sign: the list that is written last must be there."""
    monkeypatch.setattr(start, "set_up", lambda *_: None)
    modules = start.NODE_FOLDER / "node_modules"
    for name in start.NODE_PACKAGES:
        (modules / name).mkdir(parents=True)
    start.set_up_tests()
    assert [command[:2] for command in start.called] == [["npm", "install"]]
    (modules / ".package-lock.json").touch()
    start.called.clear()
    told = start.set_up_tests()
    assert not start.called
    assert told == {"LYEWITNESS_NODE_MODULES": str(modules)}

"""Files are put on disk so that a stop at any moment leaves what was there before whole."""

from pathlib import Path

import pytest

from lyewitness.outputs.placing import PlaceTakenError, place_file, place_folder

SIGN = "sign.txt"


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below the folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def test_a_new_folder_replaces_the_old_one_whole(tmp_path: Path) -> None:
    """Files of an older result that the new one does not have are gone, and no scratch is left."""
    target = tmp_path / "report"
    place_folder({SIGN: b"1", "old/page.html": b"old"}, target, SIGN)
    place_folder({SIGN: b"2", "new.html": b"new"}, target, SIGN)
    assert contents(target) == {SIGN: b"2", "new.html": b"new"}
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


@pytest.mark.parametrize("moment", ["write", "swap"])
def test_a_stop_leaves_the_old_folder_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    """An interrupt while writing, or between the two renames, leaves the older result as it was."""
    target = tmp_path / "report"
    place_folder({SIGN: b"1", "page.html": b"old"}, target, SIGN)
    before = contents(target)
    true_rename = Path.rename

    def stop(self: Path, *_: object) -> None:
        raise KeyboardInterrupt

    def stop_at_the_second(self: Path, goal: Path) -> Path:
        if self.name == "fresh":
            raise KeyboardInterrupt
        return true_rename(self, goal)

    if moment == "write":
        monkeypatch.setattr(Path, "write_bytes", stop)
    else:
        monkeypatch.setattr(Path, "rename", stop_at_the_second)
    with pytest.raises(KeyboardInterrupt):
        place_folder({SIGN: b"2", "page.html": b"new"}, target, SIGN)
    monkeypatch.undo()
    assert contents(target) == before
    assert [path.name for path in tmp_path.iterdir()] == ["report"]


def test_a_folder_of_something_else_is_not_replaced(tmp_path: Path) -> None:
    """A folder that this program did not make is refused and stays as it is."""
    (tmp_path / "thesis.txt").write_text("years of work")
    with pytest.raises(PlaceTakenError, match="name another folder"):
        place_folder({SIGN: b""}, tmp_path, SIGN)
    assert contents(tmp_path) == {"thesis.txt": b"years of work"}


def test_a_file_is_replaced_in_one_step(tmp_path: Path) -> None:
    """A file is written beside the old one and renamed over it."""
    target = tmp_path / "deep" / "reply.html"
    place_file(b"1", target)
    place_file(b"2", target)
    assert contents(tmp_path) == {"deep/reply.html": b"2"}

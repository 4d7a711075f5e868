"""A sample of the fuzz of all readers; the whole is `python -m tests.hostile.fuzz --cases 100000`."""

from pathlib import Path

from tests.hostile.fuzz import failures, readings


def test_sound_files_are_read(tmp_path: Path) -> None:
    """The files that are mutated are sound themselves, of ten kinds at least."""
    kinds = readings(tmp_path)
    assert len(kinds) >= 10
    for sound, read in kinds.values():
        read(sound)


def test_no_mutation_ends_in_a_fault(tmp_path: Path) -> None:
    """Two thousand mutated files end in records or in problems with place and cure, each within seconds."""
    assert not list(failures(2000, 20260302, tmp_path))

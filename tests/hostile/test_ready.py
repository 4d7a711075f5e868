"""What `check` calls ready, `report` builds: held for combinations of everything strange that is ready."""

import shutil
from pathlib import Path
from tempfile import TemporaryDirectory
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from lyewitness import pipeline
from lyewitness.document.themes import Theme
from lyewitness.store import store_of_user
from lyewitness.study.folder import read_study
from lyewitness.words.problems import StudyFolderError
from tests.hostile.making import Case, cases, make, sound_study

READY = [case for case in cases() if case.outcome in ("ready", "caution", "missing")]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the study that is changed, written once."""
    return sound_study(tmp_path_factory.mktemp("sound") / "study")


def build(sound: Path, changes: list[Case], daylight: Theme) -> bool:
    """Say whether a study with these changes is ready; where it is, its report must be built whole."""
    with TemporaryDirectory() as place:
        study = Path(place) / "study"
        shutil.copytree(sound, study)
        for change in changes:
            try:
                make(change, study)
            except (AssertionError, FileNotFoundError, IsADirectoryError, UnicodeDecodeError):
                continue  # an earlier change took away what this one changes
        reading = read_study(study)
        if reading.study is None:
            return False
        try:
            report = pipeline.compute(study, store=store_of_user())
        except StudyFolderError:
            return False
        rendered = pipeline.render(report, daylight, store=store_of_user())
        for name, data in rendered.files.items():
            if name.endswith(".svg"):
                ElementTree.fromstring(data)
    return True


@pytest.mark.slow
@settings(
    max_examples=4,
    phases=[Phase.generate],  # a whole report an example: a failing one is told as it is, not made smaller
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(changes=st.lists(st.sampled_from(READY), min_size=1, max_size=4, unique_by=lambda one: one.name))
def test_what_is_ready_is_built(sound: Path, daylight: Theme, changes: list[Case]) -> None:
    """Up to four strange things at once end in problems or in a whole report, never in a fault."""
    build(sound, changes, daylight)


@pytest.mark.parametrize(
    "name",
    [
        "replace: an exploration to 1e5 h",
        "replace: a limit of 1e12",
        "replace: a limit of 1e5 percent",
        "picture: one pixel wide",
        "counted: one pixel wide",
        "counted: one pixel high",
        "counted: a tower",
        "replace: a control sign in a name",
    ],
)
def test_what_once_failed_is_built(sound: Path, daylight: Theme, name: str) -> None:
    """Limits far beyond the data, explorations of a decade and lines for pictures are drawn."""
    assert build(sound, [case for case in READY if case.name == name], daylight)

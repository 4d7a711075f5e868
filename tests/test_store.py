"""What is kept between builds: believed only where it is whole and of the very same source."""

import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from lyewitness import pipeline
from lyewitness.cli import main
from lyewitness.document.blocks import Part
from lyewitness.document.themes import load_theme
from lyewitness.figures import drawing
from lyewitness.figures.records import Figure
from lyewitness.figures.style import Look
from lyewitness.figures.traces import trace_figure
from lyewitness.findings.records import Report
from lyewitness.outputs import pages
from lyewitness.rehearsal.writing import write_study
from lyewitness.reissue import keep_report, reissued, source_of
from lyewitness.store import NO_STORE, Store, digest_of, folder_digest, remembered
from lyewitness.study.records import Injection
from lyewitness.traces.records import Trace
from lyewitness.words.names import slug
from lyewitness.words.problems import StudyFolderError
from lyewitness.workers import done_in_turn
from tests.lean_study import lean_scenario

SEVEN = (0.0, 4.0, 30.0, 52.0, 60.0, 90.0, 120.0)
"""Hours of injections: seven on a column have every kind of record, figure and page that twenty have."""


def trace() -> Trace:
    """Return a record with arrays in it."""
    signal = np.sin(np.arange(50.0))
    return Trace("a.csv", "", np.arange(50.0), signal, "mAU", "min", "delimited text", "0" * 64)


def entries(store: Store) -> list[Path]:
    """Return the files of a store."""
    assert store.folder is not None
    return [path for path in store.folder.rglob("*") if path.is_file()]


def test_equal_content_has_one_digest() -> None:
    """Arrays, mappings and words digest by what they hold, whether they are one thing or two."""
    word = "".join(["por", "ous"])
    assert digest_of([word, word], trace()) == digest_of(["porous", "por" + "ous"], trace())
    assert digest_of(MappingProxyType({"a": 1.0})) == digest_of(MappingProxyType({"a": 1.0}))
    assert digest_of(trace()) != digest_of(replace(trace(), signal=np.cos(np.arange(50.0))))


def test_a_record_comes_back_as_it_was(tmp_path: Path) -> None:
    """What is recalled equals what was made, its arrays are read-only, and it is made once."""
    store, made = Store(tmp_path), []

    def make() -> tuple[object, ...]:
        made.append(1)
        return trace(), MappingProxyType({"on": date(2026, 5, 3)}), np.float64(0.1)

    first = store.made("kind", ("source",), make)
    second = store.made("kind", ("source",), make)
    assert len(made) == 1
    assert digest_of(first) == digest_of(second)
    again = second[0]
    assert isinstance(again, Trace)
    assert not again.signal.flags.writeable
    assert type(second[2]) is np.float64


@pytest.mark.parametrize("place", [0, 30, 60, 100, -1])
def test_a_damaged_entry_is_made_anew(tmp_path: Path, place: int) -> None:
    """One changed byte anywhere, or an end that is missing, and the entry is not believed."""
    store = Store(tmp_path)
    store.made("kind", (1,), lambda: ["kept"] * 30)
    (path,) = entries(store)
    held = bytearray(path.read_bytes())
    held[place] ^= 0x20
    for broken in (bytes(held), path.read_bytes()[:-3], b"", b"something else"):
        path.write_bytes(broken)
        assert store.made("kind", (1,), lambda: ["made anew"]) == ["made anew"]
        path.unlink()
        store.made("kind", (1,), lambda: ["kept"] * 30)


def test_an_entry_of_another_key_is_not_believed(tmp_path: Path) -> None:
    """A whole entry that was put in the place of another one is not taken for it."""
    store = Store(tmp_path)
    store.made("kind", ("a",), lambda: "a")
    (of_a,) = entries(store)
    store.made("kind", ("b",), lambda: "b")
    (of_b,) = set(entries(store)) - {of_a}
    of_b.write_bytes(of_a.read_bytes())
    assert store.made("kind", ("b",), lambda: "b anew") == "b anew"


def test_an_entry_cannot_name_foreign_code(tmp_path: Path) -> None:
    """An entry with a true checksum that asks for a function is refused, and nothing of it runs."""
    store, witness = Store(tmp_path), tmp_path / "witness"

    class Bad:
        def __reduce__(self) -> tuple[object, tuple[Path]]:
            return Path.touch, (witness,)

    key = digest_of("key")
    store.keep(key, Bad())
    assert entries(store)
    assert store.recall(key) == (False, None)
    assert not witness.exists()


def test_the_store_stays_within_its_bound(tmp_path: Path) -> None:
    """What was not used for longest goes first, and what was used last stays."""
    store = Store(tmp_path)
    for number in range(20):
        store.made("kind", (number,), lambda: bytes(10_000))
    store.trim(100_000)
    assert 0 < sum(path.stat().st_size for path in entries(store)) <= 100_000


def test_a_store_that_cannot_be_written_is_done_without(tmp_path: Path) -> None:
    """Where a file lies in the place of the folder, everything is made and nothing said."""
    (tmp_path / "file").write_bytes(b"")
    assert Store(tmp_path / "file").made("kind", (1,), lambda: 5) == 5


def test_a_link_counts_by_where_it_leads(tmp_path: Path) -> None:
    """A file and a link to an equal one are told apart, for a report may refuse the link."""
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "file").write_text("same")
    plain = folder_digest(tmp_path / "a")
    (tmp_path / "other").write_text("same")
    (tmp_path / "a" / "file").unlink()
    (tmp_path / "a" / "file").symlink_to(tmp_path / "other")
    assert folder_digest(tmp_path / "a") != plain


def test_what_was_made_of_equal_arguments_is_remembered_up_to_a_number() -> None:
    """Equal arrays, not only the same one, are worked on once, until others were asked for since."""
    worked: list[float] = []

    @remembered(2)
    def doubled(values: np.ndarray, add: float = 0.0) -> np.ndarray:
        worked.append(float(values[0]))
        return 2 * values + add

    for start in (1.0, 2.0, 1.0, 3.0, 2.0):
        assert doubled(np.array([start])) == [2 * start]
    assert doubled(np.array([2.0]), add=1.0) == [5.0]
    assert worked == [1.0, 2.0, 3.0, 2.0, 2.0]


def test_workers_keep_the_order_and_pass_errors_on() -> None:
    """Any number of workers gives the same list; an exception of one is raised when its turn comes."""
    tasks = [lambda number=number: number * number for number in range(40)]
    assert list(done_in_turn(tasks, 3)) == list(done_in_turn(tasks, 1)) == [n * n for n in range(40)]

    def fail() -> int:
        raise StudyFolderError(())

    with pytest.raises(StudyFolderError):
        list(done_in_turn([*tasks, fail], 2))


def built(folder: Path, store: Store, jobs: int) -> dict[str, bytes]:
    """Return the files of a site."""
    report = pipeline.compute(folder, store=store, jobs=jobs)
    return dict(pipeline.render(report, load_theme("daylight"), store=store, jobs=jobs).files)


@pytest.mark.slow
def test_the_bytes_do_not_depend_on_what_was_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a store, with an empty one, with a full one, with workers: one report; after a change, too.

    And of the injections' pages and figures none are made again but those of the column that has changed.
    """
    study, store = tmp_path / "study", Store(tmp_path / "kept")
    write_study(replace(lean_scenario(), schedule_h=SEVEN), study)
    bare = built(study, NO_STORE, 1)
    assert built(study, store, 1) == bare
    assert built(study, store, 2) == bare
    assert built(study, Store(tmp_path / "kept", used=False), 2) == bare
    rows = (study / "injections.csv").read_text().splitlines()
    (study / "injections.csv").write_text("\n".join(rows[:-1]) + "\n")
    (study / "notes").mkdir(exist_ok=True)
    (study / "notes" / "new.md").write_text("A word about [[column:H1]].\n")
    made: set[str] = set()
    write, draw = pages.rendered, trace_figure

    def written(part: Part, *further: Any) -> str:
        made.add(part.path)
        return write(part, *further)

    def drawn(report: Report, look: Look, injection: Injection, *further: Any) -> Figure:
        made.add(f"injections/{slug(injection.id)}.html")
        return draw(report, look, injection, *further)

    with monkeypatch.context() as watched:
        watched.setattr(pages, "rendered", written)
        watched.setattr(drawing, "trace_figure", drawn)
        changed = built(study, store, 1)
    assert changed != bare
    assert changed == built(study, NO_STORE, 1)
    column = rows[-1].split(",")[rows[0].split(",").index("column")]
    of_injections = {
        path for path in made if path.startswith("injections/") and path != "injections/index.html"
    }
    assert of_injections
    assert all(slug(column) in path for path in of_injections)


def test_one_injection_less_changes_what_was_measured_on_its_own_column_alone(tmp_path: Path) -> None:
    """What was measured on the other columns is the same to the last bit."""
    study, store = tmp_path / "study", Store(tmp_path / "kept")
    write_study(replace(lean_scenario(), schedule_h=SEVEN), study)
    before = pipeline.compute(study, store=store)
    rows = (study / "injections.csv").read_text().splitlines()
    (study / "injections.csv").write_text("\n".join(rows[:-1]) + "\n")
    after = pipeline.compute(study, store=store)
    last = before.study.injections[-1].column

    def of_column(report: Report, column: str) -> str:
        return digest_of([row for row in report.measurements.rows if row.column == column])

    same = {one.id: of_column(before, one.id) == of_column(after, one.id) for one in before.study.columns}
    assert same == {one.id: one.id != last for one in before.study.columns}


def test_a_survey_is_of_how_the_file_was_read(tmp_path: Path) -> None:
    """The same bytes read with another interval between points are another trace, and surveyed anew."""
    study, store = tmp_path / "study", Store(tmp_path / "kept")
    write_study(replace(lean_scenario(), schedule_h=SEVEN, dialects=("comma, minutes",)), study)
    for file in (study / "chromatograms").iterdir():
        signal = [line.rpartition(",")[2] for line in file.read_text().splitlines() if line[:1].isdigit()]
        file.write_text("\n".join([*signal, ""]))
    settings = (study / "study.toml").read_text()

    def at(interval: str) -> str:
        exports = f'\n[exports]\nsampling_interval_s = {interval}\nsignal_unit = "mAU"\n'
        (study / "study.toml").write_text(settings + exports)
        return digest_of(pipeline.compute(study, store=store).measurements)

    slow = at("0.5")
    assert at("0.4") != slow
    assert at("0.5") == slow
    assert digest_of(pipeline.compute(study).measurements) == slow


def test_checking_and_replying_take_what_was_computed_before(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both say the same the second time and with `--fresh`, and measure nothing when nothing has changed."""
    study, reply = tmp_path / "study", tmp_path / "reply"
    write_study(lean_scenario(), study)
    said: list[tuple[int, str, bytes]] = []
    for further in ([], [], ["--fresh"]):
        with monkeypatch.context() as changed:
            if said and not further:
                changed.setattr("lyewitness.peaks.measuring.outline_peaks", None)
            code = main(["check", str(study), *further])
            assert main(["answer", str(study), "--into", str(reply), *further]) == 0
        said.append((code, capsys.readouterr().out, reply.with_suffix(".html").read_bytes()))
    assert said[0] == said[1] == said[2]


def test_a_changed_note_loads_nothing_that_draws_or_fits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """What has all its figures and curves from the store can spare half the time that loading takes."""
    study, report = tmp_path / "study", tmp_path / "report"
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "kept"))
    write_study(replace(lean_scenario(), schedule_h=SEVEN), study)
    words = ["report", str(study), "--into", str(report), "--no-pdf"]
    assert main(words) == 0
    capsys.readouterr()
    (study / "notes").mkdir(exist_ok=True)
    (study / "notes" / "new.md").write_text("A word about [[column:H1]].\n")
    probe = f"import sys; from lyewitness.cli import main; assert main({words!r}) == 0\n"
    probe += (
        "print([name for name in ('matplotlib', 'scipy.ndimage', 'scipy.optimize') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_an_unchanged_report_is_given_out_again(tmp_path: Path) -> None:
    """The same study gives its report without a build; one more byte in a note, a changed setting: none."""
    study, store, target = tmp_path / "study", Store(tmp_path / "kept"), tmp_path / "report"
    study.mkdir()
    (study / "study.toml").write_text('extends = "../house.toml"\n')
    (tmp_path / "house.toml").write_text("")
    key = source_of(study, "daylight", with_pdf=False).key
    assert reissued(store, key, target) is None
    keep_report(store, key, "S", (), {"index.html": b"one", "data/a.csv": b"two"})
    assert reissued(store, key, target) == ()
    assert (target / "data" / "a.csv").read_bytes() == b"two"
    (target / "index.html").unlink()
    assert reissued(store, key, target) == ()
    assert (target / "index.html").read_bytes() == b"one"
    assert source_of(study, "daylight", with_pdf=True).key != key
    assert source_of(study, "journal", with_pdf=False).key != key
    (tmp_path / "house.toml").write_text("[limits]\n")
    assert source_of(study, "daylight", with_pdf=False).key != key
    assert source_of(study, str(tmp_path), with_pdf=False).key == ""

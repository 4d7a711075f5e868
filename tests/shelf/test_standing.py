"""What counts on a shelf: copies once, the superseded not, a guarded column as another type."""

import json
import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lyewitness.shelf.alike import alike
from lyewitness.shelf.asking import ask
from lyewitness.shelf.contradictions import contradictions
from lyewitness.shelf.gathering import Shelf, gather
from lyewitness.shelf.records import ColumnLife, Shelved, ShelvedColumn, ShelvedOrder
from lyewitness.shelf.site import site
from lyewitness.shelf.standing import standing, told_otherwise
from tests.shelf.making import Told, lay_down

LIFE = ColumnLife(
    "A", "polymer", "polymer", "phenyl", "L1", "pyrrolidine", 20.0, "acetonitrile", 50.0, 11.0, 10.3,
    "toluene", "neutral", "plate_number_half_height", "at_least_percent = 80", 100.0, 90.0, 110.0, "reached",
)  # fmt: skip
OPEN = replace(LIFE, life_h=None, low_h=400.0, high_h=None, state="not reached")
UNMEASURED = replace(LIFE, life_h=None, low_h=None, high_h=None, state="not measured")
SILICA: dict[str, Any] = {"particle": "porous silica", "bonding": "C18", "group": "silica"}
GUARD = "a guard column, renewed every week"


def told_by(study: str, exports: dict[str, str], lives: Sequence[ColumnLife] = (), **more: object) -> Shelved:
    """Return a study of columns with these exports, a letter each; every column has a life."""
    kept = lives or tuple(replace(LIFE, column=name, life_h=50.0 + ord(name)) for name in exports)
    stated = {one.column: (("flow_mL_min", f"0.{len(study)} mL/min"), ("group", one.group)) for one in kept}
    columns = tuple(ShelvedColumn(name, stated[name], tuple(own)) for name, own in exports.items())
    every = tuple(sorted(set("".join(exports.values()))))
    known = {"columns": columns, "exports": every, "lives": kept, **more}
    return Shelved(study, f"Study {study}", study, f"{study}/index.html", **known)  # type: ignore[arg-type]


FIRST = told_by("one", {"A": "abcd", "B": "efgh"})


@pytest.mark.parametrize(
    ("other", "counted"),
    [
        pytest.param({"A": "abcd", "B": "efgh"}, "", id="every export"),
        pytest.param({"X": "efgh", "Y": "abcd"}, "", id="columns under other names"),
        pytest.param({"A": "abyz", "B": "efwx"}, "", id="half of the exports"),
        pytest.param({"A": "ab"}, "", id="a part of one column"),
        pytest.param({"A": "abcd", "C": "wxyz"}, "C", id="one column is new"),
        pytest.param({"C": "awxyz"}, "C", id="a blank in common"),
        pytest.param({"C": "wxyz", "D": "klmn"}, "CD", id="nothing in common"),
    ],
)
def test_the_same_exports_count_once_whatever_the_study_is_called(
    other: dict[str, str], counted: str
) -> None:
    """A column counts where the shelf has not half of its exports already, in either order of reading."""
    second = told_by("two", other)
    for studies in ((FIRST, second), (second, FIRST)):
        stands = standing(studies)
        lives = {(study.id, life.column) for study in stands.counting for life in study.lives}
        assert lives == {("one", "A"), ("one", "B"), *(("two", column) for column in counted)}
        assert [one.study.id for one in stands.beneath] == ([] if counted else ["two"])
        ((_, held),) = alike(stands.counting).items()
        assert len(held) == 2 + len(counted)


def test_a_report_that_does_not_say_whose_an_export_is_is_held_as_a_whole() -> None:
    """Reports of earlier versions tell of all exports alone: half of those make a copy, a few do not."""
    columns = (ShelvedColumn("A", ()), ShelvedColumn("B", ()))
    old = replace(told_by("old", {"A": "abcd", "B": "efgh"}), columns=columns)
    lone = replace(told_by("lone", {"A": "abwxyz", "B": "klmnop"}), columns=columns)
    assert [one.study.id for one in standing((FIRST, old)).beneath] == ["old"]
    assert not standing((FIRST, lone)).beneath


def test_lives_alike_to_the_last_figure_are_those_of_one_column() -> None:
    """Exports that were saved anew have other bytes, and the same lives; one alike life may be chance."""
    lives = (
        replace(LIFE, life_h=33.123456789),
        replace(LIFE, life_h=41.987654321, metric="retention_factor"),
    )
    first, again = told_by("one", {"A": "abcd"}, lives), told_by("two", {"A": "wxyz"}, lives)
    assert [one.study.id for one in standing((first, again)).beneath] == ["two"]
    other = told_by("two", {"A": "wxyz"}, (lives[0], replace(lives[1], life_h=40.0)))
    assert not standing((first, other)).beneath


def test_what_a_copy_states_otherwise_is_told() -> None:
    """The setting with both values, and of some columns their ids."""
    lives = (replace(LIFE, column="A", group="silica"), replace(LIFE, column="B"))
    copy = told_by("three", {"A": "abcd", "B": "efgh"}, lives)
    (one,) = standing((FIRST, copy)).beneath
    assert one.by.id == "one"
    assert told_otherwise(one) == (
        "flow rate 0.3 mL/min against 0.5 mL/min",
        "group polymer against silica (A)",
    )


LATER = told_by("new", {"A": "klmn"}, supersedes="one")


@pytest.mark.parametrize(
    ("studies", "counting", "why"),
    [
        pytest.param((FIRST, LATER), ["new"], ["superseded"], id="superseded"),
        pytest.param((FIRST, LATER, told_by("newest", {"A": "wxyz"}, supersedes="new")), ["newest"],
                     ["superseded", "superseded"], id="a chain"),
        pytest.param((FIRST, replace(LATER, damage="torn")), ["one"], [], id="by a damaged one"),
        pytest.param((replace(FIRST, supersedes="new"), LATER), ["one", "new"], [], id="each by the other"),
        pytest.param((replace(FIRST, supersedes="one"),), ["one"], [], id="by itself"),
        pytest.param((FIRST, replace(FIRST, place="two", revision="2")), ["one"], ["revised"],
                     id="a later revision"),
        pytest.param((replace(FIRST, revision="2"), replace(FIRST, place="x", revision="10")), ["one"],
                     ["revised"], id="numbers, not letters"),
        pytest.param((FIRST, replace(FIRST, place="bag.zip")), ["one"], ["copied"], id="kept twice"),
    ],
)  # fmt: skip
def test_the_earlier_study_stands_beneath_its_successor(
    studies: tuple[Shelved, ...], counting: list[str], why: list[str]
) -> None:
    """One answer for each that counts, and beneath it whatever it takes the place of."""
    stands = standing(studies)
    assert [one.id for one in stands.counting] == counting
    assert [one.why for one in stands.beneath] == why
    assert all(one.by.place in {study.place for study in stands.counting} for one in stands.beneath)
    hits = ask("polymer at 50 °C", studies)
    assert sorted(hit.study.id for hit in hits) == sorted(counting)
    assert sum(len(hit.beneath) for hit in hits) == len(why)


def test_a_ring_of_three_supersedes_nobody() -> None:
    """Who is the later one cannot be known: all count."""
    ring = tuple(
        told_by(one, {one: exports}, supersedes=other)
        for one, other, exports in (("x", "y", "abcd"), ("y", "z", "efgh"), ("z", "x", "klmn"))
    )
    assert len(standing(ring).counting) == 3


def test_a_column_behind_a_guard_is_another_type() -> None:
    """Its lives stand apart, clash with none of the unguarded, and the type says what stood ahead."""
    guarded = told_by("two", {"C": "klmn"}, (replace(LIFE, column="C", life_h=900.0, low_h=880.0,
                                                     high_h=920.0, upstream=GUARD),))  # fmt: skip
    studies = (FIRST, guarded)
    kinds = {key[0] for key in alike(studies)}
    assert kinds == {"polymer phenyl", f"polymer phenyl behind ‘{GUARD}’"}
    assert not list(contradictions(studies))
    bare = replace(guarded, lives=(replace(guarded.lives[0], upstream=""),))
    assert list(contradictions((FIRST, bare)))
    (first, second) = ask("polymer phenyl with a guard column", studies)
    assert first.study.id == "two"
    assert not first.but
    assert second.but == (
        "something ahead of the column was asked, here nothing is told to have stood there",
    )
    (alone,) = ask("polymer phenyl", (guarded,))
    assert alone.but == (f"all its columns stood behind ‘{GUARD}’",)


def test_orders_of_guarded_columns_are_those_of_their_types() -> None:
    """That silica outlasts a polymer behind a guard contradicts no order of it without one."""
    silica = replace(LIFE, column="S", **SILICA)
    order = ShelvedOrder("polymer", "silica", "toluene", "plate_number_half_height")
    opposite = ShelvedOrder("silica", "polymer", "toluene", "plate_number_half_height")
    one = told_by("one", {"A": "abcd", "S": "efgh"}, (LIFE, silica), orders=(order,))
    other = told_by("two", {"A": "klmn", "S": "wxyz"}, (LIFE, silica), orders=(opposite,))
    assert len(list(contradictions((one, other)))) == 1
    behind = replace(other, lives=(LIFE, replace(silica, upstream=GUARD)))
    assert not list(contradictions((one, behind)))


def test_what_differed_is_all_that_studies_state() -> None:
    """Flow rate and organic share stand among it, and of the test what the stress does not tell already."""
    far = replace(LIFE, column="C", life_h=900.0, low_h=880.0, high_h=920.0)
    other = told_by("other", {"C": "klmn"}, (far,))
    other = replace(
        other,
        columns=(
            replace(other.columns[0], settings=(*other.columns[0].settings, ("organic_percent", "70 %"))),
        ),
        settings=(("test organic_percent", "70 %"), ("test flow_mL_min", "2 mL/min")),
    )
    (clash,) = contradictions((FIRST, other))
    assert "flow rate 0.3 mL/min against 0.5 mL/min" in clash.told
    assert "organic share not stated against 70 %" in clash.told
    assert "organic share of the injections" not in clash.told
    assert "flow rate of the injections not stated against 2 mL/min" in clash.told


def shelved(folder: Path, study: str, exports: str, *, supersedes: str = "") -> None:
    """Lay down a report whose provenance names its exports, and whose study says whose they are."""
    told = Told(
        study, "polymer", "phenyl", "pyrrolidine", 50.0, 11.0, 10.3, "L1", (80.0, 90.0),
        supersedes=supersedes,
    )  # fmt: skip
    lay_down(told, folder / study)
    files = {f"chromatograms/{name}.csv": name * 64 for name in exports}
    provenance = folder / study / "data/provenance.json"
    provenance.write_text(json.dumps(json.loads(provenance.read_bytes()) | {"files": files}))
    words = folder / study / "data/study.json"
    kept = json.loads(words.read_bytes())
    half = len(exports) // 2
    owners = {"1": exports[:half], "2": exports[half:]}
    kept["exports"] = {
        one["id"]: [f"chromatograms/{name}.csv" for name in owners[one["id"][-1]]] for one in kept["columns"]
    }
    words.write_text(json.dumps(kept))


def refuse(_folder: Path) -> None:
    """Stand for measuring, which no finished report needs."""
    raise AssertionError("nothing is measured here")


def test_the_pages_say_what_counts_once_and_what_is_superseded(tmp_path: Path) -> None:
    """Beneath its successor, with a note at the copy and on the page of the type; two studies, not four."""
    folder = tmp_path / "studies"
    folder.mkdir()
    shelved(folder, "aa-01", "abcd")
    shelved(folder, "bb-01", "abcd")
    shelved(folder, "cc-01", "1234")
    shelved(folder, "dd-01", "5678", supersedes="cc-01")

    shelf = gather(folder, {}, refuse)  # type: ignore[arg-type]
    files = {
        name: data.decode("utf-8") for name, data in site(shelf, "../").items() if name.endswith(".html")
    }
    index = files["index.html"]
    assert index.count("<li ") == 3
    assert "One further study has been superseded, and stands beneath its successor." in index
    assert "One study of this list tells of measurements that another one has: these count once." in index
    assert "(study cc-01), which has been superseded and counts nowhere." in index
    assert "(study bb-01), and count once." in index
    assert "(study aa-01), and count there." in index
    (kind,) = [page for name, page in files.items() if name.startswith("types/")]
    assert "Four columns of two studies reached the limit" in kind
    assert "<h1>polymer phenyl in pyrrolidine: plate number (half height) of toluene</h1>" in kind
    assert "study bb-01, which is aa-01" in kind
    assert "bb-01/index.html" not in kind
    again = gather(folder, json.loads(json.dumps(shelf.memory)), refuse)  # type: ignore[arg-type]
    assert (again.read_anew, again.studies) == (0, shelf.studies)


@pytest.mark.parametrize(
    ("lives", "told"),
    [
        ((LIFE, LIFE), "Two columns of one study reached the limit (at least 80\u2009% of its reference)."),
        ((LIFE, OPEN), "One column of one study reached the limit (at least 80\u2009% of its reference); one "
                       "column of one study did not, or not surely."),
        ((OPEN, OPEN), "None of the two columns of one study reached the limit (at least 80\u2009% of its"),
        ((LIFE, UNMEASURED), "One column of one study reached the limit (at least 80\u2009% of its"),
        ((UNMEASURED, UNMEASURED), ""),
    ],
)  # fmt: skip
def test_a_type_counts_what_was_measured_and_reached(lives: tuple[ColumnLife, ...], told: str) -> None:
    """A limit of what nobody logged makes no type, and nobody reads of no columns of no studies."""
    kept = tuple(replace(life, column=name) for life, name in zip(lives, "AB", strict=True))
    study = told_by("one", {"A": "abcd", "B": "efgh"}, kept)
    pages = [
        data.decode("utf-8") for name, data in site(Shelf((study,), {}), "../").items() if "types/" in name
    ]
    assert len(pages) == bool(told)
    assert all(told in page for page in pages)
    assert not any("No columns" in page for page in pages)


@pytest.mark.parametrize(
    "copy",
    [
        pytest.param(replace(FIRST, place="one again", page="one again/index.html"), id="byte for byte"),
        pytest.param(replace(FIRST, id="a", place="a", page="a/index.html"), id="under another id"),
        pytest.param(replace(FIRST, id="z", place="z", page="z/index.html"), id="under a later id"),
    ],
)
@pytest.mark.parametrize("same_exports", [True, False])
def test_a_copy_of_a_superseded_study_is_superseded_with_it_and_told_once(
    copy: Shelved, same_exports: bool
) -> None:
    """Whoever mends a study need not find its copies first: none of them counts beside the mended one."""
    later = told_by("mended", {"A": "abcd", "B": "efgh"} if same_exports else {"A": "klmn"}, supersedes="one")
    stands = standing((copy, FIRST, later))
    assert [study.id for study in stands.counting] == ["mended"]
    ((beneath),) = stands.beneath
    assert (beneath.study.place, beneath.why) == ("one", "superseded")
    assert [one.place for one in beneath.again] == [copy.place]
    (hit,) = ask("Study", (copy, FIRST, later)) or ask("polymer", (copy, FIRST, later))
    assert [told for told in hit.beneath if "supersedes" in told] == [
        f"It supersedes ‘Study one’ (study one, one), which is no answer any more, nor is its copy "
        f"({copy.place})."
    ]


def test_what_takes_the_place_of_a_study_is_no_copy_of_it() -> None:
    """A chain of editions made of the same exports is told edition by edition."""
    second = told_by("two", {"A": "abcd", "B": "efgh"}, supersedes="one")
    third = told_by("three", {"A": "abcd", "B": "efgh"}, supersedes="two")
    stands = standing((FIRST, second, third))
    assert [study.id for study in stands.counting] == ["three"]
    assert [(one.study.id, one.again) for one in stands.beneath] == [("one", ()), ("two", ())]


def test_the_page_counts_a_superseded_study_and_its_copy_once(tmp_path: Path) -> None:
    """One has been superseded, not two; the copy is no study of the list."""
    folder = tmp_path / "studies"
    shelved(folder, "cc-01", "abcd")
    shutil.copytree(folder / "cc-01", folder / "copy")
    shelved(folder, "dd-01", "5678", supersedes="cc-01")
    index = site(gather(folder, {}, refuse), "../studies/")["index.html"].decode()  # type: ignore[arg-type]
    assert "One further study has been superseded, and stands beneath its successor." in index
    assert "It stands here again as" in index
    assert index.count('<li id="study-') == 1

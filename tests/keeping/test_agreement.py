"""A bag that was forged with its hashes contradicts itself, whichever version it claims."""

import hashlib
import io
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import pytest
import xlsxwriter

from lyewitness import RELEASES, __version__
from lyewitness.cli import main
from lyewitness.findings.records import Report
from lyewitness.findings.revised import ClaimChange
from lyewitness.keeping.agreement import _sheets, contradictions
from lyewitness.keeping.comparing import issued_at
from lyewitness.keeping.discrepancies import Altered, Held, Rebuilt, held_against
from lyewitness.keeping.packing import Bag, NoBagError, packed, read_bag
from lyewitness.keeping.verifying import Difference, Outcome, Verdict, told, verify
from lyewitness.rehearsal.scenario import small_scenario
from lyewitness.rehearsal.writing import write_study
from lyewitness.shelf.gathering import gather
from tests.keeping.test_bags import FIRST, archived

Files = dict[str, bytes]
DATA = "data/report/data"


@pytest.fixture(scope="module")
def bag(tmp_path_factory: pytest.TempPathFactory) -> Bag:
    """Return a bag of a small study."""
    folder = tmp_path_factory.mktemp("kept") / "study"
    write_study(small_scenario(), folder)
    return read_bag(archived(folder, folder.parent / "bag"))


def renewed(files: Mapping[str, bytes]) -> Files:
    """Return the files with crate and manifests that bear the hashes of what they are now."""
    kept = dict(files)
    crate = json.loads(kept["data/ro-crate-metadata.json"])
    for one in crate["@graph"]:
        if one.get("sha512"):
            one["sha512"] = hashlib.sha512(kept[f"data/{one['@id']}"]).hexdigest()
    kept["data/ro-crate-metadata.json"] = f"{json.dumps(crate, ensure_ascii=False, indent=1)}\n".encode()
    payload = [len(data) for name, data in kept.items() if name.startswith("data/")]
    stated = f"Payload-Oxum: {sum(payload)}.{len(payload)}".encode()
    kept["bag-info.txt"] = re.sub(rb"Payload-Oxum: \S+", stated, kept["bag-info.txt"])
    for manifest, names in (
        ("manifest-sha512.txt", [name for name in kept if name.startswith("data/")]),
        ("tagmanifest-sha512.txt", ["bagit.txt", "bag-info.txt", "manifest-sha512.txt"]),
    ):
        lines = (f"{hashlib.sha512(kept[name]).hexdigest()}  {name}\n" for name in sorted(names))
        kept[manifest] = "".join(lines).encode()
    return kept


def put(name: str, pattern: str, by: str) -> Callable[[Files], None]:
    """Return a forgery: the first group of a pattern in one file becomes something else."""

    def forge(files: Files) -> None:
        text = files[name].decode("utf-8")
        found = re.search(pattern, text)
        assert found is not None
        files[name] = f"{text[: found.start(1)]}{by}{text[found.end(1) :]}".encode()

    return forge


FORGED = (
    ((put(f"{DATA}/claims.json", r'"text": "[^"]*?life ratio (\d)', "9"),), "claims.json says what no page"),
    ((put("data/report/index.html", r"columns: life ratio (\d)", "9"),), "prints"),
    ((put(f"{DATA}/study.json", r'"short": "[^"]*?(\d+)', "99"),), "study.json says what no page"),
    ((put(f"{DATA}/decline.csv", r"\nC1,[^\n]*?(\d+\.\d+)", "7.5"),), "in tables.xlsx"),
    ((put(f"{DATA}/provenance.json", r'"version": "([^"]*)"', "0.0.9"),), "bag-info.txt names version"),
    ((put("bag-info.txt", r"lyewitness ([\d.]+)", "0.0.9"),), "bag-info.txt names version 0.0.9"),
    ((put("data/README.md", r"by lyewitness ([\d.]+)\.\n", "0.0.9"),), "data/README.md names version 0.0.9"),
    ((put("data/report/audit.html", r"lyewitness ([\d.]+)", "0.0.9"),), "audit.html names version 0.0.9"),
    ((put(f"{DATA}/provenance.json", r'"numpy": "([^"]*)"', "1.0"),), "numpy"),
    ((put(f"{DATA}/provenance.json", r'"sha256": "([0-9a-f]{8})', "00000000"),), "another digest"),
    ((put("data/study/injections.csv", r",C1,(\d)", "8"),), "is not the file that the report read"),
    ((put(f"{DATA}/provenance.json", r'"fingerprint": "([0-9a-f]{4})', "0000"),), "fingerprint"),
)  # fmt: skip
"""What was changed with its hashes, and what the bag itself says against it."""


@pytest.mark.parametrize(("forgeries", "said"), FORGED, ids=range(len(FORGED)))
def test_what_was_forged_in_one_place_is_held_against_another(
    bag: Bag, forgeries: tuple[Callable[[Files], None], ...], said: str
) -> None:
    """Every hash agrees, and the bag contradicts itself all the same; nothing is measured for that."""
    files = dict(bag.files)
    for forge in forgeries:
        forge(files)
    forged = Bag(bag.place, renewed(files))
    verdict = verify(forged, compute=None)
    assert verdict.whole
    assert verdict.outcome == "broken"
    assert any(said in one for one in verdict.contradictions), verdict.contradictions
    assert any("contradicts itself" in line for line in told(verdict))


def test_honest_bags_are_at_one_with_themselves(bag: Bag) -> None:
    """What the program packs, and what its first version packed, contradicts itself nowhere."""
    assert contradictions(bag) == ()
    assert contradictions(read_bag(FIRST)) == ()
    assert verify(read_bag(FIRST), compute=None).outcome == "same"


def test_a_version_that_nobody_made_is_no_excuse(bag: Bag) -> None:
    """A bag that claims everywhere a version which the list of versions lacks is told to be of none."""
    files = dict(bag.files)
    for name, data in bag.files.items():
        if name.endswith((".html", ".json", ".md", "bag-info.txt")):
            files[name] = data.replace(__version__.encode(), b"9.9.9")
    found = contradictions(Bag(bag.place, renewed(files)))
    assert any(
        "version 9.9.9 of the program made it, which this one does not know of" in one for one in found
    )


def test_this_version_is_the_last_of_the_list() -> None:
    """A bag of today is known tomorrow."""
    assert RELEASES[-1] == __version__
    assert len(set(RELEASES)) == len(RELEASES)


PROGRAM = (("lyewitness, its files", "aaa", "bbb"),)
LIBRARY = (("numpy", "2.3.1", "2.4.6"),)
WORDS = Held(altered=("data/README.md",), texts=(Altered(("data/README.md",), "one", "two"),))
TOLD = replace(WORDS, restated=WORDS.altered)
SCRIPT = Held(altered=("data/report/theme/page.js",))
PICTURE = Held(altered=("data/report/report.pdf",))
CLAIM = ClaimChange("weaker", "q1", "claim", "one", "shown", "two", "indicated")
FIGURES = Difference("decline", "A", "life_h", "100.0000", "100.0001")
NUMBER = Difference("decline", "A", "life_h", "100", "101")


@pytest.mark.parametrize(
    ("verdict", "outcome"),
    [
        (Verdict(held=Held(same=9)), "same"),
        (Verdict(held=WORDS), "differs"),
        (Verdict(held=WORDS, versions=PROGRAM), "version"),
        (Verdict(held=WORDS, versions=LIBRARY), "differs"),
        (Verdict(held=TOLD, versions=LIBRARY), "same"),
        (Verdict(held=SCRIPT, versions=LIBRARY), "differs"),
        (Verdict(held=SCRIPT, versions=PROGRAM), "version"),
        (Verdict(held=PICTURE, versions=LIBRARY), "version"),
        (Verdict(held=PICTURE), "differs"),
        (Verdict(different=(NUMBER,), versions=PROGRAM), "version"),
        (Verdict(different=(NUMBER,), versions=LIBRARY), "differs"),
        (Verdict(different=(FIGURES,), versions=LIBRARY), "version"),
        (Verdict(different=(FIGURES,)), "differs"),
        (Verdict(claims=(CLAIM,), versions=LIBRARY), "differs"),
        (Verdict(held=Held(gone=("data/report/audit.html",)), versions=PROGRAM), "version"),
        (Verdict(contradictions=("a",), versions=PROGRAM), "broken"),
        (Verdict(missing=("a",)), "broken"),
        (Verdict(not_measured="today's program refuses the study", refused=True), "broken"),
    ],
)
def test_only_what_a_version_can_change_is_put_down_to_it(verdict: Verdict, outcome: Outcome) -> None:
    """Another program explains anything, a library drawings and last figures, no version nothing."""
    assert verdict.outcome == outcome
    assert verdict.holds is (outcome == "same")


@pytest.mark.slow
@pytest.mark.usefixtures("_measured_before")
def test_the_exit_code_tells_the_same_from_what_a_version_would_explain(
    bag: Bag, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """0 for the bag, also as another program made it alike; 7 where a page says something else then."""
    path = tmp_path / "bag.zip"
    path.write_bytes(packed(bag.files, path.name))
    assert main(["--quiet", "verify", str(path)]) == 0
    files = dict(bag.files)
    digest = json.loads(files[f"{DATA}/provenance.json"])["builder"]["sha256"].encode()
    for name, data in bag.files.items():
        if name.startswith("data/report/"):
            files[name] = data.replace(digest, b"0" * 64)
    path.write_bytes(packed(renewed(files), path.name))
    capsys.readouterr()
    code = main(["--quiet", "verify", str(path)])
    assert (code, "nothing differs but that they are told" in capsys.readouterr().out) == (0, True)
    put("data/report/cautions.html", r"<p[^>]*>([^<]{5})", "Nothing ")(files)
    path.write_bytes(packed(renewed(files), path.name))
    assert main(["--quiet", "verify", str(path)]) == 7
    said = capsys.readouterr().out
    assert "which may explain what differs: lyewitness, its files 000000000000 then" in said
    assert "only a hash that was kept elsewhere tells" in said


def test_a_bag_that_contradicts_itself_counts_nowhere(bag: Bag, tmp_path: Path) -> None:
    """It stands on a shelf as damaged, and no report is held against it."""
    files = dict(bag.files)
    put(f"{DATA}/claims.json", r'"text": "[^"]*?life ratio (\d)', "9")(files)
    (tmp_path / "studies").mkdir()
    path = tmp_path / "studies/bag.zip"
    path.write_bytes(packed(renewed(files), path.name))
    (held,) = gather(tmp_path / "studies", {}, lambda _: pytest.fail("nothing is measured")).studies
    assert held.damage.startswith("The bag contradicts itself: claims.json says")
    with pytest.raises(NoBagError, match="contradicts itself"):
        issued_at(path, lambda _: pytest.fail("nothing is computed"))


def test_the_verdict_says_that_nothing_differs_but_the_versions() -> None:
    """Whoever verifies with a later version need not guess whether a sentence changed."""
    verdict = Verdict(held=TOLD, versions=LIBRARY)
    assert "nothing differs but that they are told" in "\n".join(told(verdict))
    worse = replace(verdict, held=WORDS)
    assert "which does not explain what differs" in "\n".join(told(worse))


def test_a_share_of_nothing_is_none() -> None:
    """What was nothing and is something is told without a share of many hundreds of figures."""
    assert Difference("decline", "A", "rate_per_h", "0", "0.1").share is None
    assert Difference("decline", "A", "rate_per_h", "2", "3").share == 0.5


def test_files_that_tell_other_versions_alone_are_known_byte_for_byte() -> None:
    """The versions of then in the words of now: what is another beside them is another."""
    then = {"data/a.json": b'{"numpy": "2.3.1", "life": 5}', "data/b.html": b"<p class='x'>numpy 2.3.1"}
    now = {"data/a.json": b'{"numpy": "2.4.6", "life": 5}', "data/b.html": b"<p class='y'>numpy 2.4.6"}
    held = held_against(then, Rebuilt(now), (("2.3.1", "2.4.6"),))
    assert held.altered == ("data/a.json", "data/b.html")
    assert held.restated == ("data/a.json",)


@pytest.mark.parametrize("in_rows", [True, False])
def test_a_workbook_is_read_whichever_way_its_texts_are_kept(in_rows: bool) -> None:
    """Texts lie in the cells, or in a list that the cells point at: both are in the standard."""
    held = io.BytesIO()
    book = xlsxwriter.Workbook(held, {"in_memory": True, "constant_memory": in_rows})
    sheet = book.add_worksheet("lives")
    for row, cells in enumerate((("column", "life_h"), ("A & B", 33.25), ("", 7))):
        for place, cell in enumerate(cells):
            sheet.write(row, place, cell)
    book.close()
    ((name, rows),) = _sheets(held.getvalue())
    assert name == "lives"
    told = [{place: cell for place, cell in row.items() if cell} for row in rows]
    assert told == [{0: "column", 1: "life_h"}, {0: "A & B", 1: "33.25"}, {1: "7"}]


def forged_alike(bag: Bag) -> Bag:
    """Return a bag whose every 'three' claims and pages say something else, and whose hashes all agree."""
    files = dict(bag.files)
    claims = json.loads(files[f"{DATA}/claims.json"])["claims"]
    word = re.search(r"life ratio (\d[^ ,]*)", " ".join(one["text"] for one in claims))
    assert word is not None
    said, lie = f"life ratio {word[1]}".encode(), b"life ratio 9.9"
    for name, data in bag.files.items():
        if name.endswith((".html", ".json", ".md", ".js", ".csv", ".txt")) and name.startswith("data/report"):
            files[name] = data.replace(said, lie)
    assert files != dict(bag.files)
    return Bag(bag.place, renewed(files))


def test_only_a_seal_that_was_kept_elsewhere_tells_a_bag_that_was_forged_alike(bag: Bag) -> None:
    """Its bytes agree with its lists and its claims with its pages: the seal is another, and it says so."""
    forged = forged_alike(bag)
    unsealed = verify(forged, compute=None)
    assert unsealed.outcome == "same"
    assert any("Whoever changed claims, tables, pages and all their hashes" in one for one in told(unsealed))
    seal = verify(bag, compute=None).seals.seal
    assert seal == hashlib.sha256(bag.files["tagmanifest-sha512.txt"]).hexdigest()
    held = verify(forged, compute=None, given=seal)
    assert held.outcome == "broken"
    assert any("is neither: this is another bag" in one for one in told(held))
    kept = verify(bag, compute=None, given=seal)
    assert kept.outcome == "same"
    assert not any("Whoever changed" in one for one in told(kept))


@pytest.mark.parametrize("typed", ["{}", "files {}", " {} "])
def test_the_fingerprint_of_a_foot_is_held_against_the_files_themselves(bag: Bag, typed: str) -> None:
    """It is made of the study's bytes, not read where a forger may have put it; it says nothing of pages."""
    known = json.loads(bag.files[f"{DATA}/provenance.json"])["fingerprint"]
    verdict = verify(bag, compute=None, given=typed.format(known))
    assert verdict.seals.is_ == "fingerprint"
    assert any("It says nothing of tables and pages." in one for one in told(verdict))
    files = dict(bag.files)
    put("data/study/injections.csv", r",C1,(\d)", "8")(files)
    assert verify(Bag(bag.place, renewed(files)), compute=None, given=known).outcome == "broken"


def test_a_bag_of_another_hash_is_not_measured(bag: Bag) -> None:
    """Where the hash that was kept is none of this bag's, a minute of computing would change nothing."""

    def compute(folder: Path) -> Report:
        raise AssertionError(folder)

    verdict = verify(bag, compute, given="0" * 64)
    assert verdict.outcome == "broken"
    assert any("another bag's" in one for one in told(verdict))


@pytest.mark.parametrize("short", ["1", "abc", "0123456789abcde"])
def test_a_hash_of_a_few_signs_is_none(bag: Bag, short: str) -> None:
    """Whoever tries a few signs meets none by chance."""
    seal = verify(bag, compute=None).seals.seal
    assert verify(bag, compute=None, given=seal[:15]).seals.differ
    assert not verify(bag, compute=None, given=seal[:16]).seals.differ
    assert verify(bag, compute=None, given=short).seals.differ


def test_the_seal_is_told_when_it_is_made_and_when_it_is_held(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The line of `archive` is what `verify --hash` takes, of a packed bag, too."""
    write_study(small_scenario(), tmp_path / "study")
    into = str(tmp_path / "bag.zip")
    words = ["archive", str(tmp_path / "study"), "--into", into, "--no-pdf", "--date", "2026-01-01"]
    assert main(words) == 0
    seal = capsys.readouterr().out.rpartition("Its seal, to be kept elsewhere: ")[2].strip()
    assert main(["verify", into, "--bytes-only", "--hash", seal]) == 0
    assert "The hash given is its seal" in capsys.readouterr().out
    assert main(["verify", into, "--bytes-only", "--hash", seal[::-1]]) == 1
    assert main(["verify", into, "--bytes-only", "--hash", f"SHA-256: {seal}"]) == 0
    for none in ("", "zz", "of the PDF"):
        capsys.readouterr()
        assert main(["verify", into, "--bytes-only", "--hash", none]) == 1
        assert "is no hash" in capsys.readouterr().err


def test_a_bag_of_the_first_version_has_a_seal_of_its_own_list() -> None:
    """Its lists are of SHA-256, which the line names."""
    seals = verify(read_bag(FIRST), compute=None).seals
    assert len(seals.seal) == 64
    (line,) = seals.told(whole=True)
    assert "tagmanifest-sha256.txt" in line


def test_the_seal_of_a_bag_that_is_not_whole_says_nothing_of_its_files(bag: Bag) -> None:
    """The lists are those of then; what they list is not."""
    files = dict(bag.files)
    files["data/README.md"] += b"more"
    verdict = verify(Bag(bag.place, files), compute=None, given=verify(bag, compute=None).seals.seal)
    assert verdict.outcome == "broken"
    assert any("its files not what they list" in line for line in told(verdict))
    assert not any("every byte is what it was" in line for line in told(verdict))

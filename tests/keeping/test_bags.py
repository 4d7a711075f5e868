"""A bag describes itself, is the same each time, and tells what was done to it."""

import csv
import gzip
import hashlib
import json
import re
import secrets
import shutil
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from html import unescape
from pathlib import Path
from urllib.parse import unquote

import pytest

from lyewitness import pipeline
from lyewitness.cli import main
from lyewitness.findings.records import Report
from lyewitness.keeping.contents import bagged_again
from lyewitness.keeping.discrepancies import Rebuilt, held_against
from lyewitness.keeping.packing import Bag, NoBagError, packed, read_bag
from lyewitness.keeping.verifying import Verdict, compared, verify
from lyewitness.keeping.verifying import told as verdict_lines
from lyewitness.rehearsal.scenario import small_scenario
from lyewitness.rehearsal.writing import write_study
from lyewitness.shelf.gathering import gather
from lyewitness.store import store_of_user

DAY = "2026-03-09"


def archived(study: Path, into: Path) -> Path:
    """Archive a study without its PDF."""
    assert main(["--quiet", "archive", str(study), "--into", str(into), "--no-pdf", "--date", DAY]) == 0
    return into


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a small study with a person, an ORCID (the registry's own sample) and a licence."""
    folder = tmp_path_factory.mktemp("kept") / "study"
    write_study(small_scenario(), folder)
    text = (folder / "study.toml").read_text(encoding="utf-8")
    head, _, rest = text.partition("[stress]")
    person = '[[person]]\nname = "Analyst A"\nrole = "measured"\norcid = "0000-0002-1825-0097"\n\n'
    (folder / "study.toml").write_text(f"{head}{person}[stress]{rest}", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def bag(study: Path) -> Path:
    """Return the bag of the study."""
    return archived(study, study.parent / "bag")


@pytest.fixture(scope="module")
def report(bag: Path) -> Report:
    """Return the report of the study in the bag."""
    return pipeline.compute(bag / "data/study", store=store_of_user())


def test_independent_programs_find_bag_and_description_valid(bag: Path) -> None:
    """`bagit` validates SHA-512; people are contacts; ORCID, licence and columns are entities."""
    command = [sys.executable, "-m", "bagit", "--validate", "--quiet", str(bag)]
    assert subprocess.run(command, capture_output=True, check=False).returncode == 0
    info = (bag / "bag-info.txt").read_text(encoding="utf-8")
    assert "Contact-Name: Analyst A\n" in info
    assert "Source-Organization" not in info
    graph = json.loads((bag / "data/ro-crate-metadata.json").read_bytes())["@graph"]
    by_id = {one["@id"]: one for one in graph}
    assert by_id["https://orcid.org/0000-0002-1825-0097"]["name"] == "Analyst A"
    assert by_id["./"]["license"] == {"@id": "https://spdx.org/licenses/CC0-1.0"}
    products = {one["@id"] for one in graph if one["@type"] == "IndividualProduct"}
    assert len(products - {"#instrument"}) == 4
    assert by_id["#run"]["instrument"] == {"@id": "#program"}


def test_the_description_names_program_instrument_and_columns_as_things(bag: Path) -> None:
    """What RO-Crate 1.2 and Process Run ask of each: types, addresses, versions, and every id resolved."""
    graph = json.loads((bag / "data/ro-crate-metadata.json").read_bytes())["@graph"]
    by_id = {one["@id"]: one for one in graph}
    assert len(by_id) == len(graph)
    assert "Profile" in by_id["https://w3id.org/ro/wfrun/process/0.5"]["@type"]
    software = [one for one in graph if one["@type"] == "SoftwareApplication"]
    assert len(software) > 5
    assert all(one["version"] and one["url"] and "softwareVersion" not in one for one in software)
    injecting = by_id["#injections"]
    assert (injecting["@type"], injecting["instrument"]) == ("Action", {"@id": "#instrument"})
    columns = [
        one["@id"] for one in graph if one["@type"] == "IndividualProduct" and one["@id"] != "#instrument"
    ]
    assert [one["@id"] for one in injecting["object"]] == columns
    exports = {one["@id"] for one in injecting["result"]}
    assert exports == {one for one in by_id if one.startswith("study/chromatograms/")}
    assert all("material" in by_id[one] for one in columns)
    measures = {one["name"] for one in graph if one["@type"] == "PropertyValue"}
    assert {"length of the bed", "inner diameter of the bed"} <= measures
    outside = {"https://w3id.org/ro/crate/1.2"}
    assert {one for one in _references(graph) if one not in by_id} == outside


def _references(value: object) -> Iterator[str]:
    """Yield every id that is referred to."""
    if isinstance(value, dict):
        if set(value) == {"@id"}:
            yield value["@id"]
        for inner in value.values():
            yield from _references(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _references(inner)


def test_traces_lie_in_a_bag_as_tables(bag: Path, report: Report) -> None:
    """Every point of every trace is there to the last digit, and the package is valid without the network."""
    frictionless = pytest.importorskip("frictionless")
    folder = bag / "data/traces"
    found = frictionless.validate(str(folder / "datapackage.json"))
    assert found.valid, found.flatten(["message"])
    told: dict[str, list[tuple[float, float]]] = {}
    for path in folder.glob("*.csv.gz"):
        with gzip.open(path, "rt", encoding="utf-8", newline="") as table:
            for row in csv.DictReader(table):
                told.setdefault(row["injection"], []).append((float(row["time_min"]), float(row["signal"])))
    traces = report.traces
    assert told.keys() == traces.keys()
    for injection, trace in traces.items():
        assert told[injection] == list(zip(trace.time_min.tolist(), trace.signal.tolist(), strict=True))
    assert "traces/" in (bag / "data/README.md").read_text(encoding="utf-8")


FIRST = Path(__file__).with_name("first_version.zip")
"""A bag that the first version of the program packed: SHA-256, no crate, no list of what was written."""


def test_a_bag_of_the_first_version_is_whole_and_read() -> None:
    """Its manifests are checked, and one changed byte is found."""
    bag = read_bag(FIRST)
    assert "manifest-sha256.txt" in bag.files
    assert "data/ro-crate-metadata.json" not in bag.files
    assert verify(bag, compute=None).whole
    name = next(name for name in bag.files if name.startswith("data/study/chromatograms/"))
    changed = dict(bag.files) | {name: bag.files[name][:-2] + b"0\n"}
    assert verify(Bag(FIRST, changed), compute=None).damaged == (name,)


def test_a_bag_of_the_first_version_is_measured_again(capsys: pytest.CaptureFixture[str]) -> None:
    """Today's program reads its study and says which numbers are others, and that the program is."""
    # What was printed then need not be set again for its numbers to be held against ours.
    main(["--quiet", "verify", str(FIRST), "--no-pdf"])
    told = capsys.readouterr().out
    assert "Every file is there, byte for byte as the bag's own list has it." in told
    assert "Measured again: " in told
    assert "today's program refuses the study" not in told


def test_a_bag_of_the_first_version_stands_on_a_shelf_and_is_compared(
    tmp_path: Path, study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its columns and lives are read from the study beside its tables; its claims are held against ours."""
    (tmp_path / "studies").mkdir()
    shutil.copy(FIRST, tmp_path / "studies" / "first.zip")
    shelf = gather(tmp_path / "studies", {}, lambda folder: pipeline.compute(folder))
    (held,) = shelf.studies
    assert not held.damage
    assert held.lives
    assert all(life.particle and life.temperature_C for life in held.lives)
    assert main(["--quiet", "compare", str(FIRST), str(study), "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["numbers"] > 500
    assert told["claims"]


def test_two_archives_are_the_same_bytes(study: Path, bag: Path, tmp_path: Path) -> None:
    """A zip and a tar.gz hold what the folder holds, and the zip made twice is one file."""
    first, second = archived(study, tmp_path / "bag.zip"), archived(study, tmp_path / "more" / "bag.zip")
    assert first.read_bytes() == second.read_bytes()
    assert read_bag(first).files == read_bag(bag).files


def test_the_page_of_an_injection_opens_its_exported_file(bag: Path) -> None:
    """In a bag the report lies beside the study: each injection's page leads to the file it came from."""
    led = 0
    for page in (bag / "data/report/injections").glob("*.html"):
        text = page.read_text(encoding="utf-8")
        for href in re.findall(r'href="(\.\./\.\./study/[^"]+)"', text):
            file = page.parent / unquote(unescape(href))
            assert hashlib.sha256(file.read_bytes()).hexdigest() in text
            led += 1
    assert led == len(list((bag / "data/report/injections").glob("*.html"))) - 1


def test_one_changed_byte_a_missing_and_an_added_file_are_named(bag: Path, tmp_path: Path) -> None:
    """Each is told by its path, and nothing is measured from a bag that is not whole."""
    copy = tmp_path / "bag"
    shutil.copytree(bag, copy)
    export = sorted((copy / "data/study/chromatograms").iterdir())[0]
    held = bytearray(export.read_bytes())
    held[len(held) // 2] ^= 1
    export.write_bytes(held)
    (copy / "data/study/injections.csv").unlink()
    (copy / "data/stray.txt").write_text("x")
    verdict = verify(read_bag(copy), compute=None)
    assert verdict.damaged == (export.relative_to(copy).as_posix(),)
    assert verdict.missing == ("data/study/injections.csv",)
    assert verdict.added == ("data/stray.txt",)
    assert main(["verify", str(copy)]) == 1


@pytest.mark.slow
def test_measured_again_gives_the_same_numbers(bag: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Today's program gives what it gave, says how many numbers that are, and makes the same bytes."""
    assert main(["verify", str(bag)]) == 0
    told = capsys.readouterr().out
    assert "gives the same" in told
    assert f"Built again: {len(read_bag(bag).files) - 3} files, the same byte for byte." in told


@pytest.mark.usefixtures("_measured_before")
def test_numbers_that_do_not_come_out_again_are_told(
    bag: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A table that was changed with its hashes, and a version of then, are named with both values."""
    copy = tmp_path / "bag"
    shutil.copytree(bag, copy)
    table = copy / "data/report/data/decline.csv"
    lines = table.read_text(encoding="utf-8").splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("C1") and ",reached," in line)
    cells = lines[at].split(",")
    place = lines[0].split(",").index("life_h")
    cells[place] = "7.5"
    table.write_text("\n".join([*lines[:at], ",".join(cells), *lines[at + 1 :]]) + "\n", encoding="utf-8")
    provenance = copy / "data/report/data/provenance.json"
    content = json.loads(provenance.read_bytes())
    content["computed_with"]["numpy"] = "1.0"
    provenance.write_text(json.dumps(content))
    rehash(copy)
    assert main(["verify", str(copy)]) == 1
    said = capsys.readouterr().out
    assert "life_h was 7.5" in said
    assert "numpy 1.0 then" in said


FORGED = (
    ("data/report/data/claims.json", r'"text": "[^"]*?(\d+)', "Said again: one sentence of the answers"),
    ("data/report/index.html", r"<p[^>]*>[^<]*?(\d+)", "Built again: "),
    ("data/README.md", r"Packed on (\d+)", "data/README.md"),
    ("bag-info.txt", r"Analyst (A)", "Analyst A"),
    ("data/report/figures/lives.svg", r'd="M *(\d+)', "lives.svg: other bytes; what it shows was not read"),
    ("data/traces/datapackage.json", r"(injection)", "data/traces/datapackage.json"),
)
"""A file of the bag, what in it is forged, and what must be said of it."""


@pytest.mark.parametrize(("name", "pattern", "told"), FORGED, ids=[one[0] for one in FORGED])
def test_what_was_forged_with_its_hashes_is_named(
    bag: Path, report: Report, again: Rebuilt, name: str, pattern: str, told: str
) -> None:
    """A sentence, a page, a figure or a label that today's program does not make is told, old and new."""
    files = dict(read_bag(bag).files)
    text = files[name].decode("utf-8")
    found = re.search(pattern, text)
    assert found is not None
    files[name] = f"{text[: found.start(1)]}999{text[found.end(1) :]}".encode()
    for label in ("manifest-sha512.txt", "tagmanifest-sha512.txt"):
        files.pop(label)
    files.pop("data/ro-crate-metadata.json")
    hashes = (f"{hashlib.sha512(files[one]).hexdigest()}  {one}\n" for one in sorted(files) if "data/" in one)
    files["manifest-sha512.txt"] = "".join(hashes).encode()
    listed = ("bag-info.txt", "bagit.txt", "manifest-sha512.txt")
    hashes = (f"{hashlib.sha512(files[one]).hexdigest()}  {one}\n" for one in listed)
    files["tagmanifest-sha512.txt"] = "".join(hashes).encode()
    verdict = verify(Bag(bag, files), lambda _: report, lambda _report, _folder: again)
    assert verdict.whole
    assert not verdict.holds
    lines = "\n".join(verdict_lines(verdict))
    assert told in lines
    assert "999" in lines or "was not read" in lines
    assert "bear the versions of then" in lines


@pytest.fixture(scope="module")
def again(bag: Path, report: Report) -> Rebuilt:
    """Return the bag's files as today's program makes them."""
    return bagged_again(report, bag / "data/study", read_bag(bag), store=store_of_user())


def test_files_that_came_or_went_with_their_hashes_are_named(bag: Path, again: Rebuilt) -> None:
    """A page that the program does not make, and one that it makes, are told though every hash agrees."""
    files = dict(read_bag(bag).files)
    files["data/report/more.html"] = files.pop("data/report/cautions.html")
    held = held_against(files, again)
    assert held.foreign == ("data/report/more.html",)
    assert held.gone == ("data/report/cautions.html",)
    assert not held.altered


def test_last_figures_bury_no_sentence(bag: Path, again: Rebuilt) -> None:
    """Numbers are the same to nine figures, as between two versions of a library; words are not."""
    files, name = dict(read_bag(bag).files), "data/report/data/decline.csv"
    files[name] = re.sub(rb"(?<![\d.])([1-9]\.\d{8})\d\b", rb"\g<1>", files[name])
    assert files[name] != again.files[name]
    held = held_against(files, again)
    assert (held.altered, held.texts) == ((name,), ())
    files[name] = files[name].replace(b"reached", b"reaped", 1)
    assert len(held_against(files, again).texts) == 1


def test_what_describes_a_bag_is_held_against_what_lies_in_it(
    bag: Path, report: Report, again: Rebuilt
) -> None:
    """A crate of another length changes no other file's description, nor the label."""
    files = dict(read_bag(bag).files)
    files["data/ro-crate-metadata.json"] += b"\n"
    made = bagged_again(report, bag / "data/study", Bag(bag, files), store=store_of_user())
    held = held_against(files, made)
    assert set(held.altered) == {"bag-info.txt", "data/ro-crate-metadata.json"}
    assert made.files["data/ro-crate-metadata.json"] == again.files["data/ro-crate-metadata.json"]


def test_what_is_printed_is_left_out_where_asked_and_said_so(bag: Path, again: Rebuilt) -> None:
    """Pages lead to the PDF of then; it is not held against anything, and the verdict says so."""
    told = replace(again, left_out={"data/report/report.pdf": "not set again, as was asked"})
    files = {**read_bag(bag).files, "data/report/report.pdf": b"%PDF"}
    held = held_against(files, replace(told, files={**told.files, "data/report/report.pdf": b"%PDF other"}))
    assert not held.differs
    lines = "\n".join(verdict_lines(Verdict(held=held)))
    assert "Not built again: data/report/report.pdf (not set again, as was asked)." in lines


def rehash(bag: Path) -> None:
    """Write the manifests anew, and drop the description: a bag as other hands would make it."""
    (bag / "data/ro-crate-metadata.json").unlink()
    for manifest, paths in (
        ("manifest-sha512.txt", [path for path in (bag / "data").rglob("*") if path.is_file()]),
        ("tagmanifest-sha512.txt", [bag / "bagit.txt", bag / "bag-info.txt", bag / "manifest-sha512.txt"]),
    ):
        lines = (
            f"{hashlib.sha512(path.read_bytes()).hexdigest()}  {path.relative_to(bag).as_posix()}\n"
            for path in sorted(paths)
        )
        (bag / manifest).write_text("".join(lines))


@pytest.mark.usefixtures("_measured_before")
def test_a_bag_of_the_first_version_is_read(bag: Path, tmp_path: Path) -> None:
    """SHA-256 alone, no description, no data package: it is verified and measured all the same."""
    copy = tmp_path / "bag"
    shutil.copytree(bag, copy)
    for name in (
        "ro-crate-metadata.json",
        "README.md",
        "report/data/study.json",
        "report/data/datapackage.json",
    ):
        (copy / "data" / name).unlink()
    provenance = copy / "data/report/data/provenance.json"
    content = json.loads(provenance.read_bytes())
    del content["builder"]["sha256"]
    provenance.write_text(json.dumps(content))
    for path in copy.glob("*sha512.txt"):
        path.unlink()
    sizes = [path.stat().st_size for path in (copy / "data").rglob("*") if path.is_file()]
    info = (copy / "bag-info.txt").read_text(encoding="utf-8")
    stated = f"Payload-Oxum: {sum(sizes)}.{len(sizes)}"
    (copy / "bag-info.txt").write_text(re.sub(r"Payload-Oxum: \S+", stated, info), encoding="utf-8")
    for manifest, paths in (
        ("manifest-sha256.txt", [path for path in (copy / "data").rglob("*") if path.is_file()]),
        ("tagmanifest-sha256.txt", [copy / "bagit.txt", copy / "bag-info.txt", copy / "manifest-sha256.txt"]),
    ):
        lines = (
            f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(copy).as_posix()}\n"
            for path in sorted(paths)
        )
        (copy / manifest).write_text("".join(lines))
    # It lacks files that today's program makes: not the same, and its version is another.
    assert main(["verify", str(copy)]) == 7


def test_what_leads_out_of_an_archive_is_refused(tmp_path: Path) -> None:
    """A path that climbs is told, and nothing is written."""
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as made:
        made.writestr("bag/bagit.txt", "x")
        made.writestr("bag/../../out.txt", "x")
    with pytest.raises(NoBagError, match="leads out of it"):
        read_bag(tmp_path / "bad.zip")
    (tmp_path / "torn.tar.gz").write_bytes(b"\x1f\x8b\x08\x00 no more")
    with pytest.raises(NoBagError, match="cannot be read"):
        read_bag(tmp_path / "torn.tar.gz")


def test_a_bag_never_lies_in_its_study_nor_replaces_what_is_not_its_own(
    study: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A zip within the study, and one in the place of somebody's file, are refused before any work."""
    monkeypatch.setattr(pipeline, "compute", lambda *_: pytest.fail("that is work"))
    assert main(["archive", str(study), "--into", str(study / "bag.zip")]) == 1
    (tmp_path / "mine.zip").write_bytes(b"mine")
    assert main(["archive", str(study), "--into", str(tmp_path / "mine.zip"), "--no-pdf"]) == 1
    assert (tmp_path / "mine.zip").read_bytes() == b"mine"


def test_rows_are_compared_by_their_key() -> None:
    """A row that is gone, one that came and one that differs are three things."""
    old = [{"column": "A", "marker": "m", "metric": "k", "life_h": "1"}, {"column": "B", "marker": "m"}]
    new = [{"column": "A", "marker": "m", "metric": "k", "life_h": "1.1"}, {"column": "C", "marker": "m"}]
    numbers, found = compared("decline", old, new)
    assert numbers == 4
    assert {(one.row, one.name) for one in found} == {
        ("A / m / k", "life_h"),
        ("B / m / ", "row"),
        ("C / m / ", "row"),
    }


def test_what_is_no_plain_file_in_a_bag_is_named_and_not_followed(bag: Path, tmp_path: Path) -> None:
    """A link to a file of the machine stands in no list of the bag: it is added, packed or not."""
    own = tmp_path / "bag"
    shutil.copytree(bag, own)
    (own / "data" / "passwd").symlink_to("/etc/passwd")
    packed = tmp_path / "bag.tar.gz"
    with tarfile.open(packed, "w:gz") as archive:
        archive.add(own, "bag")
    for place in (own, packed):
        read = read_bag(place)
        assert read.odd == ("data/passwd",)
        assert "data/passwd" not in read.files
        verdict = verify(read, None)
        assert not verdict.whole
        assert any(one.startswith("data/passwd (no plain file") for one in verdict.added)


def test_an_archive_that_would_fill_the_memory_is_refused(tmp_path: Path) -> None:
    """300 MiB of zeros press to a thousandth: nothing is unpacked."""
    bomb = tmp_path / "bag.zip"
    with (
        zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as archive,
        archive.open("bag/zeros", "w") as member,
    ):
        for _ in range(300):
            member.write(bytes(1 << 20))
    with pytest.raises(NoBagError, match="200 times its size"):
        read_bag(bomb)


@pytest.mark.parametrize(
    ("kept", "said"),
    [(0.6, "behind 'bag/.*it breaks off.*cut short"), (0.001, "cannot be read.*fetch another copy")],
)
def test_a_packed_bag_that_was_cut_short_says_where(tmp_path: Path, kept: float, said: str) -> None:
    """The last whole file is named, the fault is told in plain words, and what to do."""
    noise = {f"data/{number}.bin": secrets.token_bytes(20_000) for number in range(5)}
    whole = packed({"bagit.txt": b"BagIt-Version: 1.0\n", **noise}, "bag.tar.gz")
    cut = tmp_path / "bag.tar.gz"
    cut.write_bytes(whole[: int(kept * len(whole))])
    with pytest.raises(NoBagError, match=said) as told:
        read_bag(cut)
    assert "ReadError" not in str(told.value)
    assert "end-of-stream" not in str(told.value)


def test_a_bag_that_states_another_size_contradicts_itself(bag: Path) -> None:
    """Payload-Oxum is octets and files of the payload (RFC 8493, 2.2.2)."""
    read = read_bag(bag)
    assert not verify(read, None).contradictions
    info = read.files["bag-info.txt"].replace(b"Payload-Oxum: ", b"Payload-Oxum: 9")
    (told,) = verify(replace(read, files={**read.files, "bag-info.txt": info}), None).contradictions
    assert "Payload-Oxum" in told

"""Mutated files for every reader, bounded: `python -m tests.hostile.fuzz --cases 100000`.

In: a number of cases and a seed. Out: a line for each case that ended in anything but records or problems, or
took too long, with its bytes in hexadecimals; then the counts.
"""

import argparse
import base64
import json
import random
import signal
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from time import perf_counter

import numpy as np

from lyewitness.rehearsal.records import DrawnTrace
from lyewitness.rehearsal.writing import ENDINGS, Heading, compressed, export
from lyewitness.study.folder import read_study
from lyewitness.words.arrays import FloatArray
from tests.study.making import INJECTIONS, NOTE, STUDY, lay_out
from tests.traces.expecting import read_or_refused

LONGEST_S = 5.0
"""A bound against runaway patterns: a usual case takes a millisecond."""
ENDLESS_S = 30.0
"""After this a case counts as one without end, and the next is tried."""
WORDS = (
    b"", b"[[", b"]]", b'"', b"=", b"{}", b"[]", b"-1", b"1e999", b"nan", b"inf", b"\x00", b"\xff\xfe",
    b"../", b"\n", b"\r", b",", b";", b"\t", b"0" * 40, b"9" * 400, b"<", b">", b"&", b"</", b"##", b"+++",
    b"%", b"'", b"\x1f\x8b", b"CDF\x01", b"\x7f\xff\xff\xff", b"\x80\x00\x00\x00",
    b"\xff\xff\xff\xff", b"2026-03-02", b"true",
)  # fmt: skip
"""What mutations put in: the signs that the formats are made of, and numbers at their ends."""
LOG = "column,exposure_h,pressure_bar,ph\nA1,0,170,11.0\nA1,1,171,11.0\nA1,2,172,10.9\n"
IMAGES = "file,caption,column,kind,nm_per_pixel\nimages/a.png,A micrograph,A1,micrograph,12.5\n"


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """Raise TimeoutError within the block when it takes longer; patterns that search listen to it, too."""

    def stop(*_: object) -> None:
        raise TimeoutError(f"no end after {seconds:g} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def mutated(seed: bytes, chance: random.Random) -> bytes:
    """Return `seed` with one to six of its bytes or stretches changed, taken out, doubled or replaced."""
    data = bytearray(seed)
    for _ in range(chance.randint(1, 6)):
        start = chance.randrange(len(data) + 1)
        end = min(len(data), start + chance.choice((0, 1, 4, 30, 400)))
        way = chance.randrange(6)
        if way == 0 and start < len(data):
            data[start] = chance.randrange(256)
        elif way == 1:
            del data[start:end]
        elif way == 2:
            data[start:start] = data[start:end] * chance.choice((1, 2, 50))
        elif way == 3:
            data[start:end] = chance.choice(WORDS)
        elif way == 4 and start < len(data):
            data[start] ^= 1 << chance.randrange(8)
        else:
            del data[max(1, start) :]
    return bytes(data)


def exports() -> Mapping[str, bytes]:
    """Return one sound file of each format that is read."""
    time = np.linspace(0.0, 2.0, 41)
    signal = np.round(50 * np.exp(-(((time - 1) / 0.1) ** 2)), 3)
    trace = DrawnTrace(time, signal)
    heading = Heading("A1-1", datetime(2026, 3, 2, 8, tzinfo=UTC), 240.0, 1.0)
    rows = "".join(f"{t:.3f},{s:.3f}\n" for t, s in zip(time, signal, strict=True))
    written: dict[str, bytes] = {dialect: export(trace, heading, dialect) for dialect in ENDINGS}
    return {
        **written,
        "gzip": compressed(written["comma, minutes"]),
        "JCAMP-DX": (
            "##TITLE=run\n##JCAMP-DX=4.24\n##DATA TYPE=CHROMATOGRAM\n##XUNITS=MINUTES\n##YUNITS=mAU\n"
            f"##NPOINTS=41\n##XYPOINTS=(XY..XY)\n{rows}##END=\n"
        ).encode(),
        "mzML": mzml(time, signal),
        "AnIML": animl(time, signal),
        "data cubes": data_cubes(time, signal),
    }


def mzml(time: FloatArray, signal: FloatArray) -> bytes:
    """Return an mzML file of one absorption chromatogram, (n,) minutes and (n,) signals."""
    arrays = "".join(
        f'<binaryDataArray><cvParam accession="MS:1000523" name="64-bit float"/><cvParam accession="{kind}" '
        f'name="x" unitAccession="UO:0000031"/><binary>{base64.b64encode(values.tobytes()).decode()}</binary>'
        "</binaryDataArray>"
        for kind, values in (("MS:1000595", time), ("MS:1000515", signal))
    )
    return (
        '<?xml version="1.0"?><mzML xmlns="http://psi.hupo.org/ms/mzml"><run><chromatogramList>'
        '<chromatogram id="c" defaultArrayLength="41"><cvParam accession="MS:1000812" name="absorption"/>'
        f"<binaryDataArrayList>{arrays}</binaryDataArrayList></chromatogram></chromatogramList></run></mzML>"
    ).encode()


def animl(time: FloatArray, signal: FloatArray) -> bytes:
    """Return an AnIML file of one trace: (n,) minutes as start and step, (n,) signals in two parts."""
    parts = "".join(
        f'<EncodedValueSet startIndex="{start}">{base64.b64encode(part.tobytes()).decode()}</EncodedValueSet>'
        for start, part in ((0, signal[:20]), (20, signal[20:]))
    )
    values = (
        "<AutoIncrementedValueSet><StartValue><D>0</D></StartValue>"
        f"<Increment><D>{time[1]}</D></Increment></AutoIncrementedValueSet>"
    )
    series = "".join(
        f'<Series name="{name}" dependency="{name}" seriesID="{name}" seriesType="Float64">{held}</Series>'
        for name, held in (
            ("independent", f'{values}<Unit label="min"><SIUnit factor="60">s</SIUnit></Unit>'),
            ("dependent", f'{parts}<Unit label="mAU"/>'),
        )
    )
    return (
        '<?xml version="1.0"?><AnIML xmlns="urn:org:astm:animl:schema:core:draft:0.90" version="0.90">'
        '<ExperimentStepSet><ExperimentStep name="s" experimentStepID="s"><Result name="r">'
        f'<SeriesSet name="UV" length="{time.size}">{series}</SeriesSet>'
        "</Result></ExperimentStep></ExperimentStepSet></AnIML>"
    ).encode()


def data_cubes(time: FloatArray, signal: FloatArray) -> bytes:
    """Return JSON of one chromatogram data cube, (n,) minutes and (n,) signals."""
    structure = {
        "dimensions": [{"@componentDatatype": "double", "concept": "retention time", "unit": "min"}],
        "measures": [{"@componentDatatype": "double", "concept": "absorbance", "unit": "mAU"}],
    }
    held = {"dimensions": [time.round(4).tolist()], "measures": [signal.tolist()]}
    cube = {"label": "UV", "cube-structure": structure, "data": held}
    return json.dumps({"$asm.manifest": "x", "document": [{"chromatogram data cube": cube}]}).encode()


def metadata() -> Mapping[str, bytes]:
    """Return the files of a study folder that people write, by name."""
    texts = {
        "study.toml": STUDY,
        "injections.csv": INJECTIONS,
        "notes/2026-03-02.md": NOTE,
        "conditions.csv": LOG,
        "images.csv": IMAGES,
    }
    return {name: text.encode() for name, text in texts.items()}


@dataclass(frozen=True, slots=True)
class Failure:
    """A case that ended otherwise than in records or problems."""

    kind: str
    data: bytes
    reason: str


def readings(folder: Path) -> dict[str, tuple[bytes, Callable[[bytes], None]]]:
    """Return the sound bytes of each kind of file and what reads it; metadata lie in `folder`."""
    lay_out(folder)
    (folder / "images").mkdir(exist_ok=True)
    (folder / "images" / "a.png").write_bytes(b"\x89PNG")
    kinds: dict[str, tuple[bytes, Callable[[bytes], None]]] = {
        name: (data, read_or_refused) for name, data in exports().items()
    }
    for name, data in metadata().items():
        (folder / name).write_bytes(data)
        kinds[name] = (data, _reads_metadata(folder, folder / name, data))
    return kinds


def _reads_metadata(folder: Path, path: Path, sound: bytes) -> Callable[[bytes], None]:
    def read(data: bytes) -> None:
        path.write_bytes(data)
        try:
            reading = read_study(folder)
        finally:
            path.write_bytes(sound)
        assert (reading.study is None) == any(one.severity == "error" for one in reading.problems)
        for problem in reading.problems:
            assert problem.found, problem
            assert problem.expected, problem
            assert problem.cure, problem
            assert len(str(problem)) < 3000, problem

    return read


def failures(cases: int, seed: int, folder: Path) -> Iterator[Failure]:
    """Read `cases` mutated files, every kind in turn, and give those that failed."""
    chance = random.Random(seed)
    kinds = list(readings(folder).items())
    for number in range(cases):
        kind, (sound, read) = kinds[number % len(kinds)]
        data = mutated(sound, chance)
        began = perf_counter()
        try:
            with at_most(ENDLESS_S):
                read(data)
        except Exception as error:
            yield Failure(kind, data, f"{type(error).__name__}: {str(error)[:300]}")
        if perf_counter() - began > LONGEST_S:
            yield Failure(kind, data, f"took {perf_counter() - began:.1f} s")


def main() -> int:
    """Run as many cases as asked for; return 1 where one failed."""
    parser = argparse.ArgumentParser(description="Mutated files for every reader of lyewitness.")
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    began = perf_counter()
    found = 0
    with tempfile.TemporaryDirectory() as place:
        for failure in failures(options.cases, options.seed, Path(place)):
            found += 1
            print(f"{failure.kind}: {failure.reason}\n  {failure.data[:4000].hex()}", flush=True)
    print(f"{options.cases} cases, {found} failed, {perf_counter() - began:.0f} s")
    return int(found > 0)


if __name__ == "__main__":
    sys.exit(main())

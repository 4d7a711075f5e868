"""How long a whole report takes, as multiples of what pandas needs to read the same files in the same run.

`python -m tests.benchmarks.ratios [INJECTIONS]` writes a large study and prints seconds of processor, the
ratio to pandas' bare reading, and the largest memory of: the first build, one with nothing changed, one note
changed, with one injection added; and of a plain loop (pandas, one lmfit model of each peak, one matplotlib
figure an injection) over some of the injections, scaled to all. The PDF is left out.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
from lmfit.models import ExponentialGaussianModel, LinearModel
from matplotlib.figure import Figure

OF_LOOP = 20
"""Injections that the plain loop does."""
HALF_WINDOW_MIN = 0.3
PREAMBLE = 4
"""Lines of an export before the names of its columns."""


def processor_of(words: list[str], environment: dict[str, str]) -> tuple[float, float, int]:
    """Return seconds of processor, seconds by the clock, and MB of the largest process of a command."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(words, check=True, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return spent, time.perf_counter() - began, after.ru_maxrss // 1024


def timed(work: Callable[[], object]) -> float:
    """Return the seconds of processor that `work` takes."""
    began = time.process_time()
    work()
    return time.process_time() - began


def read_all(files: list[Path]) -> None:
    """Read every file as pandas does when it is asked for no more."""
    for file in files:
        pd.read_csv(file, skiprows=PREAMBLE)


def plain_loop(files: list[Path], into: Path) -> None:
    """Fit the highest peak of each file and draw the file, one after the other."""
    model = ExponentialGaussianModel() + LinearModel(prefix="line_")
    for file in files:
        minutes, signal = pd.read_csv(file, skiprows=PREAMBLE).to_numpy(dtype=float).T
        apex = minutes[signal.argmax()]
        near = np.abs(minutes - apex) < HALF_WINDOW_MIN
        values = model.make_params(
            amplitude=float(signal.max()) * 0.05, center=apex, sigma=0.02, gamma=30.0,
            line_slope=0.0, line_intercept=0.0,
        )  # fmt: skip
        model.fit(signal[near], values, x=minutes[near])
        sheet = Figure((8, 3))
        sheet.add_subplot().plot(minutes, signal)
        sheet.savefig(into / f"{file.stem}.svg")


def add_one(study: Path) -> None:
    """Add one more injection: a copy of the last, a little later."""
    head, *rows = (study / "injections.csv").read_text().splitlines()
    cells = dict(zip(head.split(","), rows[-1].split(","), strict=True))
    source = study / cells["file"]
    text = source.read_text().splitlines()
    # One sample less, so that it is no copy.
    (study / "chromatograms" / "one-more.csv").write_text("\n".join([*text[:-1], ""]))
    hours = f"{float(cells['exposure_h']) + 0.5:g}"
    cells |= {"injection": "one-more", "file": "chromatograms/one-more.csv", "exposure_h": hours}
    (study / "injections.csv").write_text("\n".join([head, *rows, ",".join(cells.values()), ""]))


def main() -> None:
    """Print the table."""
    injections = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    with tempfile.TemporaryDirectory() as place:
        top = Path(place)
        study, report = top / "study", top / "report"
        # By itself: a command begins with the largest memory of whoever started it.
        writing = [sys.executable, "-m", "tests.benchmarks.large_study", str(study), str(injections)]
        subprocess.run(writing, check=True)
        files = sorted((study / "chromatograms").iterdir())
        # As where it is installed, the program's modules are compiled once: by the first build.
        environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        environment |= {"XDG_CACHE_HOME": str(top / "kept"), "PYTHONPYCACHEPREFIX": str(top / "compiled")}
        words = [
            sys.executable,
            "-m",
            "lyewitness.cli",
            "report",
            str(study),
            "--into",
            str(report),
            "--no-pdf",
        ]
        bare = timed(lambda: read_all(files))
        print(f"{len(files)} injections; pandas' bare reading {bare:.1f} s of processor")

        def told(name: str) -> None:
            spent, clock, memory = processor_of(words, environment)
            print(
                f"{name:24} {spent:7.1f} s  {spent / bare:6.2f} ×  {clock:7.1f} s by the clock  {memory} MB"
            )

        told("first build")
        told("nothing changed")
        (study / "notes").mkdir(exist_ok=True)
        (study / "notes" / "note.md").write_text("One word.\n")
        told("one note changed")
        add_one(study)
        told("one injection added")
        loop = top / "loop"
        loop.mkdir()
        spent = timed(lambda: plain_loop(files[:OF_LOOP], loop)) * len(files) / OF_LOOP
        print(f"{'plain loop, scaled':24} {spent:7.1f} s  {spent / bare:6.2f} ×")


if __name__ == "__main__":
    main()

"""The revisions of a study, and the reports of earlier ones that it keeps to say what has changed since.

In: `[[revision]]` of study.toml, the folder that one of them names with `report`. Out: `Revision`s, and the
tables of a kept report by path below it.
"""

from collections.abc import Sequence
from itertools import pairwise

from lyewitness.study.inside import StudyFiles
from lyewitness.study.records import Revision
from lyewitness.study.toml_records import Table, TomlReading, records_of

WITHIN = ("data/report/data/", "data/", "")
"""Where a bag, a report, and a copy of its `data` have the tables."""
CLAIMS = "claims.json"
TABLES = (
    CLAIMS, "provenance.json", "study.json", "measurements.csv", "decline.csv", "comparisons.csv",
    "group_lives.csv",
)  # fmt: skip


def read_revisions(reading: TomlReading, document: Table, files: StudyFiles) -> tuple[Revision, ...]:
    """Return every `[[revision]]` by its number, each number once; a report that one names is there."""
    revisions = sorted(records_of(reading, document, "revision", Revision), key=lambda one: one.number)
    numbers = [one.number for one in revisions]
    for number in sorted({number for number in numbers if numbers.count(number) > 1}):
        reading.note("revision", f"the number {number} twice", "a number of its own", "Number them on.")
    for earlier, later in pairwise(revisions):
        if later.date < earlier.date:
            found = (
                f"revision {later.number} of {later.date}, before revision {earlier.number} of {earlier.date}"
            )
            reading.caution("revision", found, "dates in the order of the numbers", "Correct date or number.")
    for one in revisions:
        if one.report and not read_kept(files, one.report):
            expected = "a folder of the study that holds the report of then, or the report's folder 'data'"
            cure = "Copy 'data' of that report into the study folder, and name the copy here."
            reading.note("revision", f"'{one.report}', which holds no report", expected, cure)
    return tuple(revisions)


def read_kept(files: StudyFiles, folder: str) -> dict[str, bytes]:
    """Return the tables of the report in a folder of the study as `data/NAME`; empty where it holds none."""
    start = folder.rstrip("/") + "/"
    for within in WITHIN:
        if files.path_of(f"{start}{within}{CLAIMS}"):
            read = {name: files.read(f"{start}{within}{name}") for name in TABLES}
            return {f"data/{name}": data for name, data in read.items() if data is not None}
    return {}


def earlier_revision(revisions: Sequence[Revision]) -> Revision | None:
    """Return the last revision before the one at hand whose report is kept; None where there is none."""
    return next((one for one in reversed(revisions[:-1]) if one.report), None)

"""The files of a bag: made of a study and its report, and made again years later.

In: a report, the folder of its study, of a bag that there is the bag. Out: files by path.
"""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

from lyewitness import __version__, pipeline
from lyewitness.document.data import PDF, SUMMARY, SUMMARY_PICTURE
from lyewitness.document.themes import Theme, load_theme
from lyewitness.findings.records import Report
from lyewitness.keeping.crate import METADATA, README, metadata, readme
from lyewitness.keeping.discrepancies import Rebuilt
from lyewitness.keeping.packing import Bag
from lyewitness.keeping.trace_tables import trace_tables
from lyewitness.outputs.archive import bag_files, file_hashes, payload_of, study_files, with_house_files
from lyewitness.outputs.assets import assets
from lyewitness.pipeline import Progress, silent
from lyewitness.store import NO_STORE, Store

PRINTED = (PDF, SUMMARY, SUMMARY_PICTURE)
EXPORTS = "../study/"
"""The way from the report in a bag to the study beside it."""
_THEMES = ("daylight", "journal")


def bagged(
    report: Report, of_study: Mapping[str, bytes], of_report: Mapping[str, bytes], bagged_on: date
) -> dict[str, bytes]:
    """Return the files of a bag that describes itself."""
    payload = _payload(report, of_study, of_report, bagged_on)
    payload[METADATA] = metadata(report.study, report.provenance, payload, bagged_on)
    return bag_files(report.study, payload, bagged_on, _builder())


def _payload(
    report: Report, of_study: Mapping[str, bytes], of_report: Mapping[str, bytes], bagged_on: date
) -> dict[str, bytes]:
    beside = {README: readme(report.study, bagged_on, _builder()), **trace_tables(report)}
    return payload_of(of_study, of_report, beside)


def _builder() -> str:
    return f"lyewitness {__version__}"


def bagged_again(
    report: Report,
    folder: Path,
    bag: Bag,
    theme_name: str = "",
    with_pdf: bool = True,
    progress: Progress = silent,
    store: Store = NO_STORE,
    jobs: int = 1,
) -> Rebuilt:
    """Return what today's program would put into the bag; `report` was computed of `folder`, its study.

    Without a theme's name it is that of the shipped ones whose files the bag has. What is not made again,
    such as a PDF where it cannot be set, is taken from the bag, so that all that depends on it can be made.
    """
    own = bag.below("data/report/")
    theme = load_theme(theme_name) if theme_name else _theme_of(own, store)
    then = {name: own[name] for name in PRINTED if name in own}
    remark = "" if with_pdf else "not set again, as was asked"

    def rendered(prints: Mapping[str, bytes] | None) -> pipeline.Rendered:
        return pipeline.render(report, theme, progress, bool(then), store, jobs, EXPORTS, prints)

    made = rendered(then if remark else None)
    if made.remark:
        remark, made = made.remark, rendered(then)
    left_out = dict.fromkeys((f"data/report/{name}" for name in then), remark) if remark else {}
    return _whole(report, folder, bag, made.files, left_out)


def _whole(
    report: Report, folder: Path, bag: Bag, made: Mapping[str, bytes], left_out: dict[str, str]
) -> Rebuilt:
    """Return the files with what describes them; description and label are those of the payload of then."""
    try:
        bagged_on = date.fromisoformat(bag.info.get("Bagging-Date", ""))
    except ValueError:
        left_out |= dict.fromkeys(
            ("bag-info.txt", f"data/{README}", f"data/{METADATA}"), "the bag does not say when it was packed"
        )
        bagged_on = date.min
    of_study = with_house_files(folder, study_files(folder), file_hashes(report.provenance))
    payload = _payload(report, of_study, made, bagged_on)
    # What describes the bag is held against what lies in it, not against what would lie in it today.
    then = bag.below("data/")
    label = bag_files(report.study, then, bagged_on, _builder())
    then.pop(METADATA, None)
    files = {f"data/{name}": data for name, data in payload.items()}
    files[f"data/{METADATA}"] = metadata(report.study, report.provenance, then, bagged_on)
    files["bag-info.txt"] = label["bag-info.txt"]
    return Rebuilt(files, left_out)


def _theme_of(own: Mapping[str, bytes], store: Store) -> Theme:
    """Return the shipped theme of which a report holds most files."""
    held = [(theme, assets(theme, store)) for theme in map(load_theme, _THEMES)]
    return max(held, key=lambda one: sum(own.get(name) == data for name, data in one[1]))[0]

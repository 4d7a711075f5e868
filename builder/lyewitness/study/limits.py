"""The limits that study.toml sets.

In: the document and the markers. Out: `Limit`s and problems.
"""

from lyewitness.study.gathering import listed, suggestion
from lyewitness.study.records import Limit, Marker
from lyewitness.study.toml_records import Table, TomlReading, known_words
from lyewitness.words.metrics import LIMITED


def read_limits(reading: TomlReading, document: Table, markers: tuple[Marker, ...]) -> tuple[Limit, ...]:
    """Return `[limits]`; each metric has one table, or a list of tables for different markers."""
    section = document.get("limits", {})
    if not isinstance(section, dict):
        reading.note("limits", f"{section!r}", "a table", "Write [limits] with one metric a line.")
        return ()
    limits = []
    for metric, bounds in section.items():
        path = f"limits.{metric}"
        if metric not in LIMITED:
            cure = suggestion(metric, LIMITED, "Use one of these names.")
            reading.note(path, f"the metric '{metric}'", f"one of {listed(LIMITED, 20)}", cure)
            continue
        for bound in bounds if isinstance(bounds, list) else [bounds]:
            if isinstance(bound, int | float):
                cure = f"Write {metric} = {{ at_most = {bound:g} }}, or at_least, or one in percent."
                reading.note(path, f"{bound:g}", "a table with one bound", cure)
                continue
            limit = reading.record(path, bound, Limit, metric=metric)
            if limit is not None and _good_limit(reading, path, limit, markers):
                limits.append(limit)
    return tuple(limits)


def _good_limit(reading: TomlReading, path: str, limit: Limit, markers: tuple[Marker, ...]) -> bool:
    """Note a limit without exactly one positive bound, or about markers that do not exist."""
    bounds = [limit.at_least_percent, limit.at_most_percent, limit.at_least, limit.at_most]
    given = [bound for bound in bounds if bound is not None]
    if len(given) != 1 or given[0] <= 0:
        reading.note(
            path,
            f"{len(given)} bounds" if len(given) != 1 else f"{given[0]:g}",
            "one of at_least_percent, at_most_percent, at_least, at_most, above zero",
            "Write for instance { at_least_percent = 80 }.",
        )
        return False
    return known_words(reading, f"{path}.markers", limit.markers, [marker.id for marker in markers], "marker")

"""The injections: a table of all, and a page for each with its trace and its peaks.

In: `Site`. Out: `Sheet`s, in the order of exposure along each column.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lyewitness.pages.cells import heads
from lyewitness.pages.site import Site
from lyewitness.pages.tables import number, table, words
from lyewitness.pages.views import Cell, Fact, Link, Row, Sheet, TableView
from lyewitness.peaks.records import FLAGS, PeakRow
from lyewitness.study.records import Injection
from lyewitness.words.metrics import SHOWN, metric_name, places_in, unit_of
from lyewitness.words.phrases import exposure_and_volumes

INDEX = "injections/index.html"


def injection_sheets(site: Site) -> Iterator[Sheet]:
    """Yield the table of all injections, then each with its neighbours on its column."""
    injections = site.report.study.injections
    listed = injection_table(site, injections, INDEX, "table-injections")
    yield Sheet(
        INDEX, "injections.html", site.say("injections.title"), {"injections": listed}, part="injections"
    )
    for column in site.report.study.columns:
        along = along_column(site, column.id)
        links = [site.link("injection", injection.id) for injection in along]
        for place, injection in enumerate(along):
            yield Sheet(
                path=site.addresses.page("injection", injection.id),
                template="injection.html",
                title=site.say("injection.title", id=injection.id),
                content=injection_content(site, injection),
                crumbs=(
                    Link(site.say("nav.columns"), "columns/index.html"),
                    site.link("column", column.id, column.label),
                ),
                part="injections",
                before=links[place - 1] if place else None,
                after=links[place + 1] if place + 1 < len(links) else None,
            )


def along_column(site: Site, column: str) -> list[Injection]:
    """Return the injections of `column` in the order of their exposure."""
    own = [injection for injection in site.report.study.injections if injection.column == column]
    return sorted(own, key=lambda injection: exposure_of(site, injection.id)[0] or 0.0)


def exposure_of(site: Site, injection: str) -> tuple[float | None, float | None]:
    """Return (hours, column volumes) at which an injection stands."""
    rows = site.rows.get(injection, ())
    return (rows[0].exposure_h, rows[0].exposure_cv) if rows else (None, None)


def injection_content(site: Site, injection: Injection) -> dict[str, object]:
    """Return what the page of one injection shows."""
    path = site.addresses.page("injection", injection.id)
    rows = site.rows.get(injection.id, ())
    trace = site.report.traces.get(injection.id)
    hours, volumes = exposure_of(site, injection.id)
    flags = dict.fromkeys(flag for row in rows for flag in row.flags)
    unassigned = site.report.measurements.unassigned.get(injection.id, ())
    return {
        "injection": injection.id,
        "column": site.link("column", injection.column, site.report.study.column(injection.column).label),
        "mark": site.marks.get(site.report.study.column(injection.column).group),
        "exposure": exposure_and_volumes(hours, volumes),
        "left_out": "" if injection.used else injection.why,
        "figures": site.figures_at(path),
        "peaks": _peaks(site, rows, path),
        "flags": [Fact(flag, flag, FLAGS[flag]) for flag in flags],
        "absent": [Fact(row.marker, row.marker, row.absent_because) for row in rows if not row.found],
        "unassigned": [
            site.say("injection.unassigned_at", time=number(peak.apex_min, "retention_time_min").text)
            for peak in unassigned
        ],
        "facts": _file_facts(site, injection),
        "cautions": trace.cautions if trace else (),
        "viewer": f"traces.html#show={injection.id}",
    }


def _peaks(site: Site, rows: Sequence[PeakRow], path: str) -> TableView:
    """Return the metrics of every marker: one row a metric, one column a marker."""
    title = site.say("injection.peaks_title")
    lines = []
    for metric in SHOWN:
        values = [getattr(row, metric) for row in rows]
        places = places_in(metric, values)
        unit = unit_of(metric, site.signal_unit)
        label = metric_name(metric) + (f" / {unit}" if unit else "")
        lines.append(Row((words(label), *(number(value, metric, places) for value in values))))
    lines.append(Row((words(site.say("heads.flags")), *(words(", ".join(row.flags)) for row in rows))))
    return table(
        "table-peaks",
        title,
        (site.say("heads.metric"), *(row.marker for row in rows)),
        lines,
        csv="data/measurements.csv",
        cite=site.cite(site.say("cite.table"), title, f"{path}#table-peaks"),
        home=f"{path}#table-peaks",
    )


def _file_facts(site: Site, injection: Injection) -> list[Fact]:
    trace = site.report.traces.get(injection.id)
    facts = {"file": injection.file, "place": injection.place}
    if trace:
        facts |= {
            "trace": trace.name,
            "format": trace.format,
            "signal_unit": trace.signal_unit,
            "time_unit": trace.time_unit,
            "points": str(trace.time_min.size),
            "acquired_at": trace.acquired_at,
            "sha256": trace.sha256,
        }
    return [Fact(key, site.say(f"facts.{key}"), text) for key, text in facts.items() if text]


def injection_table(site: Site, injections: Sequence[Injection], path: str, anchor: str) -> TableView:
    """Return a table of injections with the deciding metric; what is left out is struck, with its reason."""
    marker, metric = site.report.judgement.deciding
    values = {row.injection: row for row in site.report.measurements.rows if row.marker == marker}
    places = places_in(metric, [getattr(row, metric, None) for row in values.values()])
    title = site.say("injections.table_title")
    lines = [_line(site, one, values.get(one.id), metric, places) for one in injections]
    names = (
        *heads(site, "injection", "column", "exposure_h", "exposure_cv"),
        f"{metric_name(metric)} ({marker})" if marker else metric_name(metric),
        *heads(site, "flags", "used"),
    )
    if len({one.column for one in injections}) == 1 and path != INDEX:
        names, lines = _without_column(names, lines)
    return table(
        anchor,
        title,
        names,
        lines,
        csv="data/measurements.csv",
        cite=site.cite(site.say("cite.table"), title, f"{path}#{anchor}"),
        home=f"{path}#{anchor}",
    )


def _without_column(names: tuple[str, ...], lines: list[Row]) -> tuple[tuple[str, ...], list[Row]]:
    """Leave out the name of the column, which the page itself bears."""
    return names[:1] + names[2:], [replace(row, cells=row.cells[:1] + row.cells[2:]) for row in lines]


def _line(site: Site, injection: Injection, row: PeakRow | None, metric: str, places: int) -> Row:
    hours, volumes = exposure_of(site, injection.id)
    flags: tuple[str, ...] = tuple(
        dict.fromkeys(f for one in site.rows.get(injection.id, ()) for f in one.flags)
    )
    used: Cell = words(
        site.say("common.yes") if injection.used else site.say("injections.left_out", why=injection.why)
    )
    return Row(
        (
            site.cell("injection", injection.id),
            site.cell("column", injection.column, site.report.study.column(injection.column).label),
            number(hours, "exposure_h"),
            number(volumes, "exposure_cv"),
            number(getattr(row, metric, None) if row else None, metric, places),
            words(", ".join(flags)),
            used,
        ),
        id=f"row-{site.addresses.page('injection', injection.id).rpartition('/')[2].removesuffix('.html')}",
        struck=not injection.used,
    )

"""The injections: a table of all, a page for each with its trace and its peaks, and a summary for paper.

In: `Edition`. Out: `Part`s, in the order of exposure along each column.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from urllib.parse import quote

from lyewitness.document.blocks import (
    Beside,
    Block,
    Cell,
    Column,
    Fact,
    Facts,
    Link,
    Listing,
    Part,
    Prose,
    Row,
    Section,
    Struck,
    Table,
    Words,
)
from lyewitness.document.edition import Edition, Run
from lyewitness.document.proof import injection_past, viewer_address
from lyewitness.document.tables import columns_of, facts_of, number, table, words
from lyewitness.document.turnings import Turnings, turnings_of
from lyewitness.figures.shares import Share, shares_of
from lyewitness.findings.records import DoubtfulInjection
from lyewitness.peaks.records import FLAGS, PeakRow
from lyewitness.study.records import Column as StudyColumn
from lyewitness.study.records import Injection
from lyewitness.words.metrics import SHOWN, metric_name, places_in, unit_of
from lyewitness.words.phrases import exposure, exposure_and_volumes


def on_screen(edition: Edition) -> Iterator[Part | Run]:
    """Yield the table of all injections, then each with its neighbours on its column, in runs."""
    path, say = edition.page("injections"), edition.say
    lead = (f"{say('injections.lead')} ", Link(say("injections.viewer"), edition.page("traces")))
    yield Part(
        key="injections",
        path=path,
        title=say("injections.title"),
        blocks=(
            Prose(lead, "lead"),
            injection_table(edition, edition.report.study.injections, f"{path}#table-injections"),
        ),
    )
    neighbours, turnings = dict(_neighbours(edition)), turnings_of(edition)
    for share in shares_of(edition.report).runs:
        yield _run(edition, share, neighbours, turnings)


Neighbours = tuple[Link | None, Link | None]


def _neighbours(edition: Edition) -> Iterator[tuple[str, Neighbours]]:
    """Yield each injection with what stands before and after it on its column."""
    for column in edition.report.study.columns:
        along = along_column(edition, column.id)
        links = tuple(edition.link("injection", injection.id) for injection in along)
        for place, injection in enumerate(along):
            yield injection.id, edition.neighbours(links, place)


def _run(edition: Edition, share: Share, neighbours: Mapping[str, Neighbours], turnings: Turnings) -> Run:
    """Return the pages of a run of injections, which are handed their share of the report alone."""
    own = share.report.study.injections
    paths = {one.id: edition.addresses.page("injection", one.id) for one in own}
    at_home = {path: edition.figures_at(path) for path in paths.values()}
    part = replace(
        edition,
        report=share.report,
        figures={},
        rows={one.id: edition.rows[one.id] for one in own if one.id in edition.rows},
        declines={},
        at_home=at_home,
        trails={},
        laid={},
    )
    beside = {one.id: neighbours[one.id] for one in own}
    turned = {one.id: turnings[one.id] for one in own if one.id in turnings}
    # Of all addresses a page of these uses those of its parts, of its column and its own.
    columns = [edition.addresses.of("column", name) for name in dict.fromkeys(one.column for one in own)]
    return Run(
        key="injections",
        pages=tuple(Link(_title(edition, one), paths[one.id]) for one in own),
        source=(share.digest, paths, columns, beside, turned, at_home, edition.exports),
        tell=lambda: tuple(_page(part, one, beside[one.id], turned.get(one.id, ())) for one in own),
    )


def _title(edition: Edition, injection: Injection) -> str:
    return edition.say("injection.title", id=injection.id)


def _page(edition: Edition, injection: Injection, beside: Neighbours, turned: tuple[Words, ...]) -> Part:
    """Return the page of one injection."""
    before, after = beside
    column = edition.report.study.column(injection.column)
    return Part(
        key="injections",
        path=edition.addresses.page("injection", injection.id),
        title=_title(edition, injection),
        blocks=tuple(_blocks(edition, injection, turned)),
        template="injection.html",
        crumbs=(
            Link(edition.say("nav.columns"), edition.page("columns")),
            edition.link("column", column.id, column.label),
        ),
        before=before,
        after=after,
        mark=edition.marks.get(column.group),
    )


def along_column(edition: Edition, column: str) -> list[Injection]:
    """Return the injections of `column` in the order of their exposure."""
    own = [injection for injection in edition.report.study.injections if injection.column == column]
    return sorted(own, key=lambda injection: exposure_of(edition, injection.id)[0] or 0.0)


def exposure_of(edition: Edition, injection: str) -> tuple[float | None, float | None]:
    """Return (hours, column volumes) at which an injection stands."""
    rows = edition.rows.get(injection, ())
    return (rows[0].exposure_h, rows[0].exposure_cv) if rows else (None, None)


def _blocks(edition: Edition, injection: Injection, turned: tuple[Words, ...]) -> Iterator[Block]:
    """Yield what the page of one injection shows."""
    path, say = edition.addresses.page("injection", injection.id), edition.say
    rows = edition.rows.get(injection.id, ())
    if not injection.used:
        left_out = say("injections.left_out", why=injection.why)
        yield Prose((Struck(injection.id), f" {left_out}"), "left-out")
    yield _where_from(edition, injection)
    yield from (Prose(one, "turned") for one in turned if one)
    yield from edition.figures_at(path)
    yield _peaks(edition, rows, f"{path}#table-peaks")
    flags = dict.fromkeys(flag for row in rows for flag in row.flags)
    absent = tuple(Fact(row.marker, row.marker, row.absent_because) for row in rows if not row.found)
    sections = (
        (say("injection.flags"), _facts(tuple(Fact(flag, flag, FLAGS[flag]) for flag in flags))),
        (say("injection.absent"), _facts(absent)),
        (say("injection.unassigned"), _unassigned(edition, injection)),
        (
            say("injection.file"),
            (_exported(edition, injection), Facts(_file_facts(edition, injection), "facts wide")),
        ),
    )
    yield from (Section(heading, blocks, apart=False) for heading, blocks in sections if blocks)


def _where_from(edition: Edition, injection: Injection) -> Beside:
    """Return on which column an injection was made and after what; beside it what its trace asks to mind."""
    say, trace = edition.say, edition.report.traces.get(injection.id)
    column = edition.link("column", injection.column, edition.report.study.column(injection.column).label)
    exposure = exposure_and_volumes(*exposure_of(edition, injection.id))
    viewer = Link(say("injection.viewer"), viewer_address(edition, (injection.id,)) or edition.page("traces"))
    sentence = (f"{say('injection.on_column')} ", column, f", {say('injection.after')} {exposure}. ", viewer)
    cautions = trace.cautions if trace else ()
    return Beside(sentence, tuple(Prose((one,), "rests") for one in cautions), lead=True)


def _facts(facts: tuple[Fact, ...]) -> tuple[Facts, ...]:
    return (Facts(facts),) if facts else ()


def _unassigned(edition: Edition, injection: Injection) -> tuple[Listing, ...]:
    """Return when the peaks that belong to no marker stood."""
    peaks = edition.report.measurements.unassigned.get(injection.id, ())
    times = (number(peak.apex_min, "retention_time_min").text for peak in peaks)
    lines = tuple((edition.say("injection.unassigned_at", time=time),) for time in times)
    return (Listing(lines),) if lines else ()


def _peaks(edition: Edition, rows: Sequence[PeakRow], home: str) -> Table:
    """Return the metrics of every marker: one row a metric, one column a marker."""
    lines = []
    for metric in SHOWN:
        values = [getattr(row, metric) for row in rows]
        places = places_in(metric, values)
        unit = unit_of(metric, edition.signal_unit)
        label = metric_name(metric) + (f" / {unit}" if unit else "")
        lines.append(Row((words(label), *(number(value, metric, places) for value in values))))
    lines.append(Row((words(edition.say("heads.flags")), *(words(", ".join(row.flags)) for row in rows))))
    markers = (Column(f"marker {row.marker}", row.marker) for row in rows)
    return table(
        edition,
        home,
        edition.say("injection.peaks_title"),
        (*columns_of(edition, "metric"), *markers),
        lines,
        csv="data/measurements.csv",
    )


def _exported(edition: Edition, injection: Injection) -> Prose:
    """Return the way to the exported file where the report has one, else where the file lies."""
    if not edition.exports:
        return Prose((edition.say("injection.elsewhere"),))
    href = f"{edition.exports}{quote(injection.file)}"
    return Prose((f"{edition.say('injection.exported')} ", Link(injection.file, href), "."))


def _file_facts(edition: Edition, injection: Injection) -> tuple[Fact, ...]:
    trace = edition.report.traces.get(injection.id)
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
    return facts_of(edition, facts)


def injection_table(
    edition: Edition, injections: Sequence[Injection], home: str, of_one_column: bool = False
) -> Table:
    """Return a table of injections with the deciding metric; what is left out is struck, with its reason.

    Where all are `of_one_column`, the page itself bears its name.
    """
    marker, metric = edition.report.judgement.deciding
    values = {row.injection: row for row in edition.report.measurements.rows if row.marker == marker}
    places = places_in(metric, [getattr(row, metric, None) for row in values.values()])
    doubts = {one.injection: one for one in edition.report.findings.doubtful}
    decides = Column("deciding", f"{metric_name(metric)} ({marker})" if marker else metric_name(metric))
    columns = (
        *columns_of(edition, "injection", "column", "exposure_h", "exposure_cv"),
        decides,
        *columns_of(edition, "flags", "used"),
    )
    lines = [
        _line(edition, one, values.get(one.id), metric, places, doubts.get(one.id)) for one in injections
    ]
    pasts = {injection_past(one) for key, one in edition.declines.items() if key[1:] == (marker, metric)}
    lines = [
        _turned(edition, row) if one.id in pasts else row for one, row in zip(injections, lines, strict=True)
    ]
    if of_one_column and injections:
        columns, lines = _of_its_reference(edition, injections, columns, lines)
    title = edition.say("injections.table_title")
    style = "own-injections" if of_one_column else "injections"
    return table(edition, home, title, columns, lines, csv="data/measurements.csv", style=style)


def _turned(edition: Edition, row: Row) -> Row:
    """Return the row of the first injection past the deciding limit, which says so."""
    told = replace(row.cells[4], title=edition.say("proof.past"))
    return replace(row, cells=(*row.cells[:4], told, *row.cells[5:]), turning=True)


def _of_its_reference(
    edition: Edition, injections: Sequence[Injection], columns: tuple[Column, ...], lines: list[Row]
) -> tuple[tuple[Column, ...], list[Row]]:
    """Tell values in percent of the reference, and where they first pass the limit, for the column's name."""
    marker, metric = edition.report.judgement.deciding
    decline = edition.declines.get((injections[0].column, marker, metric))
    if decline is None:
        places = [place for place, column in enumerate(columns) if column.key != "column"]
        bare = [replace(row, cells=tuple(row.cells[place] for place in places)) for row in lines]
        return tuple(columns[place] for place in places), bare
    values = {row.injection: row for row in edition.report.measurements.rows if row.marker == marker}
    told = []
    for one, row in zip(injections, lines, strict=True):
        value = getattr(values[one.id], metric, None) if one.id in values else None
        share = 100 * value / decline.reference_value if value and decline.reference_value else None
        cell = number(share, "percent", 1)
        if row.turning:
            cell = replace(cell, title=edition.say("proof.past"))
        # That the limit was passed is said once in a row.
        before, after = tuple(replace(old, title="") for old in row.cells[2:-2]), row.cells[-2:]
        told.append(replace(row, cells=(row.cells[0], *before, cell, *after)))
    heads = (columns[0], *columns[2:-2], *columns_of(edition, "of_reference"), *columns[-2:])
    return heads, told


def _line(
    edition: Edition,
    injection: Injection,
    row: PeakRow | None,
    metric: str,
    places: int,
    doubt: DoubtfulInjection | None,
) -> Row:
    hours, volumes = exposure_of(edition, injection.id)
    flags: tuple[str, ...] = tuple(
        dict.fromkeys(f for one in edition.rows.get(injection.id, ()) for f in one.flags)
    )
    told = (edition.say("injections.doubtful"), *flags) if doubt else flags
    name = edition.addresses.page("injection", injection.id).rpartition("/")[2].removesuffix(".html")
    used: Cell = words(
        edition.say("common.yes") if injection.used else edition.say("injections.left_out", why=injection.why)
    )
    return Row(
        (
            edition.cell("injection", injection.id),
            edition.cell("column", injection.column, edition.report.study.column(injection.column).label),
            number(hours, "exposure_h"),
            number(volumes, "exposure_cv"),
            number(getattr(row, metric, None) if row else None, metric, places),
            words(", ".join(told), title=f"{doubt.named}: {doubt.why}" if doubt else ""),
            used,
        ),
        id=f"row-{name}",
        struck=not injection.used,
        told=bool(told),
    )


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield how many injections each column had, over which exposure, and which were left out."""
    path, say = edition.page("injections"), edition.say
    columns = (
        *columns_of(edition, "column", "injections_used", "exposure_h"),
        Column("left_out", say("print.left_out")),
    )
    rows = [_summed(edition, column) for column in edition.report.study.columns]
    yield Part(
        key="injections",
        path=path,
        title=say("injections.title"),
        blocks=(
            Prose((say("print.injections"),), "lead"),
            table(edition, f"{path}#table-injections", say("injections.table_title"), columns, rows),
        ),
    )


def _summed(edition: Edition, column: StudyColumn) -> Row:
    along = along_column(edition, column.id)
    hours = [hour for one in along if (hour := exposure_of(edition, one.id)[0]) is not None]
    left_out = "; ".join(f"{one.id}: {one.why}" if one.why else one.id for one in along if not one.used)
    reach = f"{exposure(min(hours))} … {exposure(max(hours))}" if hours else ""
    used = sum(one.used for one in along)
    return Row(
        (
            Cell(column.label, mark=edition.marks.get(column.group)),
            words(edition.say("print.used_of", used=used, all=len(along))),
            words(reach),
            words(left_out),
        )
    )

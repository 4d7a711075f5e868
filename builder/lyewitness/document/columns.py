"""The columns: an index by group, a page a column, and what of both is read on paper.

In: `Edition`. Out: `Part`s.
"""

from collections.abc import Iterator
from dataclasses import replace

from lyewitness.decline.records import Comparison, Decline, FirstFailure
from lyewitness.document.blocks import (
    BandedTable,
    Beside,
    Block,
    Cell,
    Facts,
    FigureBlock,
    Link,
    Listing,
    Part,
    Piece,
    Prose,
    Row,
    Section,
    Table,
)
from lyewitness.document.edition import Edition
from lyewitness.document.injections import injection_table
from lyewitness.document.proof import proof_of_decline
from lyewitness.document.signs import signs_of
from lyewitness.document.tables import (
    HELD,
    aside_words,
    banded,
    column_facts,
    columns_of,
    dashed,
    in_line,
    lettered,
    life_cell,
    linked,
    marker_cell,
    number,
    sized,
    table,
    untitled,
    words,
)
from lyewitness.findings.answer.reservations import own_reservations
from lyewitness.findings.because import has_number
from lyewitness.findings.ends import UNSEEN, end_of
from lyewitness.study.records import Column
from lyewitness.words.estimates import Estimate
from lyewitness.words.lives import limit_text, tell, when
from lyewitness.words.metrics import any_of, metric_name, metric_text
from lyewitness.words.names import slug
from lyewitness.words.numbers import interval, p_value
from lyewitness.words.phrases import exposure, percent_of, quoted

DECLINES = ("marker", "metric", "reference", "remaining", "model", "rate", "limit", "life")
COMPARED = ("group_a", "group_b", "metric", "life_ratio", "p_adjusted", "finding", "method")
IN_GROUP = ("column", "particle", "bonding", "lot", "injections_used", "failed_first")


def on_screen(edition: Edition) -> Iterator[Part]:
    """Yield the index of the columns, then each column with its neighbours."""
    path = edition.page("columns")
    yield Part(
        key="columns",
        path=path,
        title=edition.say("columns.title"),
        blocks=(
            Prose((edition.say("columns.lead"),), "lead", explained=True),
            *(_group(edition, group) for group in edition.report.study.groups),
            *edition.figures_at(path),
            comparison_table(edition, ""),
        ),
    )
    columns = edition.report.study.columns
    links = tuple(edition.link("column", column.id, column.label) for column in columns)
    for place, column in enumerate(columns):
        before, after = edition.neighbours(links, place)
        yield Part(
            key="columns",
            path=edition.addresses.page("column", column.id),
            title=edition.say("column.title", label=column.label),
            blocks=tuple(_blocks(edition, column)),
            template="column.html",
            crumbs=(Link(edition.say("nav.columns"), path),),
            before=before,
            after=after,
            mark=edition.marks.get(column.group),
        )


def _group(edition: Edition, group: str) -> Section:
    """Return the columns of one group."""
    anchor = edition.addresses.anchor("group", group)
    mark = edition.marks.get(group)
    return Section(group, (_group_table(edition, group),), anchor, anchored=True, mark=mark)


def _blocks(edition: Edition, column: Column) -> Iterator[Block]:
    """Yield what the page of one column shows."""
    path, say = edition.addresses.page("column", column.id), edition.say
    begun = (_begun(edition, column), edition.link("group", column.group), ".")
    proof = _first_proof(edition, column)
    seen = (f" {say('proof.look')} ", proof, ".") if proof else ()
    yield Beside(
        (*begun, *seen, *_history(edition, column)),
        (Facts(column_facts(edition, column)),),
        lead=True,
        explained=True,
    )
    yield from edition.figures_at(path)
    yield decline_table(edition, column)
    study = edition.report.study
    injections = [one for one in study.injections if one.column == column.id]
    sections = (
        Section(say("column.outlying"), _outlying(edition, column), "outlying"),
        Section(say("column.reasons"), _reasons(edition, column), "reasons"),
        Section(say("column.signs"), tuple(signs_of(edition, column.id)), "signs"),
        Section(
            say("column.injections"),
            (injection_table(edition, injections, f"{path}#table-injections", of_one_column=True),),
            "injections",
        ),
        Section(say("column.images"), (*_pictures(edition, column), *_images(edition, column)), "images"),
        Section(say("column.notes"), _notes(edition, column), "notes"),
    )
    yield from (section for section in sections if section.blocks)


def _history(edition: Edition, column: Column) -> Iterator[str | Link]:
    """Yield why a column was taken out, which took its place or had it before, and what it ran at."""
    study, say = edition.report.study, edition.say
    for part in (*ended_words(edition, column), *own_reservations(study, column)):
        yield f" {part}"
    before = [one for one in study.columns if one.id == column.replaces]
    after = [one for one in study.columns if one.replaces == column.id]
    for key, others in (("replaces", before), ("replaced", after)):
        for other in others:
            yield f" {say(f'column.{key}')} "
            yield edition.link("column", other.id, other.label)
            yield "."


def ended_words(edition: Edition, column: Column) -> Iterator[str]:
    """Yield when the stress of a column was ended on purpose, and why, as the study says it."""
    if column.ended is None:
        return
    end = end_of(edition.report.study, edition.report.measurements, column)
    by_clock = "" if isinstance(column.ended, float) else f" ({column.ended:%Y-%m-%d %H:%M})"
    why = f": {quoted(end.because)}" if end.because else ""
    yield edition.say("column.ended", when=f"{exposure(end.ran_h)}{by_clock}", why=why)
    if end.ran_on:
        yield edition.say("column.last_seen", when=exposure(end.seen_h))


def _begun(edition: Edition, column: Column) -> str:
    """Return what failed first on a column; its group follows."""
    first = next((one for one in edition.report.judgement.first_failures if one.column == column.id), None)
    told = failed_words(edition, first) if first else edition.say("column.not_judged")
    return f"{told} {edition.say('column.of_group')} "


def _first_proof(edition: Edition, column: Column) -> Link | None:
    """Return the way to the traces on either side of what failed first; else to those at the ends."""
    first = next((one for one in edition.report.judgement.first_failures if one.column == column.id), None)
    marker, metric = (first.marker, first.metric) if first else ("", "")
    found = edition.declines.get((column.id, marker, metric))
    if found is None:
        found = edition.declines.get((column.id, *edition.report.judgement.deciding))
    return proof_of_decline(edition, found) if found else None


def _images(edition: Edition, column: Column) -> tuple[Listing, ...]:
    images = [image for image in edition.report.study.images if image.column == column.id]
    links = tuple((edition.link("image", image.id, image.caption),) for image in images)
    return (Listing(links),) if links else ()


def _notes(edition: Edition, column: Column) -> tuple[Listing, ...]:
    notes = [note for note in edition.report.study.notes if ("column", column.id) in note.references]
    links = tuple((edition.link("note", note.id, note.title),) for note in notes)
    return (Listing(links),) if links else ()


def _pictures(edition: Edition, column: Column) -> tuple[FigureBlock, ...]:
    """Return the pictures of a column; those that belong together as the one picture made of them."""
    images = [image for image in edition.report.study.images if image.column == column.id]
    names = [(f"pair-{slug(image.pair)}", f"image-{slug(image.id)}") for image in images]
    found = (edition.figure(pair) or edition.figure(single) for pair, single in names)
    return tuple(dict.fromkeys(view for view in found if view))


def failed_words(edition: Edition, first: FirstFailure) -> str:
    """Return what failed first on a column, as a sentence."""
    if not first.metric:
        report = edition.report
        end = end_of(report.study, report.measurements, report.study.column(first.column))
        sure = first.life.hours.low
        if sure is None or sure >= (1 - UNSEEN) * end.seen_h:
            return edition.say("column.nothing_failed", seen=exposure(end.seen_h))
        return edition.say("column.nothing_surely", seen=exposure(end.seen_h), sure=exposure(sure))
    key = "failed_first_tied" if first.tied_with else "failed_first"
    what = any_of(((first.marker, first.metric), *first.tied_with))
    return edition.say(f"column.{key}", what=what, life=when(first.life))


def metric_of(metric: str, marker: str) -> str:
    """Return a metric with its marker, or alone where it is the column's own."""
    return f"{metric_name(metric)} ({marker})" if marker else metric_name(metric)


def decline_table(edition: Edition, column: Column) -> Table:
    """Return every judged metric of one column."""
    judged = [one for one in edition.report.judgement.declines if one.series.column == column.id]
    return table(
        edition,
        f"{edition.addresses.page('column', column.id)}#table-declines",
        edition.say("column.declines_title", label=column.label),
        columns_of(edition, *DECLINES),
        [_decline_row(edition, decline) for decline in judged],
        csv="data/decline.csv",
        note=edition.say(
            "column.declines_note", confidence=percent_of(edition.report.study.choices.confidence)
        ),
        style="declines",
    )


def _decline_row(edition: Edition, decline: Decline) -> Row:
    series = decline.series
    return Row(
        (
            marker_cell(edition, series.marker),
            words(metric_name(series.metric)),
            sized(
                metric_text(series.metric, decline.reference_value, edition.signal_unit),
                decline.reference_value,
            ),
            sized(interval(decline.remaining, "%"), decline.remaining.value),
            _model_words(decline),
            sized(_rate_words(decline), decline.rate_per_h.value),
            words(limit_text(decline.limit)),
            life_cell(
                edition,
                decline.life,
                decline.reason,
                proof_of_decline(edition, decline),
                decline.as_measured,
                aside_words(edition, decline),
            ),
        ),
        id=edition.addresses.anchor("decline", f"{series.column}/{series.marker}/{series.metric}"),
    )


AS_STEADY = 5.0
"""% of the reference within which a course passes for steady: plates and symmetry repeat no better."""


def _model_words(decline: Decline) -> Cell:
    """Return the name of the simple curve; none where the best of them is steady and the metric is not.

    A column that dies at once fits no simple curve, and the least wrong one would say that it held.
    """
    if decline.model is None:
        return words("–")
    left = decline.remaining
    moved = (
        left.low is not None
        and left.high is not None
        and not (left.low <= 100.0 + AS_STEADY and left.high >= 100.0 - AS_STEADY)
    )
    named = decline.model.name != "steady" or not moved
    return words(decline.model.name) if named else words("–", title="no simple curve describes it")


def _rate_words(decline: Decline) -> str:
    """Return the rate in thousandths an hour, as the head of its column says."""
    rate = decline.rate_per_h
    if rate.value is None:
        return rate.reason or "–"
    value, low, high = (None if one is None else one * 1000 for one in (rate.value, rate.low, rate.high))
    return interval(Estimate(value, low, high))


def reason_lines(edition: Edition, column: Column) -> list[str]:
    """Return why something is missing on this column, each with what it is about."""
    return [
        f"{metric_of(one.series.metric, one.series.marker)}: {one.reason}"
        for one in edition.report.judgement.declines
        if one.series.column == column.id and one.reason
    ]


def _reasons(edition: Edition, column: Column) -> tuple[Listing, ...]:
    lines = tuple((line,) for line in reason_lines(edition, column))
    return (Listing(lines, explained=True),) if lines else ()


def _outlying(edition: Edition, column: Column) -> tuple[Listing, ...]:
    """Return each metric with its outlying injections, which are shown but left out of curve and life."""
    lines = tuple(
        (
            f"{metric_of(one.series.metric, one.series.marker)}: ",
            *linked(edition.link("injection", injection) for injection in ringed),
            ".",
        )
        for one in edition.report.judgement.declines
        if one.series.column == column.id
        and (ringed := [name for name in one.outlying if name not in one.doubted])
    )
    return (Listing(lines),) if lines else ()


def comparison_table(edition: Edition, marker: str) -> Table:
    """Return the comparisons of groups by one marker, or by what is the column's own."""
    page = edition.addresses.page("marker", marker) if marker else edition.page("columns")
    confidence = percent_of(edition.report.study.choices.confidence)
    told = any(
        one.marker == marker and has_number(one.ratio) for one in edition.report.judgement.factor_effects
    )
    of_factors = f" {edition.say('comparison.of_factors')}" if told else ""
    return table(
        edition,
        f"{page}#table-comparisons",
        edition.say("comparison.title"),
        columns_of(edition, *COMPARED),
        [_comparison_row(edition, pair) for pair in _pairs_of(edition, marker)],
        csv="data/comparisons.csv",
        note=f"{edition.say('comparison.note', confidence=confidence)}{of_factors}",
        style="stacked",
    )


def _pairs_of(edition: Edition, marker: str) -> list[Comparison]:
    return [pair for pair in edition.report.judgement.comparisons if pair.marker == marker]


def _comparison_row(edition: Edition, pair: Comparison) -> Row:
    finding = edition.say(f"comparison.{pair.finding.replace(' ', '_')}", a=pair.group_a, b=pair.group_b)
    return Row(
        (
            edition.group_cell(pair.group_a),
            edition.group_cell(pair.group_b),
            words(metric_name(pair.metric)),
            sized(interval(pair.life_ratio), pair.life_ratio.value),
            sized(p_value(pair.p_adjusted), pair.p_adjusted),
            # A ratio that cannot be told has said why beside it.
            words(finding, title="" if pair.reason == pair.life_ratio.reason else pair.reason),
            words(pair.method),
        ),
        id=edition.addresses.anchor(
            "comparison", "/".join((pair.group_a, pair.group_b, pair.marker, pair.metric))
        ),
    )


def _group_table(edition: Edition, group: str) -> Table:
    home = f"{edition.addresses.of('group', group)}.table"
    return table(
        edition,
        home,
        edition.say("columns.group_title", group=group),
        columns_of(edition, *IN_GROUP),
        [_group_row(edition, column) for column in edition.report.study.replicates(group)],
        csv="data/decline.csv",
        style="stacked",
    )


def _group_row(edition: Edition, column: Column) -> Row:
    first = next((one for one in edition.report.judgement.first_failures if one.column == column.id), None)
    used = sum(one.column == column.id and one.used for one in edition.report.study.injections)
    told = failed_words(edition, first) if first else edition.say("column.not_judged")
    return Row(
        (
            edition.cell("column", column.id, column.label),
            words(column.particle),
            words(column.bonding),
            words(column.lot),
            number(used, "count", 0),
            replace(
                words(" ".join((told, *ended_words(edition, column)))),
                proof=_first_proof(edition, column),
            ),
        )
    )


def on_paper(edition: Edition) -> Iterator[Part]:
    """Yield the columns as one part: what was followed by marker, and the one figure that holds the most."""
    confidence = percent_of(edition.report.study.choices.confidence)
    columns = edition.report.study.columns
    yield Part(
        key="columns",
        path=edition.page("columns"),
        title=edition.say("columns.title"),
        blocks=(
            Prose((edition.say("print.columns", confidence=confidence),), "lead"),
            *((pairs_on_paper(edition, ""),) if _any_told(edition) else ()),
            *(_piece(edition, column, is_first=place == 0) for place, column in enumerate(columns)),
        ),
    )


def _piece(edition: Edition, column: Column, is_first: bool) -> Piece:
    page = edition.addresses.page("column", column.id)
    reasons = " ".join(reason_lines(edition, column))
    verdicts = "".join(f" {one}" for one in _verdicts(edition, column))
    apart = (*ended_words(edition, column), *own_reservations(edition.report.study, column))
    history = "".join(f" {one}" for one in apart)
    return Piece(
        page=page,
        id=column.id,
        label=column.label,
        mark=edition.marks.get(column.group),
        text=f"{_begun(edition, column)}{column.group}.{history}{verdicts}",
        facts=in_line(column_facts(edition, column)),
        blocks=(
            _declines_on_paper(edition, column),
            *((Prose((reasons,), "note"),) if reasons else ()),
            *edition.figures_at(page)[:1],
        ),
        style="column first" if is_first else "column",
        see=Link(edition.say("print.see"), edition.page("signs")) if verdicts else None,
        rest=next((view.low for view in edition.figures_at(page) if view.low), None),
    )


def _declines_on_paper(edition: Edition, column: Column) -> BandedTable:
    """Return what was followed on a column, by marker; what no limit was set for gets a dash."""
    declines = banded(decline_table(edition, column), by=("marker",), without=("limit",), style="declines")
    unlimited = {
        tell(one.life)
        for one in edition.report.judgement.declines
        if one.series.column == column.id and one.limit is None
    }
    title = edition.say("print.declines_of", label=column.label)
    plain = replace(untitled(dashed(declines, unlimited)), title=title, note="")
    return lettered(plain, "life", longest=HELD)


def _verdicts(edition: Edition, column: Column) -> Iterator[str]:
    """Yield which ways of failing the signs on a column speak for, and which they leave open."""
    for verdict in ("speaks for", "cannot tell"):
        names = [
            sign.mechanism
            for sign in edition.report.findings.signs
            if sign.column == column.id and sign.verdict == verdict
        ]
        if names:
            yield edition.say(f"print.{verdict.replace(' ', '_')}", what="; ".join(names))


def _any_told(edition: Edition) -> bool:
    """Return whether any comparison by what is the column's own has a ratio or a p value."""
    pairs = _pairs_of(edition, "")
    return any(has_number(one.life_ratio) or one.p_value is not None for one in pairs)


def pairs_on_paper(edition: Edition, marker: str) -> BandedTable:
    """Return the groups compared by one marker, or by what is the column's own, metric by metric."""
    told = dashed(
        banded(_told_in_full(edition, marker), by=("metric",), style="pairs"),
        {one.life_ratio.reason for one in _pairs_of(edition, marker)},
    )
    return lettered(told if marker == _first_compared(edition) else replace(told, note=""), "method")


def _first_compared(edition: Edition) -> str:
    """Return the marker whose comparisons stand first: what holds for all of them is said there only."""
    compared = {one.marker for one in edition.report.judgement.comparisons}
    in_order = ["", *(one.id for one in edition.report.study.markers)]
    return next((marker for marker in in_order if marker in compared), "")


def _told_in_full(edition: Edition, marker: str) -> Table:
    """Return the comparisons with what keeps one from being settled told beside its method."""
    view = comparison_table(edition, marker)
    place = COMPARED.index("method")
    rows = []
    for row, pair in zip(view.rows, _pairs_of(edition, marker), strict=True):
        told = "; ".join(text for text in (pair.method, pair.reason) if text not in ("", "none"))
        cells: list[Cell] = [replace(cell, title="") for cell in row.cells]
        cells[place] = words(told)
        rows.append(replace(row, cells=tuple(cells)))
    return replace(view, rows=tuple(rows))

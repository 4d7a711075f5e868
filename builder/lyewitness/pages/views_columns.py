"""The columns: an index by group, and a page a column.

In: `Site`. Out: `Sheet`s.
"""

from collections.abc import Iterator

from lyewitness.decline.records import Comparison, Decline, FirstFailure
from lyewitness.pages.addresses import row_id
from lyewitness.pages.cells import column_facts, heads, life_cell, marker_cell
from lyewitness.pages.site import Site
from lyewitness.pages.tables import number, sized, table, words
from lyewitness.pages.views import FigureView, Link, Row, Sheet, TableView
from lyewitness.pages.views_injections import injection_table
from lyewitness.pages.views_signs import signs_view
from lyewitness.study.records import Column
from lyewitness.words.estimates import Estimate
from lyewitness.words.limits import limit_text
from lyewitness.words.lives import tell
from lyewitness.words.metrics import metric_name, metric_text
from lyewitness.words.names import slug
from lyewitness.words.numbers import interval, p_value
from lyewitness.words.phrases import hours_text, percent_of

INDEX = "columns/index.html"


def column_sheets(site: Site) -> Iterator[Sheet]:
    """Yield the index of the columns, then each column with its neighbours."""
    yield _index(site)
    columns = site.report.study.columns
    links = [site.link("column", column.id, column.label) for column in columns]
    for place, column in enumerate(columns):
        yield Sheet(
            path=site.addresses.page("column", column.id),
            template="column.html",
            title=site.say("column.title", label=column.label),
            content=column_content(site, column),
            crumbs=(Link(site.say("nav.columns"), INDEX),),
            part="columns",
            before=links[place - 1] if place else None,
            after=links[place + 1] if place + 1 < len(links) else None,
        )


def column_content(site: Site, column: Column) -> dict[str, object]:
    """Return what the page of one column shows."""
    path = site.addresses.page("column", column.id)
    first = next((one for one in site.report.judgement.first_failures if one.column == column.id), None)
    return {
        "group": site.link("group", column.group),
        "mark": site.marks.get(column.group),
        "facts": column_facts(site, column),
        "failed_first": failed_words(site, first) if first else site.say("column.not_judged"),
        "declines": decline_table(site, column, path),
        "reasons": _reasons(site, column),
        "outlying": _outlying(site, column),
        "signs": signs_view(site, column.id),
        "figures": site.figures_at(path),
        "injections": injection_table(
            site,
            [one for one in site.report.study.injections if one.column == column.id],
            path,
            "table-injections",
        ),
        "images": [
            site.link("image", image.id, image.caption)
            for image in site.report.study.images
            if image.column == column.id
        ],
        "pictures": _pictures(site, column),
        "notes": [
            site.link("note", note.id, note.title)
            for note in site.report.study.notes
            if ("column", column.id) in note.references
        ],
    }


def _pictures(site: Site, column: Column) -> list[FigureView]:
    """Return the pictures of a column; those that belong together as the one picture made of them."""
    images = [image for image in site.report.study.images if image.column == column.id]
    names = [(f"pair-{slug(image.pair)}", f"image-{slug(image.id)}") for image in images]
    found = (site.figure(pair) or site.figure(single) for pair, single in names)
    return list(dict.fromkeys(view for view in found if view))


def failed_words(site: Site, first: FirstFailure) -> str:
    """Return what failed first on a column, as a sentence."""
    if not first.metric:
        tested = hours_text(first.life.hours.low)
        return site.say("column.nothing_failed", tested=tested)
    what = metric_name(first.metric)
    subject = site.say("column.of_marker", metric=what, marker=first.marker) if first.marker else what
    sentence = site.say("column.failed_first", what=subject, life=tell(first.life))
    if not first.tied_with:
        return sentence
    ties = ", ".join(metric_of(metric, marker) for marker, metric in first.tied_with)
    return f"{sentence} {site.say('column.tied', ties=ties)}"


def metric_of(metric: str, marker: str) -> str:
    """Return a metric with its marker, or alone where it is the column's own."""
    return f"{metric_name(metric)} ({marker})" if marker else metric_name(metric)


def decline_table(site: Site, column: Column, path: str) -> TableView:
    """Return every judged metric of one column."""
    rows = [
        _decline_row(site, decline)
        for decline in site.report.judgement.declines
        if decline.series.column == column.id
    ]
    title = site.say("column.declines_title", label=column.label)
    return table(
        "table-declines",
        title,
        heads(site, "marker", "metric", "reference", "remaining", "model", "rate", "limit", "life"),
        rows,
        csv="data/decline.csv",
        note=site.say("column.declines_note", confidence=percent_of(site.report.study.choices.confidence)),
        cite=site.cite(site.say("cite.table"), title, f"{path}#table-declines"),
        home=f"{path}#table-declines",
    )


def _decline_row(site: Site, decline: Decline) -> Row:
    series = decline.series
    return Row(
        (
            marker_cell(site, series.marker),
            words(metric_name(series.metric)),
            sized(
                metric_text(series.metric, decline.reference_value, site.signal_unit), decline.reference_value
            ),
            sized(interval(decline.remaining, "%"), decline.remaining.value),
            words(decline.model.name if decline.model else "–"),
            sized(_rate_words(decline), decline.rate_per_h.value),
            words(limit_text(decline.limit)),
            life_cell(site, decline.life, decline.reason),
        ),
        id=row_id("decline", series.marker, series.metric),
    )


def _rate_words(decline: Decline) -> str:
    """Return the rate in thousandths an hour, as the head of its column says."""
    rate = decline.rate_per_h
    if rate.value is None:
        return rate.reason or "–"
    value, low, high = (None if one is None else one * 1000 for one in (rate.value, rate.low, rate.high))
    return interval(Estimate(value, low, high))


def _reasons(site: Site, column: Column) -> list[str]:
    """Return why something is missing on this column, each with what it is about."""
    return [
        f"{metric_of(one.series.metric, one.series.marker)}: {one.reason}"
        for one in site.report.judgement.declines
        if one.series.column == column.id and one.reason
    ]


def _outlying(site: Site, column: Column) -> list[tuple[str, list[Link]]]:
    """Return each metric with the injections that lie outside the stated rule; they are kept."""
    return [
        (
            metric_of(one.series.metric, one.series.marker),
            [site.link("injection", injection) for injection in one.outlying],
        )
        for one in site.report.judgement.declines
        if one.series.column == column.id and one.outlying
    ]


def comparison_table(site: Site, pairs: list[Comparison], path: str) -> TableView:
    """Return the comparisons of groups in `pairs`."""
    title = site.say("comparison.title")
    return table(
        "table-comparisons",
        title,
        heads(site, "group_a", "group_b", "metric", "life_ratio", "p_adjusted", "finding", "method"),
        [_comparison_row(site, pair) for pair in pairs],
        csv="data/comparisons.csv",
        note=site.say("comparison.note", confidence=percent_of(site.report.study.choices.confidence)),
        cite=site.cite(site.say("cite.table"), title, f"{path}#table-comparisons"),
        home=f"{path}#table-comparisons",
    )


def _comparison_row(site: Site, pair: Comparison) -> Row:
    finding = site.say(f"comparison.{pair.finding.replace(' ', '_')}", a=pair.group_a, b=pair.group_b)
    return Row(
        (
            site.group_cell(pair.group_a),
            site.group_cell(pair.group_b),
            words(metric_name(pair.metric)),
            sized(interval(pair.life_ratio), pair.life_ratio.value),
            sized(p_value(pair.p_adjusted), pair.p_adjusted),
            words(finding, title=pair.reason),
            words(pair.method),
        ),
        id=row_id("comparison", pair.group_a, pair.group_b, pair.marker, pair.metric),
    )


def _index(site: Site) -> Sheet:
    return Sheet(
        path=INDEX,
        template="columns.html",
        title=site.say("columns.title"),
        content={
            "groups": [
                {
                    "id": f"group-{slug(group)}",
                    "name": group,
                    "mark": site.marks.get(group),
                    "table": _group_table(site, group),
                }
                for group in site.report.study.groups
            ],
            "comparisons": comparison_table(
                site, [pair for pair in site.report.judgement.comparisons if not pair.marker], INDEX
            ),
            "figures": site.figures_at(INDEX),
        },
        part="columns",
    )


def _group_table(site: Site, group: str) -> TableView:
    firsts = {one.column: one for one in site.report.judgement.first_failures}
    rows = []
    for column in site.report.study.replicates(group):
        first = firsts.get(column.id)
        rows.append(
            Row(
                (
                    site.cell("column", column.id, column.label),
                    words(column.particle),
                    words(column.bonding),
                    words(column.lot),
                    number(
                        sum(one.column == column.id and one.used for one in site.report.study.injections),
                        "count",
                        0,
                    ),
                    words(failed_words(site, first) if first else site.say("column.not_judged")),
                )
            )
        )
    title = site.say("columns.group_title", group=group)
    anchor = f"table-{slug(group)}"
    return table(
        anchor,
        title,
        heads(site, "column", "particle", "bonding", "lot", "injections_used", "failed_first"),
        rows,
        csv="data/decline.csv",
        cite=site.cite(site.say("cite.table"), title, f"{INDEX}#{anchor}"),
        home=f"{INDEX}#{anchor}",
    )

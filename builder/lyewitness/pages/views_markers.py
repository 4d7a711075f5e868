"""The markers: an index, and a page a marker with lives, comparisons and every column's decline.

In: `Site`. Out: `Sheet`s.
"""

from collections.abc import Iterable, Iterator

from lyewitness.decline.records import AcceleratedFit, Decline, GroupLife
from lyewitness.pages.cells import heads, life_cell
from lyewitness.pages.site import Site
from lyewitness.pages.tables import sized, table, words
from lyewitness.pages.views import Fact, Link, Row, Sheet, TableView
from lyewitness.pages.views_columns import comparison_table
from lyewitness.study.records import Marker
from lyewitness.words.limits import limit_text
from lyewitness.words.metrics import metric_name, metric_text
from lyewitness.words.numbers import interval, stated_in
from lyewitness.words.phrases import hours_text, percent_of

INDEX = "markers/index.html"


def marker_sheets(site: Site) -> Iterator[Sheet]:
    """Yield the index of the markers, then each marker with its neighbours."""
    yield _index(site)
    markers = site.report.study.markers
    links = [site.link("marker", marker.id) for marker in markers]
    for place, marker in enumerate(markers):
        yield Sheet(
            path=site.addresses.page("marker", marker.id),
            template="marker.html",
            title=site.say("marker.title", id=marker.id),
            content=marker_content(site, marker),
            crumbs=(Link(site.say("nav.markers"), INDEX),),
            part="markers",
            before=links[place - 1] if place else None,
            after=links[place + 1] if place + 1 < len(links) else None,
        )


def marker_content(site: Site, marker: Marker) -> dict[str, object]:
    """Return what the page of one marker shows."""
    path = site.addresses.page("marker", marker.id)
    judgement = site.report.judgement
    declines = [one for one in judgement.declines if one.series.marker == marker.id]
    return {
        "role": site.say(f"roles.{marker.role}"),
        "facts": _facts(site, marker),
        "figures": site.figures_at(path),
        "lives": _lives(site, [one for one in judgement.group_lives if one.marker == marker.id], path),
        "comparisons": comparison_table(
            site, [one for one in judgement.comparisons if one.marker == marker.id], path
        ),
        "declines": _declines(site, declines, path),
        "accelerated": _accelerated(
            site, [one for one in judgement.accelerated if one.marker == marker.id], path
        ),
        "reasons": _reasons(judgement.group_lives, marker),
    }


def _reasons(lives: Iterable[GroupLife], marker: Marker) -> list[str]:
    """Return why a life of a group is not known, where it is neither a value nor 'at least'."""
    return [
        f"{one.group}, {metric_name(one.metric)}: {one.reason}"
        for one in lives
        if one.marker == marker.id and one.reason and one.life.state in ("unclear", "not measured")
    ]


def _facts(site: Site, marker: Marker) -> list[Fact]:
    found = [row for row in site.report.measurements.rows if row.marker == marker.id]
    facts = {
        "pka": stated_in(marker.pka, ""),
        "found_in": site.say("marker.found_in", found=sum(row.found for row in found), all=len(found)),
    }
    return [Fact(key, site.say(f"facts.{key}"), text) for key, text in facts.items() if text]


def _lives(site: Site, lives: list[GroupLife], path: str) -> TableView:
    title = site.say("marker.lives_title")
    return table(
        "table-lives",
        title,
        heads(site, "group", "metric", "limit", "life", "first_to_fail", "last_to_fail", "remaining"),
        [
            Row(
                (
                    site.group_cell(one.group),
                    words(metric_name(one.metric)),
                    words(limit_text(one.limit)),
                    life_cell(site, one.life, one.reason),
                    sized(hours_text(one.shortest_h, one.life.hours), one.shortest_h),
                    sized(hours_text(one.longest_h, one.life.hours), one.longest_h),
                    sized(interval(one.remaining, "%"), one.remaining.value),
                )
            )
            for one in lives
        ],
        csv="data/decline.csv",
        note=site.say("front.lives_note", confidence=percent_of(site.report.study.choices.confidence)),
        cite=site.cite(site.say("cite.table"), title, f"{path}#table-lives"),
        home=f"{path}#table-lives",
    )


def _declines(site: Site, declines: list[Decline], path: str) -> TableView:
    title = site.say("marker.declines_title")
    return table(
        "table-declines",
        title,
        heads(site, "column", "group", "metric", "reference", "remaining", "model", "life"),
        [
            Row(
                (
                    site.cell("column", one.series.column, site.report.study.column(one.series.column).label),
                    site.group_cell(one.series.group),
                    words(metric_name(one.series.metric)),
                    sized(
                        metric_text(one.series.metric, one.reference_value, site.signal_unit),
                        one.reference_value,
                    ),
                    sized(interval(one.remaining, "%"), one.remaining.value),
                    words(one.model.name if one.model else ""),
                    life_cell(site, one.life, one.reason),
                )
            )
            for one in declines
        ],
        csv="data/decline.csv",
        cite=site.cite(site.say("cite.table"), title, f"{path}#table-declines"),
        home=f"{path}#table-declines",
    )


def _accelerated(site: Site, fits: list[AcceleratedFit], path: str) -> TableView:
    """Return how the rate follows temperature or pH, where columns ran at several."""
    title = site.say("marker.accelerated_title")
    return table(
        "table-accelerated",
        title,
        heads(site, "group", "metric", "variable", "settings", "dependence", "predictions"),
        [_accelerated_row(site, one) for one in fits],
        csv="data/decline.csv",
        note=site.say("marker.accelerated_note"),
        cite=site.cite(site.say("cite.table"), title, f"{path}#table-accelerated"),
        home=f"{path}#table-accelerated",
    )


def _accelerated_row(site: Site, fit: AcceleratedFit) -> Row:
    hot = fit.variable == "temperature"
    unit = "°C" if hot else ""
    dependence = (
        interval(fit.activation_energy_kJ_mol, "kJ/mol")
        if hot
        else site.say("marker.per_ph", slope=interval(fit.slope_per_ph))
    )
    predicted = (
        site.say("marker.predicted", setting=stated_in(setting, unit), life=interval(life, "h"))
        for setting, life in fit.predictions
    )
    return Row(
        (
            site.group_cell(fit.group),
            words(metric_name(fit.metric)),
            words(site.say(f"facts.{'temperature' if hot else 'ph'}")),
            words(", ".join(stated_in(setting, unit) for setting in fit.settings)),
            words(fit.reason or dependence),
            words("; ".join(predicted)),
        )
    )


def _index(site: Site) -> Sheet:
    title = site.say("markers.title")
    rows = [
        Row(
            (
                site.cell("marker", marker.id),
                words(site.say(f"roles.{marker.role}")),
                words(stated_in(marker.pka, "")),
                words(
                    ", ".join(
                        sorted(
                            {
                                metric_name(one.metric)
                                for one in site.report.judgement.group_lives
                                if one.marker == marker.id
                            }
                        )
                    )
                ),
            )
        )
        for marker in site.report.study.markers
    ]
    markers = table(
        "table-markers",
        title,
        heads(site, "marker", "role", "pka", "limited"),
        rows,
        csv="data/measurements.csv",
        cite=site.cite(site.say("cite.table"), title, f"{INDEX}#table-markers"),
        home=f"{INDEX}#table-markers",
    )
    return Sheet(INDEX, "markers.html", title, {"markers": markers}, part="markers")

"""What the parts of the printed report show: the site's views, brought down to what is read on paper.

In: `Site`. Out: the content of the print template. What is left out stands in the site and in the tables
attached to the PDF.
"""

from collections.abc import Iterator
from dataclasses import replace

from lyewitness.decline.records import Comparison
from lyewitness.findings.records import Check
from lyewitness.pages.cells import about, heads
from lyewitness.pages.notes import note_html
from lyewitness.pages.print_signs import sign_tables
from lyewitness.pages.print_tables import PrintTable, banded, dashed, lettered, untitled
from lyewitness.pages.site import Site
from lyewitness.pages.tables import HELD, table, words
from lyewitness.pages.views import Cell, Fact, FigureView, Row, TableView
from lyewitness.pages.views_columns import column_content, comparison_table, decline_table
from lyewitness.pages.views_front import answer_content, lives_table
from lyewitness.pages.views_injections import along_column, exposure_of
from lyewitness.pages.views_judged import audit_content, cautions_content, chemistry_content
from lyewitness.pages.views_markers import marker_content
from lyewitness.pages.views_method import TABLES, data_content, method_content
from lyewitness.pages.views_truth import rules_table
from lyewitness.study.records import Column, Marker
from lyewitness.words.lives import tell
from lyewitness.words.names import slug
from lyewitness.words.phrases import exposure, percent_of


def content_of(site: Site) -> dict[str, object]:
    """Return every part of the document."""
    study, place = site.report.study, site.addresses.page
    return {
        "answers": list(_answers(site)),
        "audit": audit_content(site) | {"good": _good_checks(site)},
        "columns": [(place("column", one.id), one.label, _column(site, one)) for one in study.columns],
        "pairs": _pairs_of(site, ""),
        "signs": list(sign_tables(site)),
        "markers": [(place("marker", one.id), one.id, _marker(site, one)) for one in study.markers],
        "images": _images(site),
        "injections": _injections(site),
        "notes": [
            (place("note", one.id), one, note_html(one.text, site.addresses, root="")) for one in study.notes
        ],
        "chemistry": chemistry_content(site),
        "method": method_content(site) | {"rules": _rules(site)},
        "confidence": percent_of(study.choices.confidence),
        "cautions": cautions_content(site),
        "data": data_content(site),
        "attached": [Fact(name, name, site.say(f"data.table.{name.partition('.')[0]}")) for name in TABLES],
    }


def _answers(site: Site) -> Iterator[tuple[str, dict[str, object]]]:
    """Yield the page of each answer with its content; a figure stands with the first that shows it."""
    shown: set[str] = set()
    for answer in site.report.findings.answers:
        content = answer_content(site, answer, "index.html")
        for name in ("lives_figure", "decline_figure"):
            view = content[name]
            if isinstance(view, FigureView):
                content[name] = None if view.id in shown else view
                shown.add(view.id)
        by = heads(site, "marker", "metric", "limit")
        content["lives"] = banded(lives_table(site, answer, ""), by=by, kind="lives")
        yield site.addresses.page("answer", answer.question.id), content


def _good_checks(site: Site) -> TableView:
    """Return the checks that found nothing amiss as a table."""
    good = [check for check in site.report.findings.checks if check.result == "good"]
    return table(
        "",
        site.say("audit.heading.good"),
        heads(site, "check", "detail"),
        [_check_row(site, one) for one in good],
    )


def _check_row(site: Site, check: Check) -> Row:
    found = " ".join(text for text in (check.detail, check.bearing) if text)
    return Row((words(about(site, check)), words(found)), id=f"check-{slug(check.id)}")


def _column(site: Site, column: Column) -> dict[str, object]:
    """Return one column: what was followed by marker, its one figure, and why what is missing is missing."""
    content = column_content(site, column)
    view = decline_table(site, column, "")
    declines = banded(view, by=heads(site, "marker"), without=heads(site, "limit"), kind="declines")
    unlimited = {
        tell(one.life)
        for one in site.report.judgement.declines
        if one.series.column == column.id and one.limit is None
    }
    title = site.say("print.declines_of", label=column.label)
    plain = replace(untitled(dashed(declines, unlimited)), title=title, note="")
    told = lettered(plain, site.say("heads.life"), longest=HELD)
    return content | {
        "declines": told,
        "figure": _first(content["figures"]),
        "verdicts": list(_verdicts(site, column)),
    }


def _verdicts(site: Site, column: Column) -> Iterator[str]:
    """Yield which ways of failing the signs on a column speak for, and which they leave open."""
    for verdict in ("speaks for", "cannot tell"):
        names = [
            sign.mechanism
            for sign in site.report.findings.signs
            if sign.column == column.id and sign.verdict == verdict
        ]
        if names:
            yield site.say(f"print.{verdict.replace(' ', '_')}", what="; ".join(names))


def _first(figures: object) -> FigureView | None:
    """Return the first of some figures: the one that holds the most comes first."""
    return figures[0] if isinstance(figures, tuple) and figures else None


def _marker(site: Site, marker: Marker) -> dict[str, object]:
    """Return one marker: all its metrics in one figure, and the groups compared by it."""
    content = marker_content(site, marker)
    own = [view for one, view in site.figures.items() if one.startswith("marker-")]
    at_home = site.figures_at(site.addresses.page("marker", marker.id))
    return content | {
        "figures": [view for view in at_home if view in own],
        "pairs": _pairs_of(site, marker.id),
    }


def _pairs_of(site: Site, marker: str) -> PrintTable:
    """Return the groups compared by one marker, or by what is the column's own, metric by metric."""
    pairs = [one for one in site.report.judgement.comparisons if one.marker == marker]
    by, method = heads(site, "metric", "method")
    told = dashed(
        banded(_told_in_full(site, pairs), by=(by,), kind="pairs"), {one.life_ratio.reason for one in pairs}
    )
    return lettered(told if marker == _first_compared(site) else replace(told, note=""), method)


def _first_compared(site: Site) -> str:
    """Return the marker whose comparisons stand first: what holds for all of them is said there only."""
    compared = {one.marker for one in site.report.judgement.comparisons}
    in_order = ["", *(one.id for one in site.report.study.markers)]
    return next((marker for marker in in_order if marker in compared), "")


def _told_in_full(site: Site, pairs: list[Comparison]) -> TableView:
    """Return the table of `pairs` with what keeps one from being settled told beside its method."""
    view = comparison_table(site, pairs, "")
    place = view.heads.index(site.say("heads.method"))
    rows = []
    for row, pair in zip(view.rows, pairs, strict=True):
        method = words("; ".join(text for text in (pair.method, pair.reason) if text not in ("", "none")))
        cells = [replace(cell, title="") for cell in row.cells]
        rows.append(replace(row, cells=(*cells[:place], method, *cells[place + 1 :])))
    return replace(view, rows=tuple(rows))


def _images(site: Site) -> dict[str, object]:
    """Return every picture of the study once: those that belong together in one, others by themselves."""
    figures = list(site.figures_at("images.html"))
    together = {view.id for name, view in site.figures.items() if name.startswith("pair-")}
    own, unseen = [view for view in figures if view.id in together], []
    for image in site.report.study.images:
        view = site.figure(f"image-{slug(image.id)}")
        if view is None:
            unseen.append(Fact(image.id, image.id, image.caption))
        elif not (image.pair and f"figure-pair-{slug(image.pair)}" in together):
            own.append(view)
    return {"figures": own, "unseen": unseen}


def _rules(site: Site) -> PrintTable | None:
    """Return the rules by which signs are read, those of one way of failing together."""
    view = rules_table(site)
    return banded(view, by=view.heads[:1], kind="rules") if view else None


def _injections(site: Site) -> TableView:
    """Return how many injections each column had, over which exposure, and which were left out."""
    names = heads(site, "column", "injections_used", "exposure_h")
    rows = [_injections_on(site, column) for column in site.report.study.columns]
    return table("", site.say("injections.table_title"), (*names, site.say("print.left_out")), rows)


def _injections_on(site: Site, column: Column) -> Row:
    along = along_column(site, column.id)
    hours = [hour for one in along if (hour := exposure_of(site, one.id)[0]) is not None]
    left_out = "; ".join(f"{one.id}: {one.why}" if one.why else one.id for one in along if not one.used)
    reach = f"{exposure(min(hours))} … {exposure(max(hours))}" if hours else ""
    used = sum(one.used for one in along)
    return Row(
        (
            Cell(column.label, mark=site.marks.get(column.group)),
            words(site.say("print.used_of", used=used, all=len(along))),
            words(reach),
            words(left_out),
        )
    )

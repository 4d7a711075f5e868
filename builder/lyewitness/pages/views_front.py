"""The answer: the front page, and one page for every further question.

In: `Site`. Out: `Sheet`s.
"""

from collections import Counter
from collections.abc import Iterator, Sequence

from lyewitness.decline.records import GroupLife
from lyewitness.findings.records import Answer, Because, Check, CheckResult
from lyewitness.pages.cells import about, heads, life_cell, marker_cell
from lyewitness.pages.reasons import Argument, said
from lyewitness.pages.site import Site
from lyewitness.pages.strips import strips_of
from lyewitness.pages.tables import sized, table, words
from lyewitness.pages.views import FigureView, Link, Row, Said, Sheet, TableView
from lyewitness.words.limits import limit_text
from lyewitness.words.metrics import metric_name
from lyewitness.words.names import slug
from lyewitness.words.numbers import interval
from lyewitness.words.phrases import hours_text, percent_of

FIRST = 3
"""Recommendations on the first screen."""


def answer_sheets(site: Site) -> Iterator[Sheet]:
    """Yield the front page, then a page for each further question."""
    for place, answer in enumerate(site.report.findings.answers):
        path = site.addresses.page("answer", answer.question.id)
        yield Sheet(
            path=path,
            template="index.html" if place == 0 else "answer.html",
            title=site.report.study.title if place == 0 else answer.question.text,
            content=answer_content(site, answer, path),
            crumbs=(),
            part="answer",
        )


def answer_content(site: Site, answer: Answer, path: str) -> dict[str, object]:
    """Return what the page of one answer shows; the PDF and the letter show the same."""
    numbers = {claim.id: place for place, claim in enumerate(answer.claims, start=1)}
    argument = Argument(numbers, deciding_of(site, answer))
    doing = [said(site, claim, argument) for claim in answer.recommendations]
    return {
        "asked": asked_words(site, answer),
        "question": answer.question.text,
        "short": answer.short,
        "how_sure": answer.how_sure,
        "lives_figure": _own(site, "lives", answer),
        "decline_figure": deciding_figure(site, answer),
        "doing": doing[:FIRST],
        "doing_more": doing[FIRST:],
        "claims": argued(site, answer, argument),
        "next": [said(site, claim, argument) for claim in answer.next_experiments],
        "expectation": answer.question.expectation,
        "verdict": said(site, verdict, argument) if (verdict := answer.expectation_verdict) else None,
        "lives": lives_table(site, answer, path),
        "audit_words": audit_words(site, site.report.findings.checks),
        "audit_worst": audit_worst(site),
        "first_last": _starting(site, "first-last"),
        "missing": site.report.findings.missing,
        "others": [
            site.link("answer", other.question.id, other.question.text)
            for other in site.report.findings.answers
            if other is not answer
        ],
        "limits": limits_words(site),
    }


def asked_words(site: Site, answer: Answer) -> str:
    """Return who asked and when, as far as it is known."""
    question = answer.question
    if question.asked_by and question.asked_on:
        return site.say("front.asked_by_on", who=question.asked_by, when=question.asked_on.isoformat())
    if question.asked_by:
        return site.say("front.asked_by", who=question.asked_by)
    if question.asked_on:
        return site.say("front.asked_on", when=question.asked_on.isoformat())
    return site.say("front.asked")


def argued(site: Site, answer: Answer, argument: Argument) -> list[Said]:
    """Return the claims; a figure that a claim rests on stands beside the first that names it."""
    deciding = deciding_figure(site, answer)
    shown = {one for one, view in site.figures.items() if one == "lives" or view is deciding}
    strips, sentences = strips_of(site, answer.claims), []
    for claim in answer.claims:
        names = [name for one in claim.because if (name := _pictured(one)) and name not in shown]
        figure = next((view for name in names if (view := site.figure(name))), None)
        shown.update(names[:1] if figure else ())
        sentences.append(said(site, claim, argument, figure, strips.get(claim.id)))
    return sentences


def _pictured(because: Because) -> str:
    """Return the id of the figure that shows a reason; empty where it is no picture."""
    if because.kind == "image":
        return f"image-{because.target}"
    return because.target if because.kind == "figure" else ""


def deciding_of(site: Site, answer: Answer) -> tuple[str, str]:
    """Return marker and metric that decide the question; those of the study where it names none."""
    return answer.deciding if answer.deciding[1] else site.report.judgement.deciding


def deciding_figure(site: Site, answer: Answer) -> FigureView | None:
    """Return the decline figure of the metric that decides the question."""
    marker, metric = deciding_of(site, answer)
    return site.first_figure(f"decline-{slug(marker)}-{metric}", f"decline-{marker}-{metric}", "decline")


def lives_table(site: Site, answer: Answer, path: str) -> TableView:
    """Return the lives of the groups that the question is about, one row a limit."""
    question = answer.question
    lives = [
        life
        for life in site.report.judgement.group_lives
        if (not question.groups or life.group in question.groups)
        and (not question.markers or not life.marker or life.marker in question.markers)
        and (not question.metrics or life.metric in question.metrics)
    ]
    return table(
        "table-lives",
        site.say("front.lives_title"),
        heads(
            site, "group", "marker", "metric", "limit", "life", "columns_failed", "first_to_fail", "remaining"
        ),
        [_life_row(site, life) for life in lives],
        csv="data/decline.csv",
        note=site.say("front.lives_note", confidence=percent_of(site.report.study.choices.confidence)),
        cite=site.cite(site.say("cite.table"), site.say("front.lives_title"), f"{path}#table-lives"),
        home=f"{path}#table-lives",
    )


def _life_row(site: Site, life: GroupLife) -> Row:
    failed = sum(state == "reached" for state in life.states)
    return Row(
        (
            site.group_cell(life.group),
            marker_cell(site, life.marker),
            words(metric_name(life.metric)),
            words(limit_text(life.limit)),
            life_cell(site, life.life, life.reason),
            words(site.say("front.failed_of", failed=failed, all=len(life.columns))),
            sized(hours_text(life.shortest_h, life.life.hours), life.shortest_h),
            sized(interval(life.remaining, "%"), life.remaining.value),
        )
    )


def audit_words(site: Site, checks: Sequence[Check]) -> str:
    """Return how the checks came out, counted."""
    if not checks:
        return site.say("audit.none")
    counted = Counter(check.result for check in checks)
    order: tuple[CheckResult, ...] = ("good", "caution", "problem", "not possible")
    parts = [
        site.say(f"audit.count.{result.replace(' ', '_')}", n=counted[result])
        for result in order
        if counted[result]
    ]
    return site.say("audit.counted", all=len(checks), parts=", ".join(parts))


def audit_worst(site: Site) -> list[tuple[str, Link, str]]:
    """Return (result, link, bearing) of every check that did not come out good, worst first."""
    order = {"problem": 0, "caution": 1, "not possible": 2}
    bad = [check for check in site.report.findings.checks if check.result in order]
    bad.sort(key=lambda check: order[check.result])
    return [
        (
            site.say(f"audit.result.{check.result.replace(' ', '_')}"),
            site.link("check", check.id, about(site, check)),
            check.bearing or check.detail,
        )
        for check in bad
    ]


def limits_words(site: Site) -> list[str]:
    """Return the limits of the study, a phrase each."""
    return [
        site.say(
            "front.limit_of" if limit.markers else "front.limit",
            metric=metric_name(limit.metric),
            limit=limit_text(limit),
            markers=", ".join(limit.markers),
        )
        for limit in site.report.study.limits
    ]


def _own(site: Site, name: str, answer: Answer) -> FigureView | None:
    """Return the figure of this question where one was drawn, else that of the study."""
    return site.figure(f"{name}-{slug(answer.question.id)}") or site.first_figure(name)


def _starting(site: Site, start: str) -> list[FigureView]:
    return [view for one, view in site.figures.items() if one.startswith(start)]

"""What was judged: the audit, the signs of failure, the chemistry, the cautions.

In: `Site`. Out: `Sheet`s.
"""

from collections.abc import Iterator

from lyewitness.findings.records import Check, Sign
from lyewitness.pages.addresses import row_id
from lyewitness.pages.cells import conditions_words, heads
from lyewitness.pages.site import Site
from lyewitness.pages.slugs import slug
from lyewitness.pages.tables import table, words
from lyewitness.pages.views import Cell, Fact, Row, Sheet, TableView
from lyewitness.pages.views_front import audit_words, subject

RESULTS = ("problem", "caution", "not possible", "good")
"""The order in which checks are told: what bears on the answer first."""


def judged_sheets(site: Site) -> Iterator[Sheet]:
    """Yield the audit, the signs, the chemistry and the cautions."""
    yield Sheet("audit.html", "audit.html", site.say("audit.title"), audit_content(site), part="audit")
    yield Sheet("signs.html", "signs.html", site.say("signs.title"), signs_content(site), part="signs")
    yield Sheet(
        "chemistry.html",
        "chemistry.html",
        site.say("chemistry.title"),
        chemistry_content(site),
        part="chemistry",
    )
    yield Sheet(
        "cautions.html", "cautions.html", site.say("cautions.title"), cautions_content(site), part="cautions"
    )


def audit_content(site: Site) -> dict[str, object]:
    """Return the checks, worst first, as sentences and as one table."""
    checks = site.report.findings.checks
    return {
        "counted": audit_words(site, checks),
        "results": [
            {
                "result": result,
                "name": site.say(f"audit.result.{result.replace(' ', '_')}"),
                "heading": site.say(f"audit.heading.{result.replace(' ', '_')}"),
                "checks": [_check(site, check) for check in checks if check.result == result],
            }
            for result in RESULTS
            if any(check.result == result for check in checks)
        ],
        "table": _check_table(site, checks),
        "figures": site.figures_at("audit.html"),
        "missing": site.report.findings.missing,
        "problems": [str(problem) for problem in site.report.problems],
    }


def _check(site: Site, check: Check) -> dict[str, str]:
    return {
        "id": f"check-{slug(check.id)}",
        "check": check.check,
        "subject": subject(site, check),
        "detail": check.detail,
        "bearing": check.bearing,
        "cure": check.cure,
    }


def _check_table(site: Site, checks: tuple[Check, ...]) -> TableView:
    title = site.say("audit.table_title")
    return table(
        "table-checks",
        title,
        heads(site, "check", "subject", "result", "detail"),
        [
            Row(
                (
                    Cell(check.check, f"audit.html#check-{slug(check.id)}"),
                    words(check.subject),
                    words(
                        site.say(f"audit.result.{check.result.replace(' ', '_')}"),
                        key=str(RESULTS.index(check.result)),
                    ),
                    words(check.detail),
                )
            )
            for check in checks
        ],
        csv="data/checks.csv",
        cite=site.cite(site.say("cite.table"), title, "audit.html#table-checks"),
        home="audit.html#table-checks",
    )


def signs_content(site: Site) -> dict[str, object]:
    """Return the signs of every column."""
    columns = dict.fromkeys(sign.column for sign in site.report.findings.signs)
    return {
        "columns": [
            {
                "id": f"signs-{slug(column)}",
                "link": site.link("column", column, site.report.study.column(column).label),
                "mark": site.marks.get(site.report.study.column(column).group),
                "signs": sign_views(site, column),
            }
            for column in columns
        ],
    }


def sign_views(site: Site, column: str) -> list[dict[str, object]]:
    """Return what the signs on one column speak for and against."""
    return [_sign(site, sign) for sign in site.report.findings.signs if sign.column == column]


def _sign(site: Site, sign: Sign) -> dict[str, object]:
    return {
        "id": row_id("sign", sign.column, sign.mechanism),
        "mechanism": sign.mechanism,
        "verdict": site.say(f"signs.verdict.{sign.verdict.replace(' ', '_')}"),
        "verdict_class": sign.verdict.replace(" ", "-"),
        "reasons": sign.reasons,
        "indistinct": (
            site.say("signs.indistinct", others=", ".join(sign.indistinct_from))
            if sign.indistinct_from
            else ""
        ),
    }


def chemistry_content(site: Site) -> dict[str, object]:
    """Return what the chemistry of the medium says, with the conditions it starts from."""
    study = site.report.study
    return {
        "stress": conditions_words(site, study.stress),
        "test": conditions_words(site, study.test),
        "facts": [
            Fact(f"fact-{slug(fact.id)}", fact.name, fact.text, fact.source, fact.bearing)
            for fact in site.report.findings.chemistry
        ],
        "figures": site.figures_at("chemistry.html"),
    }


def cautions_content(site: Site) -> dict[str, object]:
    """Return the safety cautions that the study's conditions call for."""
    return {
        "cautions": [
            Fact(f"caution-{slug(caution.id)}", caution.title, caution.text, source=caution.called_for_by)
            for caution in site.report.findings.cautions
        ]
    }

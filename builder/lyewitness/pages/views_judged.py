"""What was judged: the audit, the chemistry, the cautions; the signs of failure have their own module.

In: `Site`. Out: `Sheet`s.
"""

from collections.abc import Iterator

from lyewitness.findings.records import Check
from lyewitness.pages.cells import conditions_words, heads, subject
from lyewitness.pages.site import Site
from lyewitness.pages.tables import table, words
from lyewitness.pages.views import Cell, Fact, Row, Sheet, TableView
from lyewitness.pages.views_front import audit_words
from lyewitness.pages.views_signs import signs_content
from lyewitness.words.names import slug

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
    """Return the checks that did not come out good as sentences, worst first, and all as one table."""
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
            if result != "good" and any(check.result == result for check in checks)
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


def _asked(check: Check) -> Cell:
    """Return what was asked; where more is said of it on the page, with the way there."""
    return words(check.check, href="" if check.result == "good" else f"audit.html#check-{slug(check.id)}")


def _check_table(site: Site, checks: tuple[Check, ...]) -> TableView:
    title = site.say("audit.table_title")
    return table(
        "table-checks",
        title,
        heads(site, "check", "subject", "result", "detail"),
        [
            Row(
                (
                    _asked(check),
                    words(check.subject),
                    words(
                        site.say(f"audit.result.{check.result.replace(' ', '_')}"),
                        key=str(RESULTS.index(check.result)),
                    ),
                    words(check.detail),
                ),
                id=f"check-{slug(check.id)}" if check.result == "good" else "",
            )
            for check in sorted(checks, key=lambda one: RESULTS.index(one.result))
        ],
        csv="data/checks.csv",
        cite=site.cite(site.say("cite.table"), title, "audit.html#table-checks"),
        home="audit.html#table-checks",
    )


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

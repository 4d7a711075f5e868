"""How each number was computed, and the data with where they come from.

In: `Site`. Out: `Sheet`s.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import fields

from lyewitness.pages.cells import conditions_words, heads
from lyewitness.pages.site import Site
from lyewitness.pages.tables import table, words
from lyewitness.pages.views import Fact, Link, Row, Sheet, TableView
from lyewitness.pages.views_truth import accuracy_table, accuracy_words, calibration_table, rules_table
from lyewitness.peaks.records import FLAGS
from lyewitness.study.records import Choices
from lyewitness.words.limits import limit_text
from lyewitness.words.metrics import METRICS, metric_name
from lyewitness.words.names import slug

TABLES = (
    "measurements.csv", "decline.csv", "comparisons.csv", "claims.json", "checks.csv", "provenance.json",
)  # fmt: skip


def method_sheets(site: Site) -> Iterator[Sheet]:
    """Yield the method page and the data page."""
    yield Sheet("method.html", "method.html", site.say("method.title"), method_content(site), part="method")
    yield Sheet("data.html", "data.html", site.say("data.title"), data_content(site), part="data")


def method_content(site: Site) -> dict[str, object]:
    """Return how the numbers were computed: metrics, flags, models, choices, words."""
    return {
        "figures": site.figures_at("method.html"),
        "metrics": [
            Fact(f"metric-{one.id.replace('_', '-')}", one.words, one.explanation)
            for one in METRICS.values()
            if one.shown
        ],
        "strengths": [
            Fact(f"strength-{key}", site.say(f"strength.{key}"), text)
            for key, text in site.theme.words_of("strength_means").items()
        ],
        "flags": _flag_table(site),
        "notes": [
            Fact(f"method-{slug(heading)}", heading, text) for heading, text in site.report.method_notes
        ],
        "accuracy": accuracy_table(site),
        "accuracy_words": accuracy_words(site),
        "calibration": calibration_table(site),
        "rules": rules_table(site),
        "choices": _choice_table(site),
        "limits": [
            site.say("front.limit", metric=metric_name(limit.metric), limit=limit_text(limit), markers="")
            for limit in site.report.study.limits
        ],
        "conditions": conditions_words(site, site.report.study.test),
        "glossary": [
            Fact(f"term-{slug(term)}", term, text)
            for term, text in sorted(site.theme.words_of("glossary").items())
        ],
    }


def _flag_table(site: Site) -> TableView:
    counted = {flag: sum(flag in row.flags for row in site.report.measurements.rows) for flag in FLAGS}
    title = site.say("method.flags_title")
    return table(
        "table-flags",
        title,
        heads(site, "flag", "meaning", "peaks_flagged"),
        [Row((words(flag), words(text), words(str(counted[flag])))) for flag, text in FLAGS.items()],
        csv="data/measurements.csv",
        cite=site.cite(site.say("cite.table"), title, "method.html#table-flags"),
        home="method.html#table-flags",
    )


def _choice_table(site: Site) -> TableView:
    """Return every choice with its value in this study and whether that is the default."""
    chosen, default = site.report.study.choices, Choices()
    rows = []
    for one in fields(Choices):
        value, usual = getattr(chosen, one.name), getattr(default, one.name)
        rows.append(
            Row(
                (
                    words(site.say(f"choices.{one.name}")),
                    words(_value_words(site, value)),
                    words(_value_words(site, usual)),
                    words(site.say("choices.is_default" if value == usual else "choices.is_own")),
                )
            )
        )
    title = site.say("method.choices_title")
    return table(
        "table-choices",
        title,
        heads(site, "choice", "here", "default", "whence"),
        rows,
        csv="data/provenance.json",
        cite=site.cite(site.say("cite.table"), title, "method.html#table-choices"),
        home="method.html#table-choices",
    )


def _value_words(site: Site, value: object) -> str:
    if value is None:
        return site.say("common.none")
    if isinstance(value, bool):
        return site.say("common.yes" if value else "common.no")
    return f"{value:g}" if isinstance(value, float) else str(value)


def data_content(site: Site) -> dict[str, object]:
    """Return the tables to take away, the files read with their hashes, and the provenance."""
    study = site.report.study
    return {
        "tables": [
            Fact(name, f"data/{name}", site.say(f"data.table.{name.partition('.')[0]}")) for name in TABLES
        ],
        "figures": [
            Link(view.title, view.csv)
            for view in site.figures.values()
            if view.csv and not view.home.startswith("injections/")
        ],
        "people": [
            {"name": person.name, "role": person.role, "orcid": person.orcid} for person in study.people
        ],
        "licence": study.licence,
        "keywords": ", ".join(study.keywords),
        "files": _file_table(site),
        "provenance_short": [
            Fact(key, key, value)
            for key, value in sorted(site.report.provenance.items())
            if isinstance(value, str)
        ],
        "provenance": [
            Fact(key, key.replace("_", " "), _provenance_words(value))
            for key, value in sorted(site.report.provenance.items())
            if key != "files"
        ],
    }


def _file_table(site: Site) -> TableView:
    hashes = dict(site.report.study.file_hashes)
    hashes.update({trace.file: trace.sha256 for trace in site.report.traces.values()})
    title = site.say("data.files_title")
    return table(
        "table-files",
        title,
        heads(site, "file", "sha256"),
        [Row((words(file), words(digest))) for file, digest in sorted(hashes.items())],
        csv="data/provenance.json",
        cite=site.cite(site.say("cite.table"), title, "data.html#table-files"),
        home="data.html#table-files",
    )


def _provenance_words(value: object) -> str:
    """Return a value of the provenance in words; what is nested deeper as JSON."""
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        told = ((str(key).replace("_", " "), one) for key, one in sorted(value.items()))
        return "; ".join(f"{key} {_provenance_words(one) or '–'}" for key, one in told)
    return json.dumps(value, ensure_ascii=False, sort_keys=True, default=str)

"""How true the numbers proved where the truth is known, and the rules by which signs are read, as tables.

In: `Site`. Out: `TableView`s for the method page.
"""

from lyewitness.decline.calibrated import KindOfStudy, shipped_calibration
from lyewitness.pages.cells import heads
from lyewitness.pages.site import Site
from lyewitness.pages.tables import number, table, words
from lyewitness.pages.views import Cell, Row, TableView
from lyewitness.peaks.accuracy import MetricAccuracy, shipped_accuracy
from lyewitness.words.metrics import metric_name

SHARES = ("life", "group life", "ratio of lives", "said to differ", "said to differ by the oracle")
"""Shares of the calibration that the table shows, by their names in the shipped file."""


def accuracy_table(site: Site) -> TableView:
    """Return the errors of the measured metrics on simulated studies, beside what they may be."""
    found = shipped_accuracy()
    noisy = {one.metric: one for one in found.noisiest}
    rows = [Row(_errors(one, noisy.get(one.metric))) for one in found.metrics]
    names = ("metric", "limit", "median_error", "bias", "median_error_noisy", "bias_noisy")
    return _table(site, "accuracy", names, rows)


def accuracy_words(site: Site) -> str:
    """Return which peaks and studies the table is about, and how many peaks were found."""
    found = shipped_accuracy()
    return site.say(
        "method.accuracy_words",
        conditions=found.conditions,
        studies=found.studies,
        present=found.peaks_present,
        wrong=found.peaks_lost + found.peaks_misnamed,
        absent=found.markers_absent,
        invented=found.peaks_invented,
    )


def _errors(one: MetricAccuracy, noisy: MetricAccuracy | None) -> tuple[Cell, ...]:
    pairs = [(one.median_error_percent, one.bias_percent)]
    pairs += [(noisy.median_error_percent, noisy.bias_percent)] if noisy else []
    errors = [number(value, one.metric, places=3) for pair in pairs for value in pair]
    errors += [words("–")] * (4 - len(errors))
    return (words(metric_name(one.metric)), number(one.limit_percent, one.metric, places=2), *errors)


def calibration_table(site: Site) -> TableView:
    """Return the shares of simulated studies in which intervals held the truth and findings were right."""
    rows = [
        Row((words(kind.kind), *_shares(kind), words(kind.about))) for kind in shipped_calibration().kinds
    ]
    names = (
        "kind_of_study",
        "life_held",
        "group_life_held",
        "ratio_held",
        "found_different",
        "oracle",
        "about",
    )
    return _table(site, "calibration", names, rows)


def _shares(kind: KindOfStudy) -> tuple[Cell, ...]:
    shares = (kind.percent(name) for name in SHARES)
    return tuple(number(share, "", places=1) for share in shares)


def rules_table(site: Site) -> TableView | None:
    """Return the rules of the failure signs; None where the report has none."""
    rules = site.report.findings.rules
    if not rules:
        return None
    rows = [Row(tuple(words(str(cell)) for cell in rule)) for rule in rules[1:]]
    return _table(site, "rules", (), rows, tuple(rules[0]))


def _table(
    site: Site, name: str, names: tuple[str, ...], rows: list[Row], given: tuple[str, ...] = ()
) -> TableView:
    title, home = site.say(f"method.{name}_title"), f"method.html#table-{name}"
    return table(
        f"table-{name}",
        title,
        given or heads(site, *names),
        rows,
        cite=site.cite(site.say("cite.table"), title, home),
        home=home,
    )

"""How true the numbers proved where the truth is known, and the rules by which signs are read, as tables.

In: `Edition`. Out: `Table`s for the method page.
"""

from collections.abc import Sequence

from lyewitness.decline.calibrated import KindOfStudy, shipped_calibration
from lyewitness.document.blocks import Cell, Column, Row, Table
from lyewitness.document.edition import Edition
from lyewitness.document.tables import columns_of, number, table, words
from lyewitness.peaks.accuracy import MetricAccuracy, shipped_accuracy
from lyewitness.words.metrics import metric_name

SHARES = ("life", "group life", "ratio of lives", "said to differ", "said to differ by the oracle")
"""Shares of the calibration that the table shows, by their names in the shipped file."""


def accuracy_table(edition: Edition) -> Table:
    """Return the errors of the measured metrics on simulated studies, beside what they may be."""
    found = shipped_accuracy()
    noisy = {one.metric: one for one in found.noisiest}
    rows = [Row(_errors(one, noisy.get(one.metric))) for one in found.metrics]
    names = ("metric", "limit", "median_error", "bias", "median_error_noisy", "bias_noisy")
    return _table(edition, "accuracy", columns_of(edition, *names), rows)


def accuracy_words(edition: Edition) -> str:
    """Return which peaks and studies the table is about, and how many peaks were found."""
    found = shipped_accuracy()
    return edition.say(
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


def calibration_table(edition: Edition) -> Table:
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
    return _table(edition, "calibration", columns_of(edition, *names), rows)


def _shares(kind: KindOfStudy) -> tuple[Cell, ...]:
    shares = (kind.percent(name) for name in SHARES)
    return tuple(number(share, "", places=1) for share in shares)


def rules_table(edition: Edition) -> Table | None:
    """Return the rules of the failure signs; None where the report has none."""
    rules = edition.report.findings.rules
    if not rules:
        return None
    rows = [Row(tuple(words(str(cell)) for cell in rule)) for rule in rules[1:]]
    columns = tuple(Column(f"rule {place}", head) for place, head in enumerate(rules[0]))
    return _table(edition, "rules", columns, rows)


def _table(edition: Edition, name: str, columns: Sequence[Column], rows: Sequence[Row]) -> Table:
    home = f"{edition.page('method')}#table-{name}"
    return table(edition, home, edition.say(f"method.{name}_title"), columns, rows)

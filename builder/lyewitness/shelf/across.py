"""Lives of one type of column over temperature and pH, studies as random effects.

In: lives of columns with their study, temperature and pH when hot. Out: `Model`: activation energy and pH
dependence with intervals, and a prediction for a further column in a further laboratory; or why there is
none.

ln life = a + Ea/R (1/T − 1/T0) + b (pH − pH0) + study + column; both variances by restricted likelihood, and
intervals by what they are not known better (`variances.py`).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, hypot

import numpy as np
import scipy

from lyewitness.shelf.variances import Variances, variances_of
from lyewitness.words.arrays import FloatArray
from lyewitness.words.constants import ZERO_CELSIUS_K
from lyewitness.words.estimates import Estimate
from lyewitness.words.phrases import counted, spelled

GAS_CONSTANT = 8.314462618e-3
"""kJ/(mol K), CODATA 2018."""
# Of two studies the spread between them has one degree of freedom.
FEWEST_STUDIES = 3
# Temperatures nearer than this give no slope: ovens are true to about one degree.
LEAST_SPAN_C = 5.0
# pH meters in alkali agree within about a tenth (common practice): a third of the span.
LEAST_SPAN_PH = 0.3
# Between two years anything that was another once is a difference, and no trend.
FEWEST_YEARS = 3
# Where more than this share of columns did not reach the limit, those that did are the short-lived ones.
MOST_CENSORED = 0.2
# Degrees of freedom: of one, Student's t at 95 % is 12.7, and an interval says nothing.
LEAST_LEFT = 2


LEAST_HALF_WIDTH = 0.08
"""Of ln life: an oven known to 1 °C alone moves a life by so much (80 kJ/mol near 50 °C). Columns that
happen to have failed at the same injection would else foretell the next to the minute."""
HOW_IT_HOLDS = (
    "Such an interval holds about 95 of 100 further columns amid the conditions tested. It holds 80 to 90 at "
    "their edge, where laboratories differ in how strongly temperature and pH act, and fewer where only good "
    "results were kept or columns have changed since."
)
"""By some 160,000 simulated columns of further laboratories, of nineteen laws not assumed here."""


@dataclass(frozen=True, slots=True)
class Point:
    """The life of one column."""

    study: str
    life_h: float
    temperature_C: float
    ph: float
    """At the temperature of the stress."""


@dataclass(frozen=True, slots=True)
class Model:
    """What the studies say together; values only where they bear it."""

    studies: int
    columns: int
    activation_energy_kJ_mol: Estimate
    per_ph: Estimate
    """Change of ln life for each pH unit."""
    between_sd: float | None = None
    """Of ln life, between studies."""
    within_sd: float | None = None
    """Of ln life, between columns of one study."""
    reason: str = ""
    """Why there is no model."""
    _centre: tuple[float, float] = (0.0, 0.0)
    _terms: tuple[bool, bool] = (False, False)
    _variances: Variances | None = None
    _tested: tuple[tuple[float, float], ...] = ()

    @property
    def is_scant(self) -> bool:
        """Return whether there is but one study more than coefficients: no interval is right of so few."""
        return not self.reason and self.studies == 2 + sum(self._terms)


@dataclass(frozen=True, slots=True)
class Prediction:
    """The life foreseen for a further column in a further laboratory: 'indicated' at best, never shown."""

    life_h: Estimate
    outside: str = ""
    """By how far the conditions lie outside what was tested; empty inside the hull."""


def fit(points: Sequence[Point], censored: int = 0, confidence: float = 0.95) -> Model:
    """Return the model of the points; `censored` columns did not reach their limit and are not among them."""
    studies = len({point.study for point in points})
    if reason := why_none(points, censored):
        none = Estimate(reason=reason)
        return Model(studies, len(points), none, none, reason=reason)
    design, centre, terms = _of_points(points)
    variances = variances_of(design, *_lives_of(points))
    slots = iter(range(1, design.shape[1]))
    energy, slope = (
        _interval(variances, next(slots), unit, confidence)
        if used
        else Estimate(reason=f"{name} hardly varies between these studies")
        for used, unit, name in zip(terms, (GAS_CONSTANT, 1.0), ("the temperature", "the pH"), strict=True)
    )
    return Model(
        studies, len(points), energy, slope, variances.between**0.5, variances.within**0.5, "",
        centre, terms, variances, tuple((point.temperature_C, point.ph) for point in points),
    )  # fmt: skip


def why_none(points: Sequence[Point], censored: int = 0) -> str:
    """Return why the points bear no model; empty where they do, which is told without making it."""
    studies = sorted({point.study for point in points})
    return _not_borne(points, studies, censored) or _not_told_apart(_of_points(points)[0], len(studies))


def predict(model: Model, temperature_C: float, ph: float, confidence: float = 0.95) -> Prediction:
    """Return the life of a further column in a further laboratory, with a prediction interval."""
    return Prediction(
        further_life(model, temperature_C, ph, confidence),
        _outside(model._tested, temperature_C, ph) if model._tested else "",
    )


def further_life(model: Model, temperature_C: float, ph: float, confidence: float = 0.95) -> Estimate:
    """Return the life of `predict` for conditions that are known to lie within what was tested."""
    if model._variances is None:
        return Estimate(reason=model.reason)
    row = _design(
        np.array([1.0 / (temperature_C + ZERO_CELSIUS_K)]), np.array([ph]), model._centre, model._terms
    )[0]
    middle = float(row @ model._variances.coefficients)
    half = hypot(model._variances.half_width(row, confidence, further=True), LEAST_HALF_WIDTH)
    return Estimate(exp(middle), exp(middle - half), exp(middle + half))


def drift(points: Sequence[Point], years: Mapping[str, float], confidence: float = 0.95) -> Estimate:
    """Return the change of ln life from one year to the next, beside temperature and pH.

    `years` are those of the studies, with decimals; a study without one is left out. Studies are random
    effects here, too: a drift shows only where it goes beyond what laboratories differ by.
    """
    dated = [point for point in points if point.study in years]
    studies = sorted({point.study for point in dated})
    if reason := _not_borne(dated, studies, 0):
        return Estimate(reason=reason)
    when = np.array([years[point.study] for point in dated])
    different = len({int(years[study]) for study in studies})
    if different < FEWEST_YEARS:
        return Estimate(
            reason=f"a trend takes {spelled(FEWEST_YEARS)} years, these studies are of {spelled(different)}"
        )
    design = np.column_stack((_of_points(dated)[0], when - when.mean()))
    if _not_told_apart(design, len(studies) - LEAST_LEFT + 1):
        return Estimate(reason="years cannot be told from temperature and pH in so few studies")
    return _interval(variances_of(design, *_lives_of(dated)), design.shape[1] - 1, 1.0, confidence)


def _lives_of(points: Sequence[Point]) -> tuple[FloatArray, list[int]]:
    """Return ln life of each column, and the place of its study among all."""
    places = {study: place for place, study in enumerate(sorted({point.study for point in points}))}
    return np.log([point.life_h for point in points]), [places[point.study] for point in points]


def _not_told_apart(design: FloatArray, studies: int) -> str:
    """Return why so many studies do not bear so many coefficients; empty where they do."""
    if studies > design.shape[1] and np.linalg.matrix_rank(design) == design.shape[1]:
        return ""
    return "temperature and pH do not vary apart from each other in enough studies"


def _of_points(
    points: Sequence[Point],
) -> tuple[FloatArray, tuple[float, float], tuple[bool, bool]]:
    """Return the design, the centre of 1/T and pH, and which of both vary enough to be terms of it."""
    inverse = np.array([1.0 / (point.temperature_C + ZERO_CELSIUS_K) for point in points])
    ph = np.array([point.ph for point in points])
    terms = (
        float(np.ptp([point.temperature_C for point in points])) >= LEAST_SPAN_C,
        float(np.ptp(ph)) >= LEAST_SPAN_PH,
    )
    centre = (float(inverse.mean()), float(ph.mean()))
    return _design(inverse, ph, centre, terms), centre, terms


def _not_borne(points: Sequence[Point], studies: Sequence[str], censored: int) -> str:
    if len(studies) < FEWEST_STUDIES:
        have = "have" if len(studies) > 1 else "has"
        found = counted(len(studies), "study", "studies")
        return (
            f"{found} {have} columns that reached the limit, and it takes {spelled(FEWEST_STUDIES)} at least"
        )
    if len(points) - len(studies) < LEAST_LEFT:
        return "hardly a study has more than one column, so columns and laboratories cannot be told apart"
    if censored > MOST_CENSORED * (censored + len(points)):
        every = censored + len(points)
        return f"{censored} of {every} columns did not reach the limit; the rest are no fair sample"
    return ""


def _design(
    inverse: FloatArray, ph: FloatArray, centre: tuple[float, float], terms: tuple[bool, bool]
) -> FloatArray:
    """Return (n, 1 to 3): ones, 1/T and pH from their centre, each where it is a term."""
    columns = [np.ones_like(ph)]
    columns += [
        part - middle for part, middle, used in zip((inverse, ph), centre, terms, strict=True) if used
    ]
    return np.column_stack(columns)


def _interval(variances: Variances, place: int, unit: float, confidence: float) -> Estimate:
    value = float(variances.coefficients[place]) * unit
    half = variances.half_width(np.eye(variances.coefficients.size)[place], confidence) * unit
    return Estimate(value, value - half, value + half)


def _outside(tested: Sequence[tuple[float, float]], temperature_C: float, ph: float) -> str:
    """Return by how far the conditions lie outside the hull of what was tested; empty inside."""
    heat, acid = (np.array(part) for part in zip(*tested, strict=True))
    told = []
    for value, part, unit, name in ((temperature_C, heat, " °C", ""), (ph, acid, "", "pH ")):
        low, high = float(part.min()), float(part.max())
        # Ovens are true to a degree and meters to a few hundredths: that far is not outside.
        slack = 1.0 if unit else 0.05
        if not low - slack <= value <= high + slack:
            past = low - value if value < low else value - high
            told.append(
                f"{past:.2g}{unit or ' pH units'} outside the {name}{low:.4g} to {high:.4g}{unit} tested"
            )
    if told or np.ptp(heat) == 0 or np.ptp(acid) == 0:
        return "; ".join(told)
    scaled = np.column_stack(((heat - heat.mean()) / 10.0, (acid - acid.mean()) / 0.5))
    place = np.array([(temperature_C - heat.mean()) / 10.0, (ph - acid.mean()) / 0.5])
    try:
        planes = scipy.spatial.ConvexHull(scaled).equations
    except (scipy.spatial.QhullError, ValueError):
        return ""
    past = float((planes[:, :-1] @ place + planes[:, -1]).max())
    if past <= 0.1:
        return ""
    return (
        f"this pair of temperature and pH lies outside what was tested, by about {10 * past:.2g} °C or "
        f"{0.5 * past:.1g} pH units"
    )

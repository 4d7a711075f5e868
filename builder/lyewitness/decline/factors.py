"""What each factor of a design does to the lives of the columns, and whether it does so alike everywhere.

In: the factors of a study, and the declines of its columns for one marker and metric. Out: `FactorEffect`s
and `Interaction`s; the columns are the replicates.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product
from math import exp

import numpy as np

from lyewitness.decline.column_lives import ColumnLife, column_life, counted, log_rate
from lyewitness.decline.deciding import Followed
from lyewitness.decline.linear_models import Contrast, LinearModel, contrast
from lyewitness.decline.records import Decline, FactorEffect, Interaction, SameEffect
from lyewitness.decline.small_samples import holm_in_parts, log_margin
from lyewitness.study.factor_words import ABSENT, is_sampled
from lyewitness.study.questions import Family, families_of
from lyewitness.study.records import Choices, Column, Factor, Study
from lyewitness.words.arrays import FloatArray
from lyewitness.words.estimates import Estimate

Cell = tuple[str, ...]
"""A level of each factor of a design."""

NOTHING_LEFT = "the columns leave nothing to judge it by"
NONE_FAILED = "no column reached the limit during the test"
TOO_FEW = "too few columns reached the limit during the test"
PLAIN = (*ABSENT, "control", "0")
"""Words that a level begins with that the others are held against, wherever it stands: `without guard`."""
LEAST_FREEDOM = 2
"""Degrees of freedom below which a scatter within cells tells next to nothing (Student's t is 12.7 at one): a
model without interactions, which leaves more, then tells the effects, indicated at most."""
INHERENT = ("bonding", "particle", "particle_um", "length_mm", "inner_diameter_mm")
"""What may differ between the columns of a level without being a stated factor."""


@dataclass(frozen=True, slots=True)
class Varied:
    """One factor as columns have it."""

    name: str
    levels: tuple[str, ...]
    """The one that the others are held against comes first."""
    of: Mapping[str, str]
    """Level by column id."""
    stated: bool = True
    """False for what differs between columns without being asked for: a stratum."""


def factor_effects(
    study: Study,
    followed: Mapping[Followed, Mapping[str, Sequence[Decline]]],
    families: Sequence[Family] | None = None,
) -> tuple[tuple[FactorEffect, ...], tuple[Interaction, ...]]:
    """Return every effect and interaction for every marker and metric, p values after Holm.

    `families`: of the questions that are answered by these metrics; those of the study where not given.
    """
    effects: list[FactorEffect] = []
    interactions: list[Interaction] = []
    for (marker, metric), groups in followed.items():
        for design in designs_of(study):
            analysis = _Analysis.of(study, design, marker, metric, groups)
            if analysis is not None:
                effects.extend(analysis.effects())
                interactions.extend(analysis.interactions())
    if families is None:
        told = [(e.marker, e.metric) for e in effects] + [(one.marker, one.metric) for one in interactions]
        families = families_of(study, list(dict.fromkeys(told)))
    return _settled(effects, interactions, study.choices, families)


def designs_of(study: Study) -> tuple[tuple[Varied, ...], ...]:
    """Return the designs that the factors make: one of all, or one each where no column has all of them."""
    varied = [_varied(factor, study.columns) for factor in study.factors]
    whole = [factor for factor in varied if len(factor.levels) > 1]
    if not whole:
        return ()
    shared = _columns_of(whole)
    if all(len({factor.of[column] for column in shared}) > 1 for factor in whole):
        return ((*whole, *_strata(study, whole)),)
    return tuple((factor, *_strata(study, [factor])) for factor in whole)


def levels_within(study: Study, group: str) -> dict[str, dict[str, tuple[str, ...]]]:
    """Return the factors that vary between the columns of one group: column ids by level, by factor."""
    found = {}
    for factor in study.factors:
        at: dict[str, list[str]] = {}
        for column in study.replicates(group):
            if level := factor.level_of(column):
                at.setdefault(level, []).append(column.id)
        if len(at) > 1:
            found[factor.name] = {level: tuple(columns) for level, columns in at.items()}
    return found


def mixed_levels(study: Study, group: str) -> dict[str, dict[str, tuple[str, ...]]]:
    """Return the same of those factors whose level is chosen: a type is no mixture for being of two lots."""
    return {name: levels for name, levels in levels_within(study, group).items() if not is_sampled(name)}


def _varied(factor: Factor, columns: Sequence[Column]) -> Varied:
    """Return a factor with the level of each column; levels that no column has are left out."""
    of = {column.id: level for column in columns if (level := factor.level_of(column))}
    levels = [level for level in factor.levels if level in of.values()]
    levels.sort(key=lambda level: level.lower().split()[0] not in PLAIN if level.split() else True)
    return Varied(factor.name, tuple(levels), of)


def _columns_of(design: Sequence[Varied]) -> list[str]:
    """Return the columns that have a level of every factor."""
    return [column for column in design[0].of if all(column in factor.of for factor in design)]


def _strata(study: Study, design: Sequence[Varied]) -> tuple[Varied, ...]:
    """Return what else differs between the columns of a design, where it is crossed with every factor.

    Two bondings, each with and without a part ahead of them, are two strata for the part, stated or not;
    types that hold all levels of the part bear their own names.
    """
    shared = [column for column in study.columns if column.id in _columns_of(design)]
    types = {column.id: column.group for column in shared}
    keys = {column.id: tuple(getattr(column, name) for name in INHERENT) for column in shared}
    differing = [n for i, n in enumerate(INHERENT) if len({key[i] for key in keys.values()}) > 1]
    makes = {column.id: ", ".join(str(getattr(column, name)) for name in differing) for column in shared}
    of_makes = [(differing[0].split("_")[0], makes)] if differing else []
    for name, of in (("type", types), *of_makes):
        levels = tuple(dict.fromkeys(of.values()))
        if len(levels) > 1 and all(_is_crossed(factor, of) for factor in design):
            return (Varied(name, levels, of, stated=False),)
    return ()


def _is_crossed(factor: Varied, strata: Mapping[str, str]) -> bool:
    """Return whether every stratum has columns at all levels of a factor."""
    return all(
        len({factor.of[column] for column, own in strata.items() if own == stratum}) == len(factor.levels)
        for stratum in strata.values()
    )


@dataclass(frozen=True, eq=False, slots=True)
class _Analysis:
    """One design with the lives and rates of its columns for one marker and metric."""

    marker: str
    metric: str
    design: tuple[Varied, ...]
    lives: LinearModel | None
    """None where too few columns failed; the rates then stand alone."""
    rates: LinearModel | None
    """None where a column has no rate, or no degree of freedom is left."""
    row: Callable[[Cell], FloatArray]
    """The coefficients' weights for a cell."""
    with_interactions: bool
    cells: Mapping[str, Cell]
    """By column."""
    confidence: float

    @classmethod
    def of(
        cls,
        study: Study,
        design: tuple[Varied, ...],
        marker: str,
        metric: str,
        groups: Mapping[str, Sequence[Decline]],
    ) -> "_Analysis | None":
        """Return the analysis; None where the columns of known life leave nothing to tell."""
        choices = study.choices
        measured = {
            decline.series.column: (decline, life)
            for members in groups.values()
            for decline in members
            if all(decline.series.column in factor.of for factor in design)
            and (life := column_life(decline, "", choices.confidence)) is not None
        }
        left = tuple(_present(factor, measured) for factor in design)
        if any(len(factor.levels) < 2 for factor in left if factor.stated):
            return None
        left = tuple(factor for factor in left if len(factor.levels) > 1)
        cells = {column: tuple(factor.of[column] for factor in left) for column in measured}
        strata = _strata_of_blocks(study, cells)
        lives = _as_counted([life for _, life in measured.values()], cells)
        declines = [decline for decline, _ in measured.values()]
        tried = []
        for with_interactions in (True, False):
            row = _coding(left, with_interactions)
            matrix = np.hstack([np.array([row(cell) for cell in cells.values()]), strata])
            full = np.linalg.matrix_rank(matrix) == matrix.shape[1]
            model = _model_of(matrix, lives) if full else None
            rates = _rates_of(matrix, declines, choices) if full else None
            padded = _padded(row, strata.shape[1])
            one = cls(
                marker, metric, left, model, rates, padded, with_interactions, cells, choices.confidence
            )
            if model is not None and (model.freedom >= LEAST_FREEDOM or model.censored.all()):
                return one
            tried.append(one)
        # What the factors do together is the scatter where the columns of a cell leave hardly any.
        known = [one for one in reversed(tried) if one.lives is not None]
        return next((one for one in (*known, *tried) if one.lives is not None or one.rates is not None), None)

    def effects(self) -> Iterator[FactorEffect]:
        """Yield each level against the first, over all and at each level of the other factors."""
        for index, factor in enumerate(self.design):
            if not factor.stated:
                continue
            for level in factor.levels[1:]:
                yield self._effect(index, level, ("", ""))
                for other, second in enumerate(self.design):
                    if other != index and self.with_interactions:
                        for at in second.levels:
                            yield self._effect(index, level, (second.name, at))

    def _effect(self, index: int, level: str, within: tuple[str, str]) -> FactorEffect:
        factor = self.design[index]
        against = factor.levels[0]
        weights = self._step(index, level, within)
        failed = self.lives is None or bool((~self.lives.censored).any())
        found = contrast(self.lives, weights, self.confidence) if self.lives is not None and failed else None
        rate = contrast(self.rates, weights, self.confidence) if self.rates is not None else None
        columns = [column for column, cell in self.cells.items() if self._stands(cell, within)]
        ends = tuple(
            tuple(column for column in columns if self.cells[column][index] == one)
            for one in (level, against)
        )
        return FactorEffect(
            factor.name,
            level,
            against,
            within[0],
            within[1],
            self.marker,
            self.metric,
            ends[0],
            ends[1],
            _ratio(found) if found else Estimate(reason=TOO_FEW if failed else NONE_FAILED),
            _ratio(rate) if rate is not None else Estimate(),
            found.p_value if found and not within[0] else None,
            rate_p=rate.p_value if rate is not None else None,
            method=self._method(),
            additive=not self.with_interactions and len(self.design) > 1,
        )

    def interactions(self) -> Iterator[Interaction]:
        """Yield by how much the effect of a level differs between the levels of another factor."""
        for (i, first), (j, second) in combinations(enumerate(self.design), 2):
            if not (first.stated or second.stated):
                continue
            if not first.stated:
                (i, first), (j, second) = (j, second), (i, first)
            for level, at in product(first.levels[1:], second.levels[1:]):
                yield self._interaction((i, level), (j, at))

    def _interaction(self, first: tuple[int, str], second: tuple[int, str]) -> Interaction:
        (i, level), (j, at) = first, second
        factor, other = self.design[i], self.design[j]
        found = rate = None
        if self.with_interactions:
            there, here = (self._step(i, level, (other.name, one)) for one in (at, other.levels[0]))
            if self.lives is not None and not self.lives.censored.all():
                found = contrast(self.lives, there - here, self.confidence)
            if self.rates is not None:
                rate = contrast(self.rates, there - here, self.confidence)
        return Interaction(
            factor.name, level, factor.levels[0], other.name, at, other.levels[0], self.marker, self.metric,
            _ratio(found) if found is not None else Estimate(reason=NOTHING_LEFT),
            found.p_value if found is not None else None,
            rate_ratio=_ratio(rate) if rate is not None else Estimate(reason=NOTHING_LEFT),
            rate_p=rate.p_value if rate is not None else None,
        )  # fmt: skip

    def _step(self, index: int, level: str, within: tuple[str, str]) -> FloatArray:
        """Return the weights of a level against the first, the mean over the cells of the other factors."""
        others = [
            (within[1],) if factor.name == within[0] else factor.levels for factor in self.design
        ]  # fmt: skip
        ends = []
        for one in (level, self.design[index].levels[0]):
            axes = [(one,) if i == index else levels for i, levels in enumerate(others)]
            ends.append(np.mean([self.row(cell) for cell in product(*axes)], axis=0))
        return np.asarray(ends[0] - ends[1])

    def _stands(self, cell: Cell, within: tuple[str, str]) -> bool:
        return all(
            f.name != within[0] or level == within[1] for f, level in zip(self.design, cell, strict=True)
        )

    def _method(self) -> str:
        blocks = ", blocks as strata" if len(self.row(next(iter(self.cells.values())))) > self._own() else ""
        if self.lives is None:
            return f"least squares on log rates of decline, columns as replicates{blocks}"
        how = (
            "normal likelihood, lives not reached as bounds" if self.lives.censored.any() else "least squares"
        )
        return f"{how} on log lives, columns as replicates{blocks}"

    def _own(self) -> int:
        return len(_coding(self.design, self.with_interactions)(next(iter(self.cells.values()))))


def _present(factor: Varied, columns: Iterable[str]) -> Varied:
    """Return a factor with the levels of which a column was measured."""
    found = {factor.of[column] for column in columns}
    return replace(factor, levels=tuple(level for level in factor.levels if level in found))


def _as_counted(lives: Sequence[ColumnLife], cells: Mapping[str, Cell]) -> list[ColumnLife]:
    """Return the lives as the comparison of groups counts them, each cell for itself."""
    of: dict[Cell, list[ColumnLife]] = {}
    for life in lives:
        of.setdefault(cells[life.column], []).append(life)
    weighed = {life.column: life for members in of.values() for life in counted(members)}
    return [weighed[column] for column in cells]


def _model_of(matrix: FloatArray, lives: Sequence[ColumnLife]) -> LinearModel | None:
    """Return the model; None where too few columns failed to leave a scatter."""
    model = LinearModel(
        matrix,
        np.array([life.at_least for life in lives]),
        np.array([life.value is None for life in lives]),
        np.array([life.own_error for life in lives]),
    )
    # Where nothing failed there is no life to compare; rates may still be.
    return model if model.freedom >= 1 or (model.censored.all() and len(lives) > matrix.shape[1]) else None


def _rates_of(matrix: FloatArray, declines: Sequence[Decline], choices: Choices) -> LinearModel | None:
    """Return the model of log rates of decline; None where a column shows no decline."""
    found = [log_rate(decline, choices.confidence) for decline in declines]
    known = [rate for rate in found if rate is not None]
    if len(known) < len(found):
        return None
    values, own = np.array(known).T
    model = LinearModel(matrix, values, np.zeros(len(values), dtype=np.bool_), own)
    return model if model.freedom >= 1 else None


def _coding(design: Sequence[Varied], with_interactions: bool) -> Callable[[Cell], FloatArray]:
    """Return the row of a cell: a constant, each factor in sum coding, and products of two factors.

    In sum coding an effect is the mean over the cells of the other factors, however many columns each has.
    """
    pairs = list(combinations(range(len(design)), 2)) if with_interactions else []

    def row(cell: Cell) -> FloatArray:
        parts = [_sum_coded(factor.levels, level) for factor, level in zip(design, cell, strict=True)]
        both = [np.outer(parts[i], parts[j]).ravel() for i, j in pairs]
        return np.concatenate([np.ones(1), *parts, *both])

    return row


def _sum_coded(levels: Sequence[str], level: str) -> FloatArray:
    """Return 1 at the level's own place; −1 everywhere for the first level."""
    if level == levels[0]:
        return np.full(len(levels) - 1, -1.0)
    return np.array([1.0 if one == level else 0.0 for one in levels[1:]])


def _strata_of_blocks(study: Study, columns: Iterable[str]) -> FloatArray:
    """Return the design of the blocks, where they are paired and every column stands in one; else none."""
    words = [study.column(column).block for column in columns]
    used = study.choices.paired_blocks and words and all(words)
    return _dummies(words) if used else np.empty((len(words), 0))


def _dummies(words: Sequence[str]) -> FloatArray:
    """Return one column each for all different `words` but the first."""
    known = list(dict.fromkeys(words))
    return np.array([[1.0 if word == one else 0.0 for one in known[1:]] for word in words]).reshape(
        len(words), max(0, len(known) - 1)
    )


def _padded(row: Callable[[Cell], FloatArray], more: int) -> Callable[[Cell], FloatArray]:
    """Return rows with nought for the blocks, which no contrast of levels touches."""
    return lambda cell: np.concatenate([row(cell), np.zeros(more)])


def _ratio(found: Contrast) -> Estimate:
    value, low, high = (None if end is None else exp(end) for end in (found.value, found.low, found.high))
    return Estimate(value, low, high)


OTHERS = "others"
"""The part of what no question asks for."""


ASKED_BY = "asked by "
"""What the key of a question's own effects begins with, before its id."""


def _settled(
    effects: Sequence[FactorEffect],
    interactions: Sequence[Interaction],
    choices: Choices,
    families: Sequence[Family],
) -> tuple[tuple[FactorEffect, ...], tuple[Interaction, ...]]:
    """Return all with p values after Holm, and each interaction with what it says.

    Effects of the factors that a question names, by what it may be answered by, are adjusted among
    themselves, each question's for itself; so are other effects, and the interactions, which ask something
    else, by the one metric that decides a question; all others together.
    """
    every: list[FactorEffect | Interaction] = [*effects, *interactions]
    tested = {id(one): one.p_value for one in every if one.p_value is not None}
    rated = {id(one): one.rate_p for one in effects if one.rate_p is not None and not one.other}
    both = {id(one): one.rate_p for one in interactions if one.rate_p is not None}
    decide = {metric for family in families if len(family.metrics) == 1 for metric in family.metrics}
    wanted = {
        (name, metric): f"{ASKED_BY}{family.question}"
        for family in reversed(families)
        for name in family.factors
        for metric in family.metrics
    }
    part = {
        id(one): ("together" if (one.marker, one.metric) in decide else OTHERS)
        if isinstance(one, Interaction)
        else wanted.get((one.factor, key), "deciding" if key in decide else OTHERS)
        for one in every
        for key in [(one.marker, one.metric)]
    }
    # Interactions of rates are corrected among themselves: beside an open life they ask something else.
    adjusted, rates, rates_of_both = (
        dict(zip(known, holm_in_parts(list(known.values()), [part[key] for key in known]), strict=True))
        for known in (tested, rated, both)
    )
    many, many_rates = (Counter(part[key] for key in known) for known in (tested, rated))
    return (
        tuple(
            replace(
                one,
                p_adjusted=adjusted.get(id(one)),
                rate_p_adjusted=rates.get(id(one)),
                corrected_over=(many if one.p_value is not None else many_rates)[part[id(one)]],
                asked=part[id(one)] != OTHERS,
                asked_by=part[id(one)].removeprefix(ASKED_BY) if part[id(one)].startswith(ASKED_BY) else "",
            )
            for one in effects
        ),
        tuple(_told(one, adjusted.get(id(one)), rates_of_both.get(id(one)), choices) for one in interactions),
    )


def _told(one: Interaction, adjusted: float | None, of_rates: float | None, choices: Choices) -> Interaction:
    """Return an interaction with what it says of lives and of rates."""
    return replace(
        one,
        p_adjusted=adjusted,
        finding=_same(one.ratio, adjusted, choices),
        rate_p_adjusted=of_rates,
        rate_finding=_same(one.rate_ratio, of_rates, choices),
    )


def _same(ratio: Estimate, adjusted: float | None, choices: Choices) -> SameEffect:
    """Return whether an effect is the same: `alike` needs the whole interval within the margin."""
    margin = exp(log_margin(choices.equivalence_margin_percent))
    if ratio.low is not None and ratio.high is not None and 1 / margin <= ratio.low <= ratio.high <= margin:
        return "alike"
    return "differs" if adjusted is not None and adjusted <= choices.alpha else "cannot tell"


def main_effects(effects: Iterable[FactorEffect], marker: str, metric: str) -> tuple[FactorEffect, ...]:
    """Return the effects over all cells by that marker and metric."""
    return tuple(e for e in effects if not e.other and (e.marker, e.metric) == (marker, metric))

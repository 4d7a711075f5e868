"""Audit of the exposure: did the columns see the same stress, at the same pace and for as long?

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import pi
from statistics import fmean, median

from lyewitness.findings.audit.points import (
    Asked,
    Point,
    all_pairs,
    groups_of,
    pairs_apart,
    pairs_with,
    subject_of,
)
from lyewitness.findings.audit.results import weigh
from lyewitness.findings.ends import end_of
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Column
from lyewitness.study.set_on_purpose import set_on_purpose, setting_of
from lyewitness.words.numbers import rounded, stated, with_unit
from lyewitness.words.phrases import hours, listed, percent, share_of

PACE = Asked(
    "equal-exposure",
    "Did the columns see the same number of column volumes an hour?",
    "What sees more column volumes an hour is stressed harder: lives in hours do not compare like with like.",
    "Compare the lives in column volumes beside those in hours, or repeat at equal column volumes an hour.",
)


def pace(evidence: Evidence) -> Iterator[Point]:
    """Ask whether an hour was the same number of column volumes for every group."""
    study = evidence.study
    if len(study.columns) < 2:
        return
    paces = {
        column.id: found for column in study.columns if (found := _column_volumes_per_h(evidence, column))
    }
    without = [column.id for column in study.columns if column.id not in paces]
    if without:
        yield PACE.says(
            "not possible",
            f"the column volumes passed through {listed(without)} are not known",
            subject_of(evidence, without),
            pairs=pairs_with(study, groups_of(evidence, without)),
            cure="State the flow, and inject a hold-up marker.",
        )
        return
    by_group = {g: fmean(paces[column.id] for column in study.replicates(g)) for g in study.groups}
    (first, found), *others = by_group.items()
    detail = listed(
        [
            f"{first} saw {rounded(found, 3)} column volumes an hour",
            *(f"{group} {rounded(found, 3)}" for group, found in others),
        ]
    )
    slight = max(by_group.values()) <= SLIGHT * min(by_group.values())
    for point in weigh(evidence, PACE, "the column volumes", detail, by_group, _ratio, rough=False):
        yield replace(point, slight=slight)


SLIGHT = 1.1
"""Times the fewest column volumes up to which a difference is slight: columns of a type seldom agree better
than within a fifth (common practice), and volumes shorten a life in proportion at most."""


def _ratio(hard: float, soft: float) -> float:
    """Return by how much more column volumes can shorten a life: at most in proportion."""
    return hard / soft


def _column_volumes_per_h(evidence: Evidence, column: Column) -> float | None:
    """Return the column volumes an hour: from the injections, else from flow and hold-up time."""
    markers = [marker.id for marker in evidence.study.markers]
    paces = [
        row.exposure_cv / row.exposure_h
        for marker in markers
        for row in evidence.rows(column.id, marker)
        if row.exposure_cv and row.exposure_h > 0
    ]
    if paces:
        return median(paces)
    flow, void = evidence.study.stress.flow_mL_min, evidence.void_volume(column)
    return 60 * flow / void if flow and void else None


def _spread_percent(values: Mapping[str, float]) -> float:
    """Return how far the largest lies above the smallest, % of the smallest."""
    return 100 * (max(values.values()) / min(values.values()) - 1) if values else 0.0


VELOCITY = Asked(
    "equal-velocity",
    "Did the mobile phase run at the same linear velocity?",
    "Plate numbers compare at one velocity only, and a faster stream may carry dissolved silica away sooner.",
    "Set the flow so that length ÷ hold-up time is equal.",
)


def velocity(evidence: Evidence) -> Iterator[Point]:
    """Ask whether length ÷ hold-up time, the mean linear velocity, was the same for every group."""
    study = evidence.study
    if len(study.columns) < 2:
        return
    found = {column.id: _velocity_mm_s(evidence, column) for column in study.columns}
    without = [column for column, value in found.items() if value is None]
    if without:
        yield VELOCITY.says(
            "not possible",
            f"length or hold-up time of {listed(without)} is not known",
            subject_of(evidence, without),
            pairs=pairs_with(study, groups_of(evidence, without)),
            cure="State the length and inject a hold-up marker.",
        )
        return
    known = {column: value for column, value in found.items() if value is not None}
    by_group = {g: fmean(known[column.id] for column in study.replicates(g)) for g in study.groups}
    spread = _spread_percent(by_group)
    numbers = listed(f"{group} {with_unit(rounded(value, 3), 'mm/s')}" for group, value in by_group.items())
    several = len(by_group) > 1
    detail = f"the linear velocities lie {percent(spread)} apart: {numbers}" if several else numbers
    if spread <= 10 or len(by_group) < 2:
        yield VELOCITY.good(detail)
    else:
        apart = [p for p in all_pairs(study) if _spread_percent({g: by_group[g] for g in p}) > 10]
        yield VELOCITY.says("caution", detail, pairs=apart)


def _velocity_mm_s(evidence: Evidence, column: Column) -> float | None:
    """Return the mean linear velocity u = L ÷ t0 of the injections (IUPAC), else from the open tube, mm/s."""
    hold_up = evidence.hold_up_min(column.id)
    if column.length_mm and hold_up:
        return column.length_mm / (hold_up * 60)
    flow, diameter = evidence.study.test.flow_mL_min, column.inner_diameter_mm
    # Without a hold-up marker: superficial velocity, flow ÷ cross-section, alike for all porosities.
    return flow * 1000 / 60 / (pi * diameter**2 / 4) if flow and diameter else None


DURATION = Asked(
    "equal-duration",
    "Were the columns exposed for as long?",
    "What was stopped early had less time to fail: its life is only known to be at least so long.",
    "Run the short ones on.",
)


def duration(evidence: Evidence) -> Iterator[Point]:
    """Ask whether every column was followed for as long, or until it failed."""
    study = evidence.study
    ends = {column.id: seen[-1] for column in study.columns if (seen := evidence.hours(column.id))}
    unseen = [column.id for column in study.columns if column.id not in ends]
    if unseen:
        yield DURATION.says(
            "problem",
            f"{listed(unseen)} has no used injection" if len(unseen) == 1 else
            f"{listed(unseen)} have no used injections",
            subject_of(evidence, unseen),
            bound="not settled",
            pairs=pairs_with(study, groups_of(evidence, unseen)),
            bearing="Nothing is known of it.",
            cure="Add its injections.",
        )  # fmt: skip
        return
    longest = max(ends.values())
    short = [column for column, end in ends.items() if end < 0.9 * longest and not _failed(evidence, column)]
    shortest = hours(min(ends.values()))
    detail = shortest if shortest == hours(longest) else f"{shortest} to {hours(longest)}"
    if len(study.columns) < 2:
        return
    if short:
        told = (end_of(study, evidence.measurements, study.column(column)) for column in short)
        listing = "; ".join(f"{end.column}, {end.words}" for end in told)
        yield DURATION.says(
            "caution",
            f"the longest was followed for {hours(longest)}; stopped before it failed: {listing}",
            subject_of(evidence, short),
            pairs=pairs_with(study, groups_of(evidence, short)),
        )
    else:
        yield DURATION.good(f"followed for {detail}, each to the end or to its failure")


def _failed(evidence: Evidence, column: str) -> bool:
    return any(
        first.column == column and first.life.state == "reached"
        for first in evidence.judgement.first_failures
    )


SETTINGS = Asked(
    "same-settings",
    "Were the groups stressed at the same temperature and pH by plan?",
    "A column that was set hotter or to a higher pH fails sooner whatever its type.",
    "Compare only columns of one setting, or stress each group at every setting.",
)


STATED = Asked(
    "same-settings",
    "Are temperature and pH of the stress stated?",
    "A life belongs to the conditions under which it was had.",
    "State them in [stress].",
)


def settings(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the stress that the study states is the same for each group."""
    study = evidence.study
    asked = SETTINGS if len(study.columns) > 1 else STATED
    held = [column for column in study.columns if column.id not in evidence.left_out]
    varied = set_on_purpose(study)
    kinds = {
        group: frozenset(_setting(evidence, column) for column in held if column.group == group)
        for group in study.groups
    }
    every = sorted(set().union(*kinds.values()))
    said = listed(_setting_words(setting) for setting in every)
    # What is compared is no fault of the comparison.
    others_alike = {
        group: frozenset(
            tuple(-1.0 if name in varied else value for name, value in zip(SET, one, strict=True))
            for one in own
        )
        for group, own in kinds.items()
    }
    apart = pairs_apart(study, others_alike)
    if varied and not apart and len(every) > 1:
        yield asked.good(f"varied on purpose: {said}")
    elif apart:
        numbers = "; ".join(
            f"{group} at {listed(_setting_words(s) for s in sorted(found))}" for group, found in kinds.items()
        )
        yield asked.says(
            "problem", f"the groups were set to different stress: {numbers}", bound="not settled", pairs=apart
        )
    elif len(every) > 1:
        yield asked.says(
            "caution", f"each group was stressed at {said}", pairs=all_pairs(study),
            bearing="A life over several settings is a mixture: read the lives setting by setting.",
        )  # fmt: skip
    elif (-1.0, -1.0) in every:
        yield asked.says(
            "not possible",
            "neither temperature nor pH of the stress is stated",
            pairs=all_pairs(study),
            cure="State them in [stress].",
        )
    else:
        others = "; ".join(
            f"{column.id}, at {_setting_words(_setting(evidence, column))}, is left out of the comparison"
            for column in study.columns
            if column.id in evidence.left_out
        )
        held_words = f"{said} for {share_of(len(held), len(study.columns), 'column')}"
        yield asked.good(f"{held_words}; {others}" if others else held_words)


SET = {"temperature_C": "temperature", "ph": "pH"}
"""What the stress is set to, as `_setting` has it."""


def _setting(evidence: Evidence, column: Column) -> tuple[float, float]:
    """Return the temperature (°C) and pH by plan; −1 where not stated, so that settings sort."""
    temperature, ph = (setting_of(evidence.study, column, name) for name in SET)
    return (temperature if temperature is not None else -1.0, ph if ph is not None else -1.0)


def _setting_words(setting: tuple[float, float]) -> str:
    temperature, ph = setting
    warm = with_unit(stated(temperature), "°C") if temperature >= 0 else "a temperature not stated"
    return f"{warm} and {'pH ' + stated(ph) if ph >= 0 else 'a pH not stated'}"

"""Audit of the running: to its end, in which order, interleaved or not, with which gaps.

In: `Evidence`, with the times at which injections were made. Out: `Point`s.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from statistics import fmean, median, stdev

from lyewitness.findings.audit.points import (
    Asked,
    Pair,
    Point,
    all_pairs,
    groups_of,
    pairs_with,
    subject_of,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.study.placing import FEW_STAMPS, LEAST_OFFSET_H, SAME_OFFSET_H, hours_by_clock
from lyewitness.study.records import Injection
from lyewitness.traces.clocks import stamps_of
from lyewitness.words.numbers import fixed, rounded
from lyewitness.words.phrases import counted, hours, listed

Span = tuple[datetime, datetime]

ENDED = Asked(
    "ended",
    "Has the test come to its planned end?",
    "Whoever looks again and again, and stops when a difference shows, finds one that is not there more "
    "often than one time in twenty.",
    "Let the test run to its planned end, or plan the looks before it begins (`looks_h` in [test]).",
)


def _level(p: float) -> str:
    """Return a level for p in plain decimals: early looks spend next to nothing of the error."""
    return rounded(p, 2) if p >= 0.001 else fixed(p, 6)


def ended(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the study still runs: before its end nothing is shown, but at a look that was planned."""
    standing = evidence.standing
    if standing.ends_h is None and not standing.running:
        return
    if not standing.running:
        yield ENDED.good(f"the test ran to its planned end at {hours(standing.ends_h or standing.reached_h)}")
        return
    of = f" of {hours(standing.ends_h)}" if standing.ends_h is not None else ""
    told = f"the test is running, and stands at {hours(standing.reached_h)}{of}"
    if standing.look and standing.level is not None:
        several = len(evidence.study.groups) > 1
        look = f"look {standing.look} of {standing.looks} that were planned"
        yield ENDED.says(
            "caution",
            f"{told}: {look}"
            + (f"; a difference counts where p is below {_level(standing.level)}" if several else ""),
        )
        return
    yield ENDED.says(
        "caution",
        f"{told}, so that nothing is more than indicated",
        bound="indicated",
        pairs=all_pairs(evidence.study),
        groups=evidence.study.groups,
    )


ORDER = Asked(
    "order-of-running",
    "Were the groups run side by side or in turn?",
    "Whatever changed with time, such as buffer, oven or lamp, then changed with the group: the two cannot "
    "be told apart.",
    "Run one column of each group in every block, in drawn order.",
)


def order(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the groups ran interleaved: a group that ran wholly before another is confounded."""
    study = evidence.study
    if len(study.groups) < 2:
        return
    spans = {column.id: span for column in study.columns if (span := _span(evidence, column.id))}
    without = [column.id for column in study.columns if column.id not in spans]
    blocked = ""
    if _blocked(evidence):
        number = counted(len({column.block for column in study.columns}), "block")
        blocked = f"{number}, each with a column of every group"
    if without and blocked:
        yield ORDER.good(blocked)
        return
    if without:
        yield _order_unknown(evidence, without)
        return
    confounded = [pair for pair in all_pairs(study) if _one_after_the_other(evidence, spans, pair)]
    if confounded:
        said = listed(" and ".join(sorted(pair)) for pair in sorted(confounded, key=sorted))
        yield ORDER.says(
            "problem",
            f"one group was run wholly before the other: {said}",
            bound="indicated",
            pairs=confounded,
        )
    else:
        first, last = min(s for s, _ in spans.values()), max(e for _, e in spans.values())
        between = f"the groups ran side by side or in turn between {first:%Y-%m-%d} and {last:%Y-%m-%d}"
        yield ORDER.good("; ".join(part for part in (blocked, between) if part))


def _order_unknown(evidence: Evidence, without: Sequence[str]) -> Point:
    """Return the point for missing times; without a log either, nothing shows the stress was the same."""
    logged = all(
        evidence.logged(column.id, quantity)
        for column in evidence.study.columns
        for quantity in ("temperature_C", "ph")
    )
    unseen = "" if logged else ", and no log shows temperature and pH of every column"
    return ORDER.says(
        "not possible",
        f"no times are known for {listed(without)}{unseen}",
        subject_of(evidence, without),
        bound="shown" if logged else "indicated",
        pairs=pairs_with(evidence.study, groups_of(evidence, without)),
        bearing="If one group was run after the other, what changed meanwhile would count as its doing.",
        cure="Keep the time stamps of the exports, or give ‘at’, or name blocks; log temperature and pH.",
    )


def _blocked(evidence: Evidence) -> bool:
    """Return whether every column has a block and every block holds every group."""
    groups: dict[str, set[str]] = {}
    for column in evidence.study.columns:
        groups.setdefault(column.block, set()).add(column.group)
    return "" not in groups and all(found == set(evidence.study.groups) for found in groups.values())


def _span(evidence: Evidence, column: str) -> Span | None:
    """Return when the first and the last injection of that column were made."""
    times = [time for injection in evidence.used(column) if (time := evidence.time_of(injection))]
    return (min(times), max(times)) if times else None


def _one_after_the_other(evidence: Evidence, spans: Mapping[str, Span], pair: Pair) -> bool:
    """Return whether every column of one group ended before any of the other began."""
    first, second = (
        [spans[column.id] for column in evidence.study.replicates(group)] for group in sorted(pair)
    )
    return _before(first, second) or _before(second, first)


def _before(first: Sequence[Span], second: Sequence[Span]) -> bool:
    return max(end for _, end in first) <= min(start for start, _ in second)


DATED = "Keep the time stamps of the exports, such as 2026-03-02T08:00:00, or fill in ‘at’ in injections.csv."
TIMES = Asked(
    "times-fit-exposure",
    "Do the times of the injections fit their exposures?",
    "An injection out of order may be the wrong file or the wrong exposure, and then stands at the wrong "
    "place on the decline.",
    "Look up these injections in the run log and correct the folder.",
)


def times(evidence: Evidence) -> Iterator[Point]:
    """Ask whether later injections bear later exposures, and no exposure outran the clock."""
    wrong: list[str] = []
    dated = 0
    for column in evidence.study.columns:
        placed = dated_injections(evidence, column.id)
        dated += len(placed)
        wrong += _misplaced(placed)
    if dated == 0:
        yield TIMES.says("not possible", "the injections bear no times that can be read surely", cure=DATED)
    elif wrong:
        columns = [found.column for found in evidence.study.injections if found.id in set(wrong)]
        groups = groups_of(evidence, columns)
        yield TIMES.says(
            "problem",
            f"{counted(len(wrong), 'injection')} {'is' if len(wrong) == 1 else 'are'} at odds with the "
            f"clock: {listed(wrong[:6])}" + (" and more" if len(wrong) > 6 else ""),
            subject_of(evidence, columns),
            bound="indicated",
            pairs=pairs_with(evidence.study, groups),
            groups=groups,
        )
    else:
        told = f"{counted(dated, 'dated injection')}, all in the order of their exposures"
        yield TIMES.good("; ".join([told, *_clocks_off(evidence)]))


LEAST_OFF_MIN = 5.0
"""Minutes from which a clock that is off is told: what somebody sets is right to a minute or two."""
SURELY = 3.0
"""Standard errors by which its mean must exceed what rounded exposures leave."""


def _clocks_off(evidence: Evidence) -> Iterator[str]:
    """Yield by how many minutes the stamps of the exports stand off the stated exposures, all alike.

    Half hours are a zone and told by `check`; minutes change no life, but tell whose clock was not set.
    """
    stamps = stamps_of(evidence.study, evidence.traces)
    off: dict[int, list[str]] = {}
    for column in evidence.study.columns:
        stated = [one for one in evidence.used(column.id) if one.id in stamps and not one.clocked]
        gaps = [
            60.0 * (by_clock - one.exposure_h)
            for one in stated
            if one.exposure_h is not None
            and (by_clock := hours_by_clock(column, stamps[one.id], evidence.study.events)) is not None
        ]
        if len(gaps) < FEW_STAMPS or max(gaps) - min(gaps) > 60.0 * SAME_OFFSET_H:
            continue
        middle, error = fmean(gaps), stdev(gaps) / len(gaps) ** 0.5
        if abs(middle) > max(LEAST_OFF_MIN, SURELY * error) and abs(middle) < 60.0 * LEAST_OFFSET_H:
            off.setdefault(round(middle), []).append(column.id)
    for way, after in (("ahead of", 1), ("behind", -1)):
        found = {minutes: columns for minutes, columns in off.items() if minutes * after > 0}
        if found:
            size = " to ".join(dict.fromkeys(str(f(abs(m) for m in found)) for f in (min, max)))
            columns = [one for some in found.values() for one in some]
            those = listed(one.id for one in evidence.study.columns if one.id in columns)
            yield (
                f"the time stamps of {those} stand {size} min {way} the stated exposures (a clock that was "
                "not set, or a start that was noted by the hour), which were followed"
            )


def dated_injections(evidence: Evidence, column: str) -> list[tuple[datetime, float, Injection]]:
    """Return (time, exposure in hours, injection) of what has both, by time, then exposure."""
    found = []
    for injection in evidence.used(column):
        time, exposure = evidence.time_of(injection), evidence.exposure_h(injection)
        if time is not None and exposure is not None:
            found.append((time, exposure, injection))
    return sorted(found, key=lambda entry: entry[:2])


def _misplaced(placed: Sequence[tuple[datetime, float, Injection]]) -> list[str]:
    """Return the injections whose exposure went back, or ran ahead of the clock by more than 5 %."""
    return [
        later[2].id
        for earlier, later in pairwise(placed)
        if later[1] < earlier[1] or later[1] - earlier[1] > 1.05 * hours_between(earlier[0], later[0]) + 0.5
    ]


def hours_between(earlier: datetime, later: datetime) -> float:
    """Return the hours between two times."""
    return (later - earlier).total_seconds() / 3600


GAPS = Asked(
    "long-gaps",
    "Were the columns looked at often enough?",
    "What happened in a gap is not seen: a life that falls into it is known only to lie between its ends.",
    "Inject more often around the expected life.",
)


def _gaps_words(long: Mapping[str, tuple[float, float]]) -> str:
    """Return the gaps of up to three columns, or of how many and the widest."""
    worst = max(long, key=lambda column: long[column][1] - long[column][0])
    shown = [worst] if len(long) > MOST_NAMED else list(long)
    said = listed(
        f"on {column} from {hours(long[column][0])} to {hours(long[column][1])}" for column in shown
    )
    if len(shown) == len(long):
        return f"there is no injection {said}"
    return f"{counted(len(long), 'column')} went without an injection for long; the longest gap: {said}"


MOST_NAMED = 3
"""Columns that a sentence lists; beyond that it counts them and names the worst."""


def gaps(evidence: Evidence) -> Iterator[Point]:
    """Ask for gaps between injections longer than a fifth of the exposure and twice the usual step."""
    long: dict[str, tuple[float, float]] = {}
    for column in evidence.study.columns:
        seen = evidence.hours(column.id)
        steps = [(later - earlier, earlier, later) for earlier, later in pairwise(seen)]
        if len(steps) < 2:
            continue
        widest = max(steps)
        if widest[0] > 0.2 * (seen[-1] - seen[0]) and widest[0] > 2 * median(step for step, _, _ in steps):
            long[column.id] = widest[1:]
    if long:
        groups = groups_of(evidence, long)
        said = _gaps_words(long)
        yield GAPS.says(
            "caution", said, subject_of(evidence, long),
            pairs=pairs_with(evidence.study, groups), groups=groups,
        )  # fmt: skip
    else:
        yield GAPS.good("no gap is longer than a fifth of the exposure and twice the usual step")

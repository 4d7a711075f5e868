"""Where the pH of the log bears on the marker that decides: what it did to it, and what no pH touches.

In: `Evidence`. Out: `Swing`, and its sentences.

A bottle that takes up carbon dioxide, or loses ammonia, and is renewed, moves a partly ionised marker to and
fro on every column. First against last such a course looks steady, and lives by such a marker scatter with
the bottle: more columns do not mend that, a steadier bottle or a marker without a charge does. Audit, signs
and answer read it from `followed_in`, so that they say the same.
"""

from dataclasses import dataclass
from functools import lru_cache

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.common_steps import CommonStep, common_steps
from lyewitness.findings.medium.retention_by_ph import HARMLESS_PH, RETENTION, Followed, followed_by
from lyewitness.words.lives import tell
from lyewitness.words.metrics import the_metric
from lyewitness.words.numbers import fixed
from lyewitness.words.phrases import listed, percent, percent_span

BEARS = 0.25
"""Share of the fall that the limit allows from which the pH bears on a life: less shifts it by less than the
columns of one type differ."""


@dataclass(frozen=True, slots=True)
class Swing:
    """What the pH of the log did to the marker that decides."""

    followed: Followed
    neutral: str = ""
    """A neutral marker whose retention has a limit too; empty where there is none."""

    @property
    def range_words(self) -> str:
        """Return `between 10.27 and 10.64`."""
        low, high = self.followed.low_ph, self.followed.high_ph
        return f"between {fixed(low, 2)} and {fixed(high, 2)}"

    @property
    def moved_words(self) -> str:
        """Return `moved the … by 7.6 % to 13 %`, as far as the injections tell."""
        whose = the_metric(self.followed.marker, RETENTION)
        if self.followed.share[0] > 0:
            return f"moved {whose} by {percent_span(*self.followed.moved_percent)}"
        return f"can have moved {whose} by up to {percent(self.followed.moved_percent[1])}"


@lru_cache(maxsize=2)
def followed_in(evidence: Evidence) -> tuple[Followed, ...]:
    """Return how the retention of each base and acid followed the logged pH; read once for all who ask."""
    return followed_by(evidence.study, evidence.measurements, evidence.judgement.declines)


@lru_cache(maxsize=2)
def steps_in(evidence: Evidence) -> tuple[CommonStep, ...]:
    """Return what all columns did together at an event; read once for all who ask."""
    return common_steps(evidence.study, evidence.judgement.declines)


def swing_of(evidence: Evidence, deciding: tuple[str, str]) -> Swing | None:
    """Return the swing of the pH that bears on the deciding marker and metric; None where none does."""
    marker, metric = deciding
    if metric != RETENTION:
        return None
    own = next((one for one in followed_in(evidence) if one.marker == marker), None)
    limits = [
        d.limit_percent
        for d in evidence.judgement.declines
        if (d.series.marker, d.series.metric) == deciding and d.limit_percent
    ]
    if own is None or not limits or own.moved_percent[1] < BEARS * abs(100 - limits[0]):
        return None
    limited = {
        d.series.marker for d in evidence.judgement.declines if d.limit and d.series.metric == RETENTION
    }
    neutral = next((name for name in evidence.roles("neutral") if name in limited), "")
    return Swing(own, neutral)


def swing_words(evidence: Evidence, deciding: tuple[str, str], groups: tuple[str, ...]) -> list[str]:
    """Return what the answer says of the bottle, and the lives by a marker that no pH touches."""
    swing = swing_of(evidence, deciding)
    if swing is None:
        return []
    said = [
        f"the logged pH went {swing.range_words}, which alone {swing.moved_words}: its lives tell of the "
        "bottle as well as of the columns"
    ]
    lives = [
        f"{tell(life.life)} for {group}"
        for group in groups
        if (life := evidence.group_life(group, swing.neutral, RETENTION)) is not None
    ]
    if lives:
        said.append(f"by {the_metric(swing.neutral, RETENTION)}, which no pH touches: {listed(lives)}")
    return said


def steadier_words(swing: Swing) -> str:
    """Return what to do before more columns are run: hold the pH, judge by what it does not touch."""
    by = f", or judge by {the_metric(swing.neutral, RETENTION)}, which no pH touches" if swing.neutral else ""
    return (
        f"renew the mobile phase before its pH moves by {HARMLESS_PH:g}, or take a buffer that holds it{by}: "
        "the lives differ with the bottle, and more columns do not mend that"
    )

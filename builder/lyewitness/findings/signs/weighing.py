"""What the signs on each column say of each mechanism.

In: `Evidence` and the table of rules. Out: `Sign`s.

`RULES` is a table to be read and disputed line by line. Each rule says: if this mechanism is at work, this
observable should do that by more than so many per cent. A `needed` rule must be met for the mechanism to be
named, and speaks against it where it is surely not met. The others add their weight where met and take it
away where surely not met. What was not measured, or lies within its uncertainty of the threshold, counts
neither way. Thresholds are common practice, and stand here so that they can be changed in one place.
"""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from lyewitness.decline.records import FirstFailure
from lyewitness.findings.changes import Change
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.medium.swings import followed_in
from lyewitness.findings.records import Sign
from lyewitness.findings.signs.observations import AT_REST, OBSERVABLES, Observed
from lyewitness.words.phrases import percent, sentence

Direction = Literal["falls", "rises", "moves", "holds", "seen", "said"]

BONDED = "loss of bonded phase"
VOID = "dissolving particles and a void at the inlet"
SETTLED = "a bed that settled without dissolution"
SKIN = "dissolution under an intact skin"
GAVE_WAY = "a bed that gave way"
SILANOLS = "uncovered silanols"
BLOCKED = "blocked inlet"
PH = "drifting pH"
FLOW = "drifting flow"
TEMPERATURE = "drifting temperature"
DECAY = "decay of the sample"

MECHANISMS = (BONDED, GAVE_WAY, VOID, SETTLED, SKIN, SILANOLS, BLOCKED, PH, FLOW, TEMPERATURE, DECAY)


@dataclass(frozen=True, slots=True)
class Rule:
    """One line of the table."""

    mechanism: str
    observable: str
    """Name in `sign_observables.OBSERVABLES`."""
    direction: Direction
    """`falls`, `rises`, `moves` (either way) by more than the threshold, or `holds` within it;
    `seen` for what is there or not; `said` for what the caption of a picture says."""
    threshold: float
    """Per cent of the reference; 0 for `seen` and `said`."""
    weight: int
    needed: bool
    words: str
    """Why this belongs to the mechanism."""
    vetoes: bool = False
    """Whether it speaks against the mechanism where it is surely not met, though it need not be known."""
    never_against: bool = False
    """Whether it weighs where it is met, and says nothing where it is not."""
    own: bool = False
    """Whether it is a sign of this mechanism alone: where a mechanism has such, one at least must be met."""
    suffices: bool = False
    """Whether it names the mechanism by itself, whatever else is at work on the column beside it."""


PRESSURE = "pressure_bar"
PRESSED = 20.0
"""Per cent by which the pressure must have risen for a blocked inlet to be seen: that of its rule."""

# What is read as a rise of the hold-up time by one rule is by none read as its staying.
RULES = (
    Rule(BONDED, "retention of neutrals", "falls", 3, 2, True, "the phase carries a neutral’s retention"),
    Rule(BONDED, "plates of neutrals", "holds", 10, 1, False, "the bed stays as it was packed"),
    Rule(BONDED, "hold-up time", "holds", AT_REST, 1, False, "the flow and the volume of the bed stay"),
    Rule(
        BONDED, "retention of neutrals goes on falling", "seen", 0, 0, False,
        "loss goes on while the stress does; what comes to rest after a few per cent has equilibrated",
        vetoes=True,
    ),
    Rule(BONDED, "a bonded phase", "seen", 0, 0, False, "what is not there cannot be lost", vetoes=True),
    Rule(
        GAVE_WAY, "plates of all markers at once", "seen", 0, 6, True,
        "what happens to the bed broadens every peak by one share",
    ),
    Rule(VOID, "plates of neutrals", "falls", 10, 2, True, "a gap in the bed broadens every peak"),
    Rule(VOID, "plates of bases", "falls", 10, 1, False, "a gap in the bed broadens every peak"),
    Rule(
        VOID, "split peaks at the end", "seen", 0, 2, False, "two ways through the bed give two tops",
        own=True,
    ),
    Rule(
        VOID, "fronting of neutrals", "seen", 0, 1, False, "a gap at the inlet can pull the front out",
        own=True,
    ),
    Rule(
        # A gap of a hundredth of the bed costs plates and adds less to the hold-up time than a pump repeats.
        VOID, "hold-up time", "rises", AT_REST, 1, False,
        "what dissolved leaves its volume to the mobile phase", never_against=True, own=True,
    ),
    Rule(
        VOID, "retention of neutrals", "holds", 5, 1, False,
        "the phase that is left retains as before; dissolving silica may take some along", never_against=True,
    ),
    Rule(VOID, "silica in hot alkali", "seen", 0, 1, False, "such a particle dissolves", own=True),
    Rule(VOID, "neutral peaks untouched", "seen", 0, -2, False, "a disturbed bed distorts every peak"),
    Rule(VOID, "picture of a void or of dissolution", "said", 0, 1, False, "the caption says so", own=True),
    Rule(VOID, "silica in the particle", "seen", 0, 0, False, "without silica none dissolves", vetoes=True),
    Rule(SETTLED, "plates of neutrals", "falls", 10, 2, True, "a gap in the bed broadens every peak"),
    Rule(SETTLED, "hold-up time", "holds", AT_REST, 1, False, "nothing has left the bed", vetoes=True),
    # Where a particle is known to dissolve, that its bed only settled needs more than a steady hold-up time.
    Rule(SETTLED, "silica in hot alkali", "seen", 0, -3, False, "such a particle dissolves"),
    Rule(SETTLED, "split peaks at the end", "seen", 0, 1, False, "two ways through the bed give two tops"),
    Rule(SETTLED, "fronting of neutrals", "seen", 0, 1, False, "a gap at the inlet can pull the front out"),
    Rule(SETTLED, "neutral peaks untouched", "seen", 0, -2, False, "a disturbed bed distorts every peak"),
    Rule(SETTLED, "retention of neutrals", "holds", 5, 1, False, "bonding, and so retention, is unchanged"),
    Rule(SKIN, "silica in the particle", "seen", 0, 0, False, "without silica none dissolves", vetoes=True),
    Rule(SKIN, "plates fall after a delay", "seen", 0, 2, True, "the bed holds while the skin does"),
    # A loss that would end the use of most columns: a delay that ends in less may be any other decline.
    Rule(SKIN, "plates of neutrals", "falls", 20, 1, True, "in the end the bed gives way"),
    Rule(SKIN, "hold-up time", "rises", AT_REST, 2, False, "the hold-up volume grows as the core goes"),
    Rule(
        SKIN, "solid core or coated particle", "seen", 0, 1, False, "such a particle has a skin and a core",
        vetoes=True,
    ),
    Rule(SKIN, "picture of hollow particles", "said", 0, 1, False, "the caption says so"),
    Rule(SILANOLS, "symmetry of bases", "rises", 10, 2, True, "bases tail on bare silanols"),
    Rule(SILANOLS, "symmetry of neutrals", "holds", 10, 2, True, "a neutral does not see silanols"),
    Rule(SILANOLS, "bases bear a charge", "seen", 0, 0, False, "silanols hold charged bases", vetoes=True),
    Rule(
        SILANOLS, "retention of bases beside neutrals", "rises", 3, 1, False,
        "silanols hold bases back, and no neutral",
    ),
    Rule(SILANOLS, "silica in the particle", "seen", 0, 0, True, "silanols stand on silica", vetoes=True),
    Rule(BLOCKED, "pressure", "rises", PRESSED, 2, True, "the stream has a narrower way"),
    Rule(BLOCKED, "retention of neutrals", "holds", 5, 1, False, "bonding, and so retention, is unchanged"),
    Rule(BLOCKED, "hold-up time", "holds", AT_REST, 1, False, "the bed is as it was"),
    Rule(BLOCKED, "symmetry of all alike", "seen", 0, 1, False, "what happens before the bed, all peaks see"),
    Rule(BLOCKED, "neutral peaks untouched", "seen", 0, -2, False, "a blocked inlet distorts every peak"),
    Rule(
        BLOCKED, "pressure and all plates back at an event", "seen", 0, 6, False,
        "only what had blocked the way gives both back at once", suffices=True,
    ),
    Rule(BLOCKED, "picture of a blocked inlet", "said", 0, 1, False, "the caption says so"),
    Rule(PH, "retention of bases", "moves", 3, 2, True, "a base follows the pH near its pKa"),
    Rule(PH, "retention of neutrals", "holds", 3, 2, True, "a neutral does not see the pH"),
    Rule(
        PH, "bases follow the logged pH", "seen", 0, 6, False,
        "they go to and fro with the bottle, whatever else the column does", suffices=True,
    ),
    Rule(PH, "bases bear a charge", "seen", 0, 0, False, "no charge, no change with pH", vetoes=True),
    Rule(PH, "bases alike on all columns", "seen", 0, 2, True, "one mobile phase moves all columns"),
    Rule(PH, "logged pH moved", "seen", 0, 2, False, "a drift stands in the log", vetoes=True),
    Rule(FLOW, "hold-up time", "moves", 2, 2, True, "hold-up time is volume by flow"),
    Rule(FLOW, "hold-up alike on all columns", "seen", 0, 2, True, "one pump moves all columns"),
    Rule(FLOW, "retention of neutrals", "holds", 3, 1, False, "the retention factor does not see the flow"),
    Rule(FLOW, "logged flow moved", "seen", 0, 2, False, "the log says so", vetoes=True),
    Rule(TEMPERATURE, "retention of neutrals", "moves", 2, 2, True, "retention follows temperature"),
    Rule(TEMPERATURE, "retention alike on all columns", "seen", 0, 2, True, "one oven moves all columns"),
    Rule(TEMPERATURE, "logged temperature moved", "seen", 0, 2, True, "the log, or a rise, says so"),
    Rule(DECAY, "areas", "falls", 10, 2, True, "less of the sample is there to be seen"),
    Rule(DECAY, "areas alike on all columns", "seen", 0, 1, True, "one sample serves all columns"),
    Rule(DECAY, "plates of neutrals", "holds", 10, 1, False, "the column is as it was"),
)  # fmt: skip
"""The table. A negative weight: met, it speaks against."""


BED = frozenset({"plate_number_half_height", "plate_number_tangent", "symmetry_factor", "pressure_bar"})
REACHES: Mapping[str, frozenset[str]] = {
    BONDED: frozenset({"retention_factor", "retention_time_min", "resolution"}),
    GAVE_WAY: frozenset({"plate_number_half_height", "plate_number_tangent", "resolution"}),
    VOID: BED | {"hold_up_time_min", "resolution"},
    SETTLED: BED | {"resolution"},
    SKIN: BED | {"hold_up_time_min", "resolution"},
    SILANOLS: frozenset({"symmetry_factor", "plate_number_half_height", "resolution"}),
    BLOCKED: BED | {"resolution"},
    PH: frozenset({"retention_factor", "retention_time_min"}),
    FLOW: frozenset({"retention_time_min", "hold_up_time_min"}),
    TEMPERATURE: frozenset({"retention_factor", "retention_time_min"}),
    DECAY: frozenset({"peak_area"}),
}
"""What each mechanism moves far enough for a limit to be passed by it alone."""
OF_CHARGE = (PH, SILANOLS)
"""Mechanisms that reach what can bear a charge, and no neutral."""


def _explains(evidence: Evidence, column: str, mechanism: str) -> bool:
    """Return whether a mechanism can by itself bring about what failed first on a column.

    The pH of the log only where it moved that marker by as much as its limit allows.
    """
    first = next((one for one in evidence.judgement.first_failures if one.column == column), None)
    if first is None or not first.metric or first.metric not in REACHES[mechanism]:
        return False
    if first.marker and mechanism in OF_CHARGE and evidence.study.marker(first.marker).role == "neutral":
        return False
    decline = evidence.decline(column, first.marker, first.metric)
    limit = decline.limit if decline is not None else None
    ends = (
        [end for end in (limit.at_least_percent, limit.at_most_percent) if end] if limit is not None else []
    )
    swings = [one.moved_percent[1] for one in followed_in(evidence) if one.marker == first.marker]
    if mechanism == BLOCKED and first.metric != PRESSURE and not _pressed_by_then(evidence, first):
        return False
    small = mechanism == PH and ends and swings and max(swings) < min(abs(100.0 - end) for end in ends)
    return not small


def _pressed_by_then(evidence: Evidence, first: FirstFailure) -> bool:
    """Return whether the pressure had risen by the time at which a column failed; True where none was read.

    An inlet that blocks after the plates are gone did not take them.
    """
    pressure = evidence.decline(first.column, "", PRESSURE)
    failed = first.life.hours.value
    if pressure is None or failed is None:
        return True
    if not len(pressure.percent):
        # Without a reference nobody knows how far it rose.
        return True
    fitted = len(pressure.curve_percent) > 0
    at = pressure.curve_h if fitted else pressure.series.exposure_h
    percent = pressure.curve_percent if fitted else pressure.percent
    return float(np.interp(failed, at, percent)) >= 100.0 + PRESSED


Verdict = Literal["speaks for", "speaks against", "cannot tell"]
VERDICTS: tuple[Verdict, ...] = ("speaks for", "cannot tell", "speaks against")
"""In the order in which a column's signs stand."""
Weighing = Literal["for", "against", "open"]


def read_signs(evidence: Evidence, rules: Sequence[Rule] = RULES) -> tuple[Sign, ...]:
    """Return what the signs say, for each column and mechanism."""
    return tuple(sign for column in evidence.study.columns for sign in signs_of(evidence, column.id, rules))


def signs_of(evidence: Evidence, column: str, rules: Sequence[Rule] = RULES) -> Iterator[Sign]:
    """Return what the signs on one column say of each mechanism, the best supported first."""
    observed = {name: OBSERVABLES[name](evidence, column) for name in {rule.observable for rule in rules}}
    by_mechanism = {m: [rule for rule in rules if rule.mechanism == m] for m in MECHANISMS}
    met = {rule: is_met(rule, observed[rule.observable]) for rule in rules}
    unsettled = {rule for rule in rules if met[rule] is None and observed[rule.observable].words}
    verdicts = {m: _verdict(own, met, unsettled) for m, own in by_mechanism.items() if own}
    signs = []
    for mechanism, verdict in verdicts.items():
        own = by_mechanism[mechanism]
        reasons: dict[Weighing, list[str]] = {"for": [], "against": [], "open": []}
        beside = any(rule.suffices and met[rule] for rule in own)
        for rule in own:
            if beside and rule.needed and met[rule] is False:
                # Another mechanism beside this one moves it too: it tells neither way.
                continue
            told = _reason(rule, observed[rule.observable], met[rule])
            # What was mended in time, first against last does not tell of.
            if told is not None and not (beside and mechanism == BLOCKED and told[0] != "for"):
                reasons[told[0]].append(told[1])
        others = _indistinct(mechanism, verdicts, by_mechanism, met) if verdict == "speaks for" else ()
        explains = _explains(evidence, column, mechanism)
        if mechanism == SILANOLS and verdicts.get(GAVE_WAY) == "speaks for":
            # What took the plates of the neutrals took those of the bases as well.
            explains = explains and not _explains(evidence, column, GAVE_WAY)
        signs.append(
            Sign(
                column,
                mechanism,
                verdict,
                (*reasons["for"], *reasons["against"], *reasons["open"]),
                others,
                tuple(reasons["against"]),
                tuple(reasons["open"]),
                _support(own, met),
                explains,
            )
        )
    yield from sorted(signs, key=lambda sign: (VERDICTS.index(sign.verdict), -sign.support))


def _support(rules: Sequence[Rule], met: Mapping[Rule, bool | None]) -> int:
    """Return the weight of the rules that are met, less that of those that are surely not."""
    known = [rule for rule in rules if _counts(rule, met[rule])]
    return sum(rule.weight if met[rule] else -max(rule.weight, 0) for rule in known)


def is_met(rule: Rule, observed: Observed) -> bool | None:
    """Return whether the observable surely does what the rule asks, surely does not, or None for neither."""
    if rule.direction in ("seen", "said"):
        return observed.seen
    change = observed.change
    if change is None:
        return None
    does, does_not = _compared(rule.direction, change, rule.threshold)
    return True if does else (False if does_not else None)


def _compared(direction: Direction, change: Change, threshold: float) -> tuple[bool, bool]:
    """Return (surely does, surely does not)."""
    falls, rises = change.falls_by(threshold), change.rises_by(threshold)
    holds = change.holds_within(threshold)
    return {
        "falls": (falls, change.low >= -threshold),
        "rises": (rises, change.high <= threshold),
        "moves": (falls or rises, holds),
        "holds": (holds, falls or rises),
    }[direction]


def _verdict(rules: Sequence[Rule], met: Mapping[Rule, bool | None], unsettled: Container[Rule]) -> Verdict:
    needed = [met[rule] for rule in rules if rule.needed]
    vetoed = any(met[rule] is False for rule in rules if rule.vetoes)
    if not vetoed and any(rule.suffices and met[rule] for rule in rules):
        return "speaks for"
    if not vetoed and any(rule.suffices and rule in unsettled for rule in rules):
        return "cannot tell"
    if vetoed or any(rule_met is False for rule_met in needed):
        return "speaks against"
    known = [rule for rule in rules if _counts(rule, met[rule])]
    speaking = sum(rule.weight for rule in known if met[rule])
    possible = sum(rule.weight for rule in known if rule.weight > 0)
    own = [met[rule] for rule in rules if rule.own]
    shown = all(needed) and (not own or any(own))
    return "speaks for" if shown and 2 * speaking > possible else "cannot tell"


def _counts(rule: Rule, met: bool | None) -> bool:
    """Return whether a rule weighs at all: what is merely not seen is no evidence, unless it is needed."""
    if met is None:
        return False
    speaks = rule.direction != "seen" and not rule.never_against
    return met or rule.needed or rule.vetoes or speaks


def _indistinct(
    mechanism: str,
    verdicts: Mapping[str, str],
    by_mechanism: Mapping[str, Sequence[Rule]],
    met: Mapping[Rule, bool | None],
) -> tuple[str, ...]:
    """Return the other mechanisms that explain a sign on which this one rests, with nothing against them.

    Mechanisms that rest on different signs may be at work together, and are told apart by these.
    """
    rests_on = {rule.observable for rule in by_mechanism[mechanism] if rule.needed and met[rule]}
    rivals = []
    for other, verdict in verdicts.items():
        rules = by_mechanism[other]
        shares = any(rule.observable in rests_on for rule in rules if rule.needed and met[rule])
        # What lacks its own sign is not named, and by that not excluded.
        denied = any(met[rule] is False and not rule.own and _counts(rule, False) for rule in rules)
        if other != mechanism and shares and (verdict == "speaks for" or not denied):
            rivals.append(other)
    return tuple(rivals)


def _reason(rule: Rule, observed: Observed, met: bool | None) -> tuple[Weighing, str] | None:
    """Return how an observation weighs and in which words; None for what counts neither way."""
    if met is None:
        if rule.direction in ("seen", "said") and not rule.needed:
            return None
        doubt = "which does not tell" if rule.direction == "seen" else f"too near to {_asked(rule)} to tell"
        state = f"{observed.words}, {doubt}" if observed.words else "not known"
        return "open", sentence(f"{rule.observable}: {state}")
    silent = (not met and not _counts(rule, met)) or (rule.weight < 0 and not met)
    if silent or (rule.weight == 0 and met):
        return None
    shown = observed.words or ("seen" if observed.seen else "not seen")
    if rule.direction == "seen":
        shown = ("yes" if observed.seen else "no") + (f" ({observed.words})" if observed.words else "")
    against = not met or rule.weight < 0
    lead = "For it:" if not against else "Against it:" if met else "Against it: in that case"
    words = sentence(f"{rule.observable}: {shown}. {lead} {rule.words}")
    return ("against" if against else "for"), words


def _asked(rule: Rule) -> str:
    return percent(rule.threshold, 1 if rule.threshold < 10 else 2)

"""What the signs on each column say of each mechanism.

In: `Evidence` and the table of rules. Out: `Sign`s. A picture counts by what its caption says and no further.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.failure_signs import MECHANISMS, RULES, Direction, Rule
from lyewitness.findings.observables import Change, change_of, change_over_markers, logged_change
from lyewitness.findings.records import Sign
from lyewitness.findings.wording import listed, percent, quoted, sentence
from lyewitness.study.records import MarkerRole

Verdict = Literal["speaks for", "speaks against", "cannot tell"]


@dataclass(frozen=True, slots=True)
class Observed:
    """One observable on one column."""

    change: Change | None = None
    """For what is measured in per cent."""
    seen: bool | None = None
    """For what is there or not; None where it cannot be known."""
    words: str = ""
    """What was observed, with numbers."""


Observe = Callable[[Evidence, str], Observed]


def _change(metric: str, *roles: MarkerRole) -> Observe:
    def observe(evidence: Evidence, column: str) -> Observed:
        change = change_over_markers(evidence, column, evidence.roles(*roles), metric)
        return Observed(change=change, words=str(change) if change else "")

    return observe


def _alike(metric: str, *roles: MarkerRole) -> Observe:
    """Observe whether `metric` moved the same way and about as far on the columns of every group."""

    def observe(evidence: Evidence, column: str) -> Observed:
        if len(evidence.study.groups) < 2:
            return Observed()
        columns = [found.id for found in evidence.study.columns]
        changes = [change_over_markers(evidence, c, evidence.roles(*roles), metric) for c in columns]
        known = {c: change for c, change in zip(columns, changes, strict=True) if change is not None}
        if len(known) < len(columns):
            return Observed()
        return Observed(
            seen=_together(list(known.values())), words=listed(f"{c} {ch}" for c, ch in known.items())
        )

    return observe


ALIKE = 1.5
"""How many times as far one column may move as another, for both to move alike."""


def _together(changes: Sequence[Change]) -> bool | None:
    """Return whether all surely moved one way and none more than half as far again as another."""
    sizes = [abs(change.percent) for change in changes]
    one_way = len({change.percent > 0 for change in changes}) == 1
    surely = all(change.low * change.high > 0 for change in changes)
    if one_way and surely:
        return max(sizes) <= ALIKE * min(sizes)
    apart = any(
        first.low > second.high + 2 or second.low > first.high + 2 for first in changes for second in changes
    )
    return False if apart else None


def _pressure(evidence: Evidence, column: str) -> Observed:
    change = logged_change(evidence, column, "pressure_bar")
    return Observed(change=change, words=str(change) if change else "")


def _split(evidence: Evidence, column: str) -> Observed:
    """Observe whether retained peaks bear `split` at the end and did not at the start."""
    first = evidence.study.choices.reference_injections
    early = late = rows = 0
    for marker in evidence.roles("neutral", "base", "acid"):
        found = [row for row in evidence.rows(column, marker) if row.found]
        early += sum("split" in row.flags for row in found[:first])
        late += sum("split" in row.flags for row in found[first:][-first:])
        rows += len(found[first:][-first:])
    if not rows:
        return Observed()
    return Observed(
        seen=late > early and late >= 2, words=f"{late} of {rows} of the last peaks, {early} of the first"
    )


def _fronting(evidence: Evidence, column: str) -> Observed:
    """Observe whether neutrals front at the end (symmetry factor below 0.9) and did not at the start."""
    first = evidence.study.choices.reference_injections
    ends = []
    for marker in evidence.roles("neutral"):
        values = evidence.values(column, marker, "symmetry_factor")
        if len(values) > first:
            ends.append((min(values[:first]), max(values[first:][-first:])))
    if not ends:
        return Observed()
    return Observed(seen=any(late < 0.9 <= early for early, late in ends), words="")


def _delayed(evidence: Evidence, column: str) -> Observed:
    """Observe whether the decline of plates was best described by a model with a delay."""
    fits = [
        (decline.model.name, decline.series.marker)
        for decline in evidence.judgement.declines
        if decline.series.column == column
        and decline.series.metric.startswith("plate_number")
        and decline.model is not None
    ]
    if not fits:
        return Observed()
    delayed = [(name, marker) for name, marker in fits if name in ("delayed", "sigmoid")]
    words = listed(dict.fromkeys(f"{marker} {name}" for name, marker in delayed or fits))
    return Observed(seen=bool(delayed), words=words)


def _skinned(evidence: Evidence, column: str) -> Observed:
    particle = evidence.study.column(column).particle
    return Observed(
        seen=particle in ("core-shell silica", "core-shell hybrid surface", "coated silica"), words=particle
    )


def _silica(evidence: Evidence, column: str) -> Observed:
    """Observe whether the particle holds silica; not known for kinds that the study calls `other`."""
    particle = evidence.study.column(column).particle
    return Observed(seen=None if particle == "other" else particle != "polymer", words=particle)


def _symmetry_alike(evidence: Evidence, column: str) -> Observed:
    """Observe whether the symmetry of all retained markers moved alike: within 10 % of each other."""
    markers = evidence.roles("neutral", "base", "acid")
    changes = [change_of(evidence, column, marker, "symmetry_factor") for marker in markers]
    known = [change for change in changes if change is not None]
    if len(known) < 2:
        return Observed()
    spread = max(change.percent for change in known) - min(change.percent for change in known)
    moved = any(change.rises_by(5) or change.falls_by(5) for change in known)
    return Observed(seen=spread <= 10 if moved else None, words=listed(str(change) for change in known))


def _logged(quantity: str, threshold: float) -> Observe:
    """Observe whether a logged condition moved by more than `threshold`, in its own unit."""

    def observe(evidence: Evidence, column: str) -> Observed:
        values = [value for _, value in evidence.logged(column, quantity)]
        change = logged_change(evidence, column, quantity)
        if change is None:
            return Observed()
        size = abs(change.percent) / 100 * abs(values[0])
        return Observed(seen=size > threshold and change.low * change.high > 0, words=str(change))

    return observe


NEGATED = r"\b(no|not|without|never|none|neither)\b[^.,;]{0,30}$"


def _caption(*words: str) -> Observe:
    """Observe whether a caption about this column says one of `words`; denied, it says the contrary."""
    pattern = re.compile("|".join(words), re.IGNORECASE)

    def observe(evidence: Evidence, column: str) -> Observed:
        said: list[str] = []
        denied: list[str] = []
        for image in evidence.study.images:
            found = pattern.search(image.caption)
            if image.column == column and found:
                negated = re.search(NEGATED, image.caption[: found.start()], re.IGNORECASE)
                (denied if negated else said).append(quoted(image.caption))
        if not said and not denied:
            return Observed()
        return Observed(seen=bool(said) and not denied, words=listed(said + denied))

    return observe


OBSERVABLES: Mapping[str, Observe] = {
    "retention of neutrals": _change("retention_factor", "neutral"),
    "retention of bases": _change("retention_factor", "base"),
    "plates of neutrals": _change("plate_number_half_height", "neutral"),
    "plates of bases": _change("plate_number_half_height", "base"),
    "symmetry of neutrals": _change("symmetry_factor", "neutral"),
    "symmetry of bases": _change("symmetry_factor", "base"),
    "hold-up time": _change("hold_up_time_min", "void"),
    "areas": _change("peak_area", "neutral", "base", "acid"),
    "pressure": _pressure,
    "split peaks at the end": _split,
    "fronting of neutrals": _fronting,
    "plates fall after a delay": _delayed,
    "solid core or coated particle": _skinned,
    "silica in the particle": _silica,
    "symmetry of all alike": _symmetry_alike,
    "retention alike on all columns": _alike("retention_factor", "neutral"),
    "bases alike on all columns": _alike("retention_factor", "base"),
    "hold-up alike on all columns": _alike("hold_up_time_min", "void"),
    "areas alike on all columns": _alike("peak_area", "neutral", "base", "acid"),
    "logged pH moved": _logged("ph", 0.1),
    "logged flow moved": _logged("flow_mL_min", 0.005),
    "logged temperature moved": _logged("temperature_C", 1.0),
    "caption: void or dissolved": _caption(r"\bvoid", r"\bgap\b", "dissol", "etched", "eroded", r"\bsunk"),
    "caption: hollow or skin": _caption("hollow", r"\bskin\b", r"\bshells?\b"),
    "caption: blocked": _caption("blocked", "clogged", "deposit", "plugged"),
}
"""What can be observed on a column, by the name that the rules use."""


def read_signs(evidence: Evidence, rules: Sequence[Rule] = RULES) -> tuple[Sign, ...]:
    """Return what the signs say, for each column and mechanism."""
    return tuple(sign for column in evidence.study.columns for sign in signs_of(evidence, column.id, rules))


def signs_of(evidence: Evidence, column: str, rules: Sequence[Rule] = RULES) -> Iterator[Sign]:
    """Return what the signs on one column say of each mechanism."""
    observed = {name: OBSERVABLES[name](evidence, column) for name in {rule.observable for rule in rules}}
    by_mechanism = {m: [rule for rule in rules if rule.mechanism == m] for m in MECHANISMS}
    met = {rule: is_met(rule, observed[rule.observable]) for rule in rules}
    verdicts = {m: _verdict(own, met) for m, own in by_mechanism.items() if own}
    for mechanism, verdict in verdicts.items():
        reasons = tuple(
            _reason(rule, observed[rule.observable], met[rule]) for rule in by_mechanism[mechanism]
        )
        others = _indistinct(mechanism, verdicts, by_mechanism, met) if verdict == "speaks for" else ()
        yield Sign(column, mechanism, verdict, tuple(reason for reason in reasons if reason), others)


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


def _verdict(rules: Sequence[Rule], met: Mapping[Rule, bool | None]) -> Verdict:
    needed = [met[rule] for rule in rules if rule.needed]
    if any(met[rule] is False for rule in rules if rule.needed or rule.vetoes):
        return "speaks against"
    known = [rule for rule in rules if _counts(rule, met[rule])]
    speaking = sum(rule.weight for rule in known if met[rule])
    possible = sum(rule.weight for rule in known if rule.weight > 0)
    return "speaks for" if all(needed) and 2 * speaking > possible else "cannot tell"


def _counts(rule: Rule, met: bool | None) -> bool:
    """Return whether a rule weighs at all: what is merely not seen is no evidence, unless it is needed."""
    if met is None:
        return False
    return met or rule.needed or rule.vetoes or rule.direction != "seen"


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
        denied = any(met[rule] is False and _counts(rule, False) for rule in rules)
        if other != mechanism and shares and (verdict == "speaks for" or not denied):
            rivals.append(other)
    return tuple(rivals)


def _reason(rule: Rule, observed: Observed, met: bool | None) -> str:
    """Return what was observed and how it weighs; empty for what does not concern this column."""
    against = met is False or (met is True and rule.weight < 0)
    if met is None:
        if rule.direction in ("seen", "said") and not rule.needed:
            return ""
        state = f"{observed.words}, too near to {_asked(rule)} to tell" if observed.words else "not known"
        return sentence(f"{rule.observable}: {state}")
    if not met and not _counts(rule, met):
        return sentence(f"{rule.observable}: not seen, which counts neither way")
    if (rule.weight < 0 and not met) or (rule.weight == 0 and met):
        return ""
    shown = observed.words or ("seen" if observed.seen else "not seen")
    if rule.direction == "seen":
        shown = ("yes" if observed.seen else "no") + (f" ({observed.words})" if observed.words else "")
    return sentence(f"{rule.observable}: {shown}. {'Against it' if against else 'For it'}: {rule.words}")


def _asked(rule: Rule) -> str:
    return percent(rule.threshold, 1 if rule.threshold < 10 else 2)

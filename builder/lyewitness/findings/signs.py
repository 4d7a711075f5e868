"""What the signs on each column say of each mechanism.

In: `Evidence` and the table of rules. Out: `Sign`s.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.failure_signs import MECHANISMS, RULES, Direction, Rule
from lyewitness.findings.observables import Change
from lyewitness.findings.records import Sign
from lyewitness.findings.sign_observables import OBSERVABLES, Observed
from lyewitness.findings.wording import percent, sentence

Verdict = Literal["speaks for", "speaks against", "cannot tell"]


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

"""Beds that gave way and so ended the life of single columns: which, when, and what may have come of them.

In: `Evidence`, the signs. Out: a `Claim` a group.
"""

from collections.abc import Mapping, Sequence

from lyewitness.findings.answer.question_scope import Scope
from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Because, Claim, Sign
from lyewitness.findings.signs.observations import OBSERVABLES
from lyewitness.findings.signs.sudden_losses import sudden_losses
from lyewitness.findings.signs.weighing import BLOCKED, GAVE_WAY, SETTLED, VOID
from lyewitness.words.phrases import columns_of, kind_of, listed, percent, run_together, spelled

WAYS: Mapping[str, str] = {
    SETTLED: "it settled",
    VOID: "particles dissolved and left a void at its inlet",
    BLOCKED: "its inlet was blocked in part",
}
"""What may have made a bed give way, with its clause."""
TELLING = ("hold-up time", "pressure")
"""What tells these apart where it moved."""


def beds_that_gave_way(signs: Sequence[Sign]) -> list[str]:
    """Return the columns whose life was decided by a bed that gave way, where no other sign says how."""
    known = {s.column for s in signs if s.mechanism in WAYS and s.verdict == "speaks for"}
    own = [s for s in signs if s.mechanism == GAVE_WAY and s.verdict == "speaks for" and s.explains]
    return [sign.column for sign in own if sign.column not in known]


def bed_claim(
    evidence: Evidence, scope: Scope, group: str, columns: Sequence[str], signs: Sequence[Sign]
) -> Claim:
    """Say on which columns the plates of all markers fell together, and what may have become of the bed."""
    losses = sudden_losses(evidence)
    fell = (f"{losses[one].words}{f' on {one}' if len(columns) > 1 else ''}" for one in columns)
    who = _who(evidence, group, columns)
    text = f"on {who} the plates of all markers, neutral ones too, fell together: {listed(fell)}"
    text += "; the bed gave way"
    denied = [
        {s.mechanism for s in signs if s.column == column and s.verdict == "speaks against"}
        for column in columns
    ]
    left = [way for way in WAYS if not all(way in own for own in denied)]
    may = f"{listed((WAYS[way] for way in left), 'or')}{'; these data cannot tell which' if left[1:] else ''}"
    links = tuple(Because("sign", f"{column}/{GAVE_WAY}", f"{GAVE_WAY}, {column}") for column in columns)
    said = run_together([text, may if left else "", _beside(evidence, columns)])
    return Claim(scope.claim_id("signs", group, "gave-way"), said, "indicated", links)


def _who(evidence: Evidence, group: str, columns: Sequence[str]) -> str:
    """Return `Q1 and Q3, two of four Quillmar columns,`."""
    total = len(evidence.study.replicates(group))
    if len(columns) == total:
        return columns_of(group, total)
    return f"{listed(columns)}, {spelled(len(columns))} of {spelled(total)} {kind_of(group)} columns,"


def _beside(evidence: Evidence, columns: Sequence[str]) -> str:
    """Return what the hold-up time and the pressure of these columns came to, where it is known of all."""
    told = []
    for name in TELLING:
        changes = [OBSERVABLES[name](evidence, column).change for column in columns]
        known = [percent(100 + change.percent, 3) for change in changes if change is not None]
        if len(known) == len(columns):
            told.append(f"the {name} was {listed(dict.fromkeys(known))}")
    return f"at the end {listed(told)} of the reference" if told else ""

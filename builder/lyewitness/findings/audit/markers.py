"""Audit of the choice of markers: can they tell one failure from another?

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Iterator

from lyewitness.findings.audit.points import Asked, Point, all_pairs
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import MarkerRole
from lyewitness.words.phrases import listed

CHOICE = Asked(
    "marker-choice",
    "Can the markers tell loss of bonded phase from uncovered silanols and from a void?",
    "What the markers do not show cannot be named as the cause.",
    "Add the missing kind of marker to the next study.",
)

TELLS: tuple[tuple[MarkerRole, str], ...] = (
    ("void", "without a hold-up marker there is no retention factor, and flow cannot be told from retention"),
    (
        "neutral",
        "without a neutral marker loss of bonded phase cannot be told from a change of pH or of silanols",
    ),
    ("base", "without a base uncovered silanols are not seen"),
)


def choice(evidence: Evidence) -> Iterator[Point]:
    """Ask for a hold-up marker, a neutral and a base; a hold-up marker alone is too little."""
    roles = {marker.role for marker in evidence.study.markers}
    lacking = [words for role, words in TELLS if role not in roles]
    named = listed(f"{marker.id} ({marker.role})" for marker in evidence.study.markers)
    if roles <= {"void"}:
        yield CHOICE.says(
            "problem",
            f"{named or 'no marker'}: nothing that is retained",
            bound="not settled",
            pairs=all_pairs(evidence.study),
            groups=evidence.study.groups,
            bearing="A hold-up marker sees the bed's volume and packing, and nothing of the bonded phase.",
        )
    elif lacking:
        yield CHOICE.says("caution", f"{named}: {'; '.join(lacking)}", pairs=all_pairs(evidence.study))
    else:
        yield CHOICE.good(named)

"""One point of the audit, and how far it lets the answer go.

In: what a check found. Out: `Point`: the `Check` that is shown, with the groups and pairs of groups
whose claims it bounds.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

from lyewitness.findings.evidence import Evidence
from lyewitness.findings.records import Check, CheckResult, Strength
from lyewitness.study.records import Study
from lyewitness.words.phrases import listed, mid_sentence, run_together, sentence

Pair = frozenset[str]
RESULTS: tuple[CheckResult, ...] = ("good", "not possible", "caution", "problem")
"""From harmless to grave."""
MOST_LETTERS = 120
"""Letters of a finding that an advice repeats: a longer one stands in the audit, to which it is linked."""
STRENGTHS: tuple[Strength, ...] = ("not settled", "indicated", "shown")
"""From weak to strong."""


@dataclass(frozen=True, slots=True)
class Point:
    """A check and the strongest claim that it still allows."""

    check: Check
    bound: Strength = "shown"
    """The strongest claim allowed about what follows."""
    pairs: frozenset[Pair] = frozenset()
    """Pairs of groups whose comparison is bounded."""
    groups: frozenset[str] = frozenset()
    """Groups whose own life is bounded."""
    leads: bool = False
    """Whether an answer names it before others that bound it as far: it may speak of something else."""
    parts: tuple[tuple[frozenset[str], str], ...] = ()
    """What was found of which groups, where it was found of each by itself; empty where it is one finding."""
    slight: bool = False
    """Whether it is too small to explain by itself why types differ."""

    def told_of(self, groups: Iterable[str]) -> str:
        """Return what was found as far as it is about these groups, without its full stop."""
        concerned = frozenset(groups)
        own = [words for touched, words in self.parts if touched & concerned]
        if not own or len(own) == len(self.parts):
            return self.check.detail.rstrip(".")
        whole = "; ".join(own) if any(": " in words for words in own) else listed(own)
        return sentence(whole).rstrip(".")


@dataclass(frozen=True, slots=True)
class Asked:
    """What one check asks, how its answer bears on the comparison, and what would cure it."""

    id: str
    question: str
    bearing: str
    cure: str

    def good(self, detail: str, subject: str = "the study") -> Point:
        """Return the point where nothing is wrong."""
        return Point(Check(self.id, self.question, subject, "good", sentence(detail)))

    def says(
        self,
        result: CheckResult,
        detail: str,
        subject: str = "the study",
        *,
        bound: Strength = "shown",
        pairs: Iterable[Pair] = (),
        groups: Iterable[str] = (),
        bearing: str = "",
        cure: str = "",
        parts: Iterable[tuple[frozenset[str], str]] = (),
        leads: bool = False,
    ) -> Point:
        """Return the point with what was found; `bearing` and `cure` where they differ from the usual."""
        check = Check(
            self.id,
            self.question,
            subject,
            result,
            sentence(detail),
            bearing or self.bearing,
            cure or self.cure,
        )
        return Point(check, bound, frozenset(pairs), frozenset(groups), leads, tuple(parts))


def lacking(check: Check) -> str:
    """Return what a check that was not possible leaves open, in full."""
    return run_together([check.detail, check.bearing, check.cure])


BRIEF: Mapping[str, str] = {
    "same-length": "lengths", "same-inner-diameter": "inner diameters",
    "same-particle-size": "particle sizes", "same-bonding": "bondings",
    "replicates": "number of columns", "different-lots": "columns of one lot",
    "one-level": "what was varied within types",
    "different-pieces": "serial numbers",
    "set-apart": "what sets columns of one type apart",
    "odd-life": "one column’s life", "begin-alike": "columns that began unlike",
    "lots-alike": "differing lots", "types-apart-lots": "lots against types", "buffer-range": "buffer",
    "ph-logged": "log of pH", "temperature-logged": "log of temperature",
    "pressure-logged": "log of pressure", "flow-logged": "log of flow", "ph-steady": "unsteady pH",
    "temperature-steady": "unsteady or unplanned temperature", "pressure-steady": "unsteady pressure",
    "flow-steady": "unsteady flow", "ph-alike": "pH of the groups",
    "temperature-alike": "temperature of the groups", "retention-by-ph": "retention moved by pH",
    "events": "events",
    "common-steps": "steps of all columns", "renewed": "a column that came back",
    "equal-exposure": "column volumes an hour",
    "equal-velocity": "linear velocity", "equal-duration": "unequal duration",
    "same-settings": "settings", "blank": "blank", "no-copies": "equal chromatograms",
    "peaks-found": "missing peaks", "peaks-sound": "doubtful peaks",
    "lives-on-sound-peaks": "lives on doubtful peaks", "doubted-peaks": "peaks left out as doubtful",
    "left-out": "injections left out",
    "doubtful-injections": "doubtful injections", "marker-choice": "choice of markers",
    "reference-repeatability": "repeatability of areas", "reference-scatter": "scatter of references",
    "reference-fresh": "age of references", "reference-settled": "references that moved",
    "hold-up-steady": "hold-up time",
    "areas-conserved": "peak areas", "errors-last": "errors that last",
    "limits-agree": "limits that disagree", "same-first-failure": "another limit passed first",
    "life-bracketed": "gaps around failures", "ended": "planned end",
    "order-of-running": "order of running", "times-fit-exposure": "times and exposures",
    "standing-time": "standing time", "long-gaps": "long gaps",
    "left-out-counted-in": "injections left out", "doubtful-left-out": "doubtful injections",
    "unplanned-left-out": "columns off plan",
    "folder": "study folder",
}  # fmt: skip
"""What each check is about, in a word or three."""


def brief(check: Check) -> str:
    """Return what a check is about: `number of columns`, `log of pH`.

    Behind the id of a check may stand a number, where it speaks of several subjects, and the question for
    which it was made again: the longest known beginning tells which check it is.
    """
    known = (name for name in BRIEF if f"{check.id}-".startswith(f"{name}-"))
    return BRIEF.get(max(known, key=len, default=""), check.id.replace("-", " "))


def in_short(point: Point, groups: Iterable[str]) -> str:
    """Return what a check found of these groups as part of a sentence, a long one as far as it goes.

    Up to its first semicolon where that is short enough, else up to where its numbers begin.
    """
    found = point.told_of(groups).removeprefix("Cannot tell: ")
    told = found if any(found.startswith(group) for group in groups) else mid_sentence(found)
    first = told.partition("; ")[0] if len(told) > MOST_LETTERS else told
    head = first.partition(": ")[0] if len(first) > MOST_LETTERS else first
    if head.count("“") > head.count("”"):
        # Somebody's words are told whole or not at all.
        head = head[: head.rindex("“")].rstrip(" (:")
    # Two words before the numbers say nothing without them.
    return head if len(head.split()) > 2 else f"the {brief(point.check)}"


def weaker(first: Strength, second: Strength) -> Strength:
    """Return the weaker of two strengths; `contradicted` is not on the scale and stays."""
    if "contradicted" in (first, second):
        return "contradicted"
    return min(first, second, key=STRENGTHS.index)


def worst(results: Iterable[CheckResult]) -> CheckResult:
    """Return the gravest result; `not possible` where there is none."""
    return max(results, key=RESULTS.index, default="not possible")


def all_pairs(study: Study) -> frozenset[Pair]:
    """Return every pair of groups of the study."""
    return frozenset(frozenset(pair) for pair in combinations(study.groups, 2))


def pairs_with(study: Study, groups: Iterable[str]) -> frozenset[Pair]:
    """Return every pair of groups in which one of `groups` stands."""
    touched = set(groups)
    return frozenset(pair for pair in all_pairs(study) if pair & touched)


def pairs_apart(study: Study, of_group: Mapping[str, object]) -> frozenset[Pair]:
    """Return the pairs of groups for which `of_group` says different things."""
    return frozenset(
        pair for pair in all_pairs(study) if pair <= set(of_group) and len({of_group[g] for g in pair}) > 1
    )


def subject_of(evidence: Evidence, columns: Iterable[str]) -> str:
    """Return the column, the group or `the study` that the offending `columns` amount to."""
    found = list(dict.fromkeys(columns))
    if len(found) == 1:
        return found[0]
    groups = {evidence.study.column(column).group for column in found}
    return groups.pop() if len(groups) == 1 else "the study"


def groups_of(evidence: Evidence, columns: Iterable[str]) -> frozenset[str]:
    """Return the groups that these columns stand for: one that is left out of the comparison, for none."""
    return frozenset(
        evidence.study.column(column).group for column in columns if column not in evidence.left_out
    )


def bounded(strength: Strength, points: Iterable[Point], groups: Iterable[str]) -> Strength:
    """Return `strength`, brought down to what `points` allow for a claim about `groups`.

    One group: the points about its own life. Several: the points about any pair among them as well.
    """
    concerned = frozenset(groups)
    pairs = {frozenset(pair) for pair in combinations(sorted(concerned), 2)}
    for point in points:
        if point.groups & concerned or point.pairs & pairs:
            strength = weaker(strength, point.bound)
    return strength


EXPLAINING: Mapping[str, int] = {
    "different-lots": 1, "lots-alike": 1, "types-apart-lots": 1, "one-level": 1,
    "temperature-alike": 2, "ph-alike": 3, "equal-exposure": 4, "equal-velocity": 4,
}  # fmt: skip
"""Which of several points that weigh alike comes first: what could explain the difference most, behind what
says that too little was seen at all. A lot may be all that differs; lives halve within 10 °C or some tenths
of pH; of volumes they lose no more than in proportion (common practice)."""
SLIGHT = 5
"""The place of what is slight."""


def _place(point: Point) -> int:
    """Return the place of a point among those that weigh alike."""
    known = (place for name, place in EXPLAINING.items() if f"{point.check.id}-".startswith(f"{name}-"))
    return -1 if point.leads else SLIGHT if point.slight else next(known, 0)


def bearing_on(points: Iterable[Point], groups: Iterable[str]) -> tuple[Point, ...]:
    """Return the points that weigh on a claim about `groups`: gravest first, `good` left out.

    Of those that bound it alike, what could explain the difference most is first.
    """
    concerned = frozenset(groups)
    pairs = {frozenset(pair) for pair in combinations(sorted(concerned), 2)}
    heavy = [
        point
        for point in points
        if point.check.result != "good" and (point.groups & concerned or point.pairs & pairs)
    ]
    return tuple(
        sorted(heavy, key=lambda p: (STRENGTHS.index(p.bound), _place(p), -RESULTS.index(p.check.result)))
    )

"""What the report says and what each sentence rests on.

In: sentences built by this stage from computed records. Out: `Findings` and `Report`, the one
record that site, PDF, letter, archive and data tables are rendered from.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Literal

from lyewitness.decline.records import FirstFailure, GroupLife, Judgement
from lyewitness.findings.revised import Changes
from lyewitness.peaks.records import Measurements
from lyewitness.study.records import Question, Revision, Study
from lyewitness.traces.records import Trace
from lyewitness.words.estimates import Estimate
from lyewitness.words.problems import Problem

FINGERPRINT_SIGNS = 16
"""Of a SHA-256: 64 bits, enough to tell one state of a folder from another."""
Strength = Literal["shown", "indicated", "not settled", "contradicted"]
CheckResult = Literal["good", "caution", "problem", "not possible"]
BecauseKind = Literal[
    "column", "marker", "injection", "image", "note", "group", "check", "figure",
    "decline", "comparison", "claim", "sign", "caution", "method", "chemistry",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Because:
    """One link to what a claim rests on; the pages turn kind and target into an address."""

    kind: BecauseKind
    target: str
    """Id within its kind: a column id; `column/marker/metric` for `decline`;
    `group_a/group_b/marker/metric` for `comparison`; a figure, check, claim or heading id."""
    label: str
    """The words of the link, with the number where there is one."""


@dataclass(frozen=True, slots=True)
class Claim:
    """One sentence of the report."""

    id: str
    text: str
    strength: Strength
    because: tuple[Because, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """One point of the audit of the comparison and of the folder."""

    id: str
    """Unique slug, such as `same-length`."""
    check: str
    """What was asked, in words."""
    subject: str
    """What it is about: a column, a group, the study."""
    result: CheckResult
    detail: str
    """What was found, with numbers."""
    bearing: str = ""
    """How it bears on the answer."""
    cure: str = ""
    """What would mend it."""


DoubtKind = Literal[
    "blank", "leak", "swapped vial", "foreign peak", "spiked", "truncated", "no injection", "volume",
    "out of order", "other column", "disturbed", "bubble", "peak shape", "retention",
    "cold oven", "hot oven", "baseline noise", "overload", "missing marker",
    "shifted start",
]  # fmt: skip


SUSPECTED = ("leak", "cold oven", "hot oven")
"""Kinds that name a cause."""


@dataclass(frozen=True, slots=True)
class DoubtfulInjection:
    """A counted injection that differs from its neighbours, for a person to confirm or to dismiss."""

    injection: str
    kind: DoubtKind
    why: str
    """What was seen, with numbers."""
    line: str
    """Its row of injections.csv with `use = no` and the reason; ready to be put in its place."""
    exchange: tuple[str, ...] = ()
    """The rows of this injection and of the one that it changed places with, their files exchanged; none
    where that is not seen."""
    explained: str = ""
    """What in the log or among the events explains it, so that it is the column's own; empty for nothing."""

    @property
    def named(self) -> str:
        """Return what it looks like: of a leak or an oven nobody saw anything but its traces."""
        return f"suspected {self.kind}" if self.kind in SUSPECTED else self.kind


@dataclass(frozen=True, slots=True)
class Sign:
    """What the signs on one column say about one mechanism of failure."""

    column: str
    mechanism: str
    verdict: Literal["speaks for", "speaks against", "cannot tell"]
    reasons: tuple[str, ...]
    """Each with its numbers."""
    indistinct_from: tuple[str, ...] = ()
    """Mechanisms that these data cannot tell from this one."""
    reasons_against: tuple[str, ...] = ()
    """Those of `reasons` that speak against; `reasons` holds what speaks for, then these, then the open."""
    reasons_open: tuple[str, ...] = ()
    """Those of `reasons` that count neither way: not known, or too near to the threshold."""
    support: int = 0
    """Weight of what speaks for less weight of what speaks against; signs of a column stand by it."""
    explains: bool = False
    """Whether the mechanism can by itself bring about what failed first on the column."""


@dataclass(frozen=True, slots=True)
class ChemistryFact:
    """One computed fact of the medium, with its bound and source."""

    id: str
    name: str
    text: str
    """Value with unit and uncertainty, in words."""
    source: str
    bearing: str = ""
    value: str = ""
    """The number that a table shows, with unit and bounds; empty where it is no number, or not computed."""


@dataclass(frozen=True, slots=True)
class Caution:
    """One safety caution that the study's own conditions call for."""

    id: str
    title: str
    text: str
    called_for_by: str
    """The condition that calls for it, such as `pyrrolidine, 20 mmol/L`."""
    brief: str = ""
    """The same in one plain sentence; empty for what holds for every study."""


@dataclass(frozen=True, slots=True)
class GroupAdvice:
    """What to do with one group, a line of the table; it says what the recommendations say."""

    group: str
    do: str
    """`take`, `avoid`, `replace in time` …"""
    replace_after: str
    """Hours, and runs of the asker's method where their length is stated; a dash where no time follows."""
    tested: str
    """`three, all failed`"""
    strength: Strength
    why: str = ""
    """Why no time follows, of a group that the recommendations do not speak of: `two lives are too few`."""


@dataclass(frozen=True, slots=True)
class AskedSpan:
    """A length of use that a question asks about: `will they last three days?`."""

    words: str
    """As the question has it."""
    hours: float
    groups: tuple[str, ...] = ()
    """Of which it is asked."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one question."""

    question: Question
    short: str
    """A sentence or two."""
    how_sure: str
    """How sure this is and why, two or three sentences."""
    claims: tuple[Claim, ...]
    recommendations: tuple[Claim, ...]
    """What to do or to mind, most important first; never further than the claims."""
    next_experiments: tuple[Claim, ...] = ()
    expectation_verdict: Claim | None = None
    deciding: tuple[str, str] = ("", "")
    """(marker, metric) that decides this question; two empty words where no limit was measured."""
    advice: tuple[GroupAdvice, ...] = ()
    """What to do with each group, the longest-lived first."""
    spans: tuple[AskedSpan, ...] = ()
    """The lengths of use that are asked about."""
    reserved: tuple[str, ...] = ()
    """What of columns and injections behind it was not as its reader must take it to be, a sentence each."""
    lives_by_any: tuple[GroupLife, ...] = ()
    """Of its groups by whichever limit each column passed first, where the answer rests on that."""
    ended: tuple[FirstFailure, ...] = ()
    """What ended each of their columns, with its life by any limit, where the answer rests on that."""

    @property
    def all_claims(self) -> tuple[Claim, ...]:
        """Return everything that is said in answer: claims, what to do, what to try next, the verdict."""
        verdict = (self.expectation_verdict,) if self.expectation_verdict else ()
        return (*self.claims, *self.recommendations, *self.next_experiments, *verdict)


@dataclass(frozen=True, slots=True)
class Passing:
    """A limit that a column has passed while the test still runs."""

    column: str
    marker: str
    metric: str
    told: str
    """When, in words."""
    hours: float | None
    """When, hours; None where only injections on both sides are known."""


@dataclass(frozen=True, slots=True)
class ExpectedPassing:
    """A limit that a column is expected to pass."""

    column: str
    marker: str
    metric: str
    hours: Estimate
    """When, with its interval; without a value where it is past already, or soon."""
    freed_of_ph: bool = False
    """Whether the course was led on without what the pH of the log did to it."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """What a study that still runs shows so far, and what is expected of it."""

    reached_h: float
    """Exposure of the column that has come furthest, hours."""
    ends_h: float | None
    """Planned end, hours."""
    look: int
    """Number of the planned look at which the study stands; 0 for none."""
    looks: int
    passed: tuple[Passing, ...]
    expected: tuple[ExpectedPassing, ...]
    """One a column that has passed none, the soonest first."""
    inject_from_h: float | None
    """Exposure from which on to inject more often, hours …"""
    inject_every_h: float | None
    """… and how often."""
    wrong: tuple[str, ...]
    """What somebody should look at."""
    answered: bool
    """Whether stopping now would answer the first question."""
    inject_until_h: float | None = None
    """Exposure up to which to inject so often, hours; None where nothing tells."""
    left_out: tuple[str, ...] = ()
    """Ids of counted injections that are doubtful: what is expected does not rest on them."""
    questions: int = 1
    """How many the study asks."""
    questions_answered: int = 0
    """How many of them stopping now would answer."""


@dataclass(frozen=True, slots=True)
class Findings:
    """All that is said."""

    answers: tuple[Answer, ...]
    """One a question, in the study's order; the first is the front page's."""
    checks: tuple[Check, ...]
    signs: tuple[Sign, ...]
    chemistry: tuple[ChemistryFact, ...]
    cautions: tuple[Caution, ...]
    missing: tuple[str, ...] = ()
    """What the report cannot say for lack of data, a sentence each."""
    method_notes: tuple[tuple[str, str], ...] = ()
    """(heading, text) for the method page: how the answer was drawn from the numbers."""
    doubtful: tuple[DoubtfulInjection, ...] = ()
    """Counted injections that should perhaps not count."""
    rules: tuple[tuple[str, ...], ...] = ()
    """The table of rules by which signs of failure are read, header first."""
    outlook: Outlook | None = None
    """What is expected of a study that still runs; None of one that has ended."""


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Report:
    """Everything, computed once and rendered many times."""

    study: Study
    traces: Mapping[str, Trace]
    """By injection id."""
    measurements: Measurements
    judgement: Judgement
    findings: Findings
    problems: tuple[Problem, ...]
    """Cautions and missing things met on the way; no errors."""
    provenance: Mapping[str, object] = field(default_factory=dict)
    """What `data/provenance.json` holds."""
    changes: Changes | None = None
    """What differs from the report of an earlier revision; None where none is kept."""

    def __repr__(self) -> str:
        return f"<report of {self.study.id}: {self.study.title}>"

    @property
    def revision(self) -> Revision | None:
        """Return the edition that this report is, the last that the study numbers; None where it has none."""
        return self.study.revisions[-1] if self.study.revisions else None

    @property
    def fingerprint(self) -> str:
        """Return what tells this state of the folder from any other; empty where no hashes are known."""
        return str(self.provenance.get("fingerprint", ""))

    @property
    def method_notes(self) -> tuple[tuple[str, str], ...]:
        """Return (heading, text) of how every stage computed, in the order of the stages."""
        return (*self.measurements.method_notes, *self.judgement.method_notes, *self.findings.method_notes)


def fingerprint_of(files: Mapping[str, str]) -> str:
    """Return the fingerprint of a folder from the SHA-256 of every file read, by path; empty for none.

    It is the head of the SHA-256 of one line a file, as `sha256sum` writes them, sorted by path.
    """
    listing = "".join(f"{digest}  {name}\n" for name, digest in sorted(files.items()))
    return sha256(listing.encode()).hexdigest()[:FINGERPRINT_SIGNS] if listing else ""

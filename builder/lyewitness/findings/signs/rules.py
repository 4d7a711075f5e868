"""The rules by which signs on a column speak for or against a mechanism of failure.

In: nothing. Out: `RULES`, a table to be read and disputed line by line. `signs` applies it.

Each rule says: if this mechanism is at work, this observable should do that by more than so many per cent.
A `needed` rule must be met for the mechanism to be named, and speaks against it where it is surely not met.
The others add their weight where met and take it away where surely not met. What was not measured, or lies
within its uncertainty of the threshold, counts neither way. Thresholds are common practice, and stand here
so that they can be changed in one place.
"""

from dataclasses import dataclass
from typing import Literal

Direction = Literal["falls", "rises", "moves", "holds", "seen", "said"]

BONDED = "loss of bonded phase"
VOID = "dissolving particles and a void at the inlet"
SETTLED = "a bed that settled, without dissolution"
SKIN = "dissolution under an intact skin"
SILANOLS = "uncovered silanols"
BLOCKED = "blocked inlet"
PH = "drifting pH"
FLOW = "drifting flow"
TEMPERATURE = "drifting temperature"
DECAY = "decay of the sample"

MECHANISMS = (BONDED, VOID, SETTLED, SKIN, SILANOLS, BLOCKED, PH, FLOW, TEMPERATURE, DECAY)


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


RULES = (
    Rule(BONDED, "retention of neutrals", "falls", 3, 2, True, "the phase carries a neutral's retention"),
    Rule(BONDED, "plates of neutrals", "holds", 10, 1, False, "the bed stays as it was packed"),
    Rule(BONDED, "hold-up time", "holds", 3, 1, False, "the flow and the volume of the bed stay"),
    Rule(VOID, "plates of neutrals", "falls", 10, 2, True, "a gap in the bed broadens every peak"),
    Rule(VOID, "plates of bases", "falls", 10, 1, False, "a gap in the bed broadens every peak"),
    Rule(VOID, "split peaks at the end", "seen", 0, 2, False, "two ways through the bed give two tops"),
    Rule(VOID, "fronting of neutrals", "seen", 0, 1, False, "a gap at the inlet can pull the front out"),
    Rule(VOID, "hold-up time", "rises", 1, 1, False, "what dissolved leaves its volume to the mobile phase"),
    Rule(
        VOID, "retention of neutrals", "holds", 5, 1, False,
        "the phase that is left retains as before; dissolving silica may take some along", never_against=True,
    ),
    Rule(VOID, "silica in hot alkali", "seen", 0, 1, False, "such a particle dissolves"),
    Rule(VOID, "neutral peaks untouched", "seen", 0, -2, False, "a disturbed bed distorts every peak"),
    Rule(VOID, "picture of a void or of dissolution", "said", 0, 1, False, "its author says so"),
    Rule(VOID, "silica in the particle", "seen", 0, 0, False, "without silica none dissolves", vetoes=True),
    Rule(SETTLED, "plates of neutrals", "falls", 10, 2, True, "a gap in the bed broadens every peak"),
    Rule(SETTLED, "hold-up time", "holds", 2, 1, False, "nothing has left the bed", vetoes=True),
    Rule(SETTLED, "split peaks at the end", "seen", 0, 1, False, "two ways through the bed give two tops"),
    Rule(SETTLED, "fronting of neutrals", "seen", 0, 1, False, "a gap at the inlet can pull the front out"),
    Rule(SETTLED, "neutral peaks untouched", "seen", 0, -2, False, "a disturbed bed distorts every peak"),
    Rule(SETTLED, "retention of neutrals", "holds", 5, 1, False, "the phase is as it was"),
    Rule(SKIN, "silica in the particle", "seen", 0, 0, False, "without silica none dissolves", vetoes=True),
    Rule(SKIN, "plates fall after a delay", "seen", 0, 2, True, "the bed holds while the skin does"),
    Rule(SKIN, "plates of neutrals", "falls", 10, 1, True, "in the end the bed gives way"),
    Rule(SKIN, "hold-up time", "rises", 1, 2, False, "the hold-up volume grows as the core goes"),
    Rule(SKIN, "solid core or coated particle", "seen", 0, 1, False, "such a particle has a skin and a core"),
    Rule(SKIN, "picture of hollow particles", "said", 0, 1, False, "its author says so"),
    Rule(SILANOLS, "symmetry of bases", "rises", 10, 2, True, "bases tail on bare silanols"),
    Rule(SILANOLS, "symmetry of neutrals", "holds", 10, 2, True, "a neutral does not see silanols"),
    Rule(SILANOLS, "bases bear a charge", "seen", 0, 0, False, "silanols hold charged bases", vetoes=True),
    Rule(SILANOLS, "retention of bases", "rises", 3, 1, False, "silanols hold bases back"),
    Rule(BLOCKED, "pressure", "rises", 20, 2, True, "the stream has a narrower way"),
    Rule(BLOCKED, "retention of neutrals", "holds", 5, 1, False, "the phase is as it was"),
    Rule(BLOCKED, "hold-up time", "holds", 3, 1, False, "the bed is as it was"),
    Rule(BLOCKED, "symmetry of all alike", "seen", 0, 1, False, "what happens before the bed, all peaks see"),
    Rule(BLOCKED, "neutral peaks untouched", "seen", 0, -2, False, "a blocked inlet distorts every peak"),
    Rule(BLOCKED, "picture of a blocked inlet", "said", 0, 1, False, "its author says so"),
    Rule(PH, "retention of bases", "moves", 3, 2, True, "a base follows the pH near its pKa"),
    Rule(PH, "retention of neutrals", "holds", 3, 2, True, "a neutral does not see the pH"),
    Rule(PH, "bases bear a charge", "seen", 0, 0, False, "no charge, no change with pH", vetoes=True),
    Rule(PH, "bases alike on all columns", "seen", 0, 2, True, "one mobile phase moves all columns"),
    Rule(PH, "logged pH moved", "seen", 0, 2, False, "the log says so", vetoes=True),
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

"""What the simulated studies found, as shipped with the program.

In: `calibration.json` beside this module, written by `python -m tests.calibration`. Out: `Calibration`.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

CALIBRATION = Path(__file__).with_name("calibration.json")


@dataclass(frozen=True, slots=True)
class KindOfStudy:
    """One kind of simulated study and in how many of them each statement was true."""

    kind: str
    about: str
    shares: Mapping[str, tuple[int, int]]
    """By statement: (held, of)."""

    def percent(self, statement: str) -> float | None:
        """Return in how many of a hundred cases the statement held; None where it was never made."""
        held, cases = self.shares.get(statement, (0, 0))
        return 100.0 * held / cases if cases else None


@dataclass(frozen=True, slots=True)
class LawHeld:
    """Declines of one law, number of injections and noise, made by who did not know this program."""

    law: str
    n: int
    """Injections."""
    noise: str
    series: int
    claims: int
    """Of which something was told that could be wrong."""
    held: int
    median_width_h: float | None
    """Of the intervals of lives that were reached."""
    median_bias_percent: float | None
    dead_called_alive: int
    """Said to be within the limit although clearly past it at the end."""

    @property
    def percent(self) -> float | None:
        """Return in how many of a hundred claims the truth was held."""
        return 100.0 * self.held / self.claims if self.claims else None


@dataclass(frozen=True, slots=True)
class Calibration:
    """All kinds of simulated studies."""

    studies: int
    """Of each kind."""
    kinds: tuple[KindOfStudy, ...]
    laws: tuple[LawHeld, ...] = ()
    """By law, number of injections and noise."""


def shipped_calibration() -> Calibration:
    """Return the results shipped with the program."""
    data = json.loads(CALIBRATION.read_text(encoding="utf-8"))
    kinds = (
        KindOfStudy(
            kind["kind"],
            kind["about"],
            {name: (share["held"], share["of"]) for name, share in kind["shares"].items()},
        )
        for kind in data["kinds"]
    )
    laws = tuple(LawHeld(**law) for law in data.get("laws", ()))
    return Calibration(data["studies"], tuple(kinds), laws)

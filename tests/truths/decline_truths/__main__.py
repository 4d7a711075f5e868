"""Run a judge over cells and print the table: ``python -m decline_truths --judge module:function``."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from itertools import product
from pathlib import Path

from .judging import (
    Cell,
    GroupCell,
    format_table,
    group_preset,
    load,
    preset,
    run_table,
    write_csv,
    write_json,
)
from .laws import LAWS

SHORT = (
    "law",
    "design",
    "n",
    "noise",
    "limit",
    "claims",
    "coverage",
    "coverage_low",
    "coverage_high",
    "coverage_reached",
    "coverage_not_reached",
    "too_late",
    "too_early",
    "dead_called_alive",
    "alive_called_dead",
    "reached",
    "not_reached",
    "unclear",
    "vacuous",
    "error",
    "median_bias_pc",
    "median_width_h",
)


def parse_cells(text: str) -> list[Cell]:
    """Return the cells of a preset, or of ``law=a,b;design=even;n=12,24;noise=indep_1;limit=80``."""
    if "=" not in text:
        return preset(text)
    given = {
        key.strip(): [v.strip() for v in values.split(",")]
        for key, _, values in (part.partition("=") for part in text.split(";") if part.strip())
    }
    unknown = set(given) - {"law", "design", "n", "noise", "limit", "life"}
    if unknown:
        raise ValueError(f"no such part of a cell: {', '.join(sorted(unknown))}")
    laws = given.get("law", ["all"])
    laws = list(LAWS) if laws == ["all"] else laws
    lives = [None if v == "drawn" else float(v) for v in given.get("life", ["drawn"])]
    return [
        Cell(law, design, int(n), noise, float(limit), life)
        for law, design, n, noise, limit, life in product(
            laws,
            given.get("design", ["even"]),
            given.get("n", ["12"]),
            given.get("noise", ["indep_1"]),
            given.get("limit", ["80"]),
            lives,
        )
    ]


def main(arguments: Sequence[str] | None = None) -> int:
    """Parse the command line, run the judge and print the table."""
    parser = argparse.ArgumentParser(prog="decline_truths", description=__doc__)
    parser.add_argument("--judge", required=True, help="module:function")
    parser.add_argument("--studies", type=int, default=200, help="series (or studies) in each cell")
    parser.add_argument(
        "--cells",
        default="laws",
        help="smooth, laws, noises, designs, sizes, rising, core, "
        "full, groups, groups:PART OF A NAME, or law=…;design=…;n=…;noise=…;limit=…;life=…",
    )
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--csv", type=Path)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--all-columns", action="store_true")
    options = parser.parse_args(arguments)
    load(options.judge)
    cells: list[Cell | GroupCell]
    groups = options.cells.startswith("groups")
    if groups:
        cells = [c for c in group_preset() if options.cells.partition(":")[2] in c.name]
    else:
        cells = list(parse_cells(options.cells))
    if not cells:
        parser.error("no cells")
    rows = run_table(options.judge, cells, options.studies, options.jobs, options.first_seed)
    print(format_table(rows, None if groups or options.all_columns else SHORT))
    if options.csv is not None:
        write_csv(rows, options.csv)
    if options.json is not None:
        write_json(rows, options.json)
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""Command line: write study folders with known truth, and judge a report of them."""

from __future__ import annotations

import argparse
from pathlib import Path

from trace_truths import folder, judging
from trace_truths.situations import SITUATIONS


def main() -> None:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="trace_truths", description=__doc__)
    sub = parser.add_subparsers(dest="command", required=True)
    write = sub.add_parser("write", help="write OUT/studies/FAMILY (study folders) and OUT/truth")
    write.add_argument("out", type=Path)
    write.add_argument("--seed", type=int, default=1)
    write.add_argument("--injections", type=int, default=8)
    write.add_argument("--families", nargs="*", help="shapes backgrounds noises pairs faults long")
    write.add_argument("--only", nargs="*", help="situations: " + " ".join(SITUATIONS))
    judge = sub.add_parser("judge", help="judge every measurements.csv below REPORT; print one table")
    judge.add_argument("out", type=Path)
    judge.add_argument("report", type=Path)
    judge.add_argument("--rows", action="store_true", help="list the rows that do harm, too")
    told = parser.parse_args()
    if told.command == "write":
        for path in folder.write_all(told.out, told.seed, told.injections, told.families, told.only):
            print(path)
        return
    cases, beside = judging.judge_all(told.out, told.report)
    groups = judging.grouped(cases)
    groups["ALL"] = cases
    for others in beside.values():
        others["ALL"] = [c for many in others.values() for c in many]
    print("errors: 50th/95th percentile of |error| in %, rows present and rightly named; sil: without a flag")
    print(judging.table_of(groups, beside))
    print("\nstandard errors\n" + judging.honesty_of(cases))
    print("\nconfidence\n" + judging.calibration_of(cases))
    print("\nflags\n" + judging.flags_of(cases))
    if told.rows:
        print("\nrows\n" + judging.told_apart(cases))


if __name__ == "__main__":
    main()

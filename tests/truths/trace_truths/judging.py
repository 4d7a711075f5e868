"""Judge a table of measurements by the truth, and the plain chemist's fit beside it."""

from __future__ import annotations

import csv
import json
import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from trace_truths import plain

METRICS: dict[str, str] = {
    "retention_time_min": "tR",
    "retention_factor": "k",
    "peak_area": "area",
    "peak_height": "height",
    "plate_number_half_height": "N half",
    "plate_number_tangent": "N tang",
    "plate_number_moments": "N mom",
    "plate_number_emg": "N FD",
    "symmetry_factor": "As",
    "resolution": "Rs",
}

EMG_COLUMNS = ("emg_center_min", "emg_sigma_min", "emg_tau_min", "emg_area")
"""Parameters of a fitted exponentially modified Gaussian, whose truth is known where the peak is one."""

FAR_METRICS = ("peak_area", "peak_height", "plate_number_half_height", "symmetry_factor", "retention_factor")
"""The metrics by which a row counts as far off; moments are left out, as the far tail is below any noise."""

Row = Mapping[str, Any]


@dataclass
class Case:
    """One marker of one injection: what was true, what was said, and what came of it."""

    family: str
    situation: str
    injection: str
    marker: str
    role: str
    status: str
    verdict: str
    flags: str = ""
    errors: dict[str, float] = field(default_factory=dict)
    se_ratio: dict[str, float] = field(default_factory=dict)
    confidence: float | None = None
    detail: str = ""

    @property
    def worst(self) -> float:
        """Largest relative error among the metrics that decide whether a row is far off."""
        return max((abs(self.errors[m]) for m in FAR_METRICS if m in self.errors), default=0.0)


def _number(value: object) -> float | None:
    """Return a finite number, or None for an empty or unreadable cell."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    try:
        out = float(str(value))
    except (TypeError, ValueError):
        return None
    return out if math.isfinite(out) else None


def _yes(value: object) -> bool:
    """Whether a cell says yes."""
    return str(value).strip().lower() in {"yes", "true", "1", "y"}


def _se_column(row: Row, metric: str) -> float | None:
    """Return the standard error given for a metric, whatever its unit suffix."""
    for key in (f"{metric}_se", f"{metric.removesuffix('_min')}_se", f"{metric.removesuffix('_min')}_se_min"):
        if key in row:
            return _number(row[key])
    return None


def _confidence(row: Row) -> float | None:
    """Return the row's confidence, from the first column whose name begins with the word."""
    for key in row:
        if key == "confidence" or key.startswith("confidence_") or key.endswith("_confidence"):
            value = _number(row[key])
            if value is not None:
                return value / 100 if value > 1.5 else value
    return None


def _verdict(case: Case, row: Row | None, told: Mapping[str, Any], shot: Mapping[str, Any]) -> None:
    """Fill in the verdict of one row: right, lost, missed, misnamed, misplaced, invented or silent."""
    found = row is not None and (_yes(row.get("found")) or ("found" not in row and bool(row)))
    time = _number(row.get("retention_time_min")) if row is not None else None
    truth = told["truth"]
    if row is not None:
        case.flags = str(row.get("flags") or "").strip()
        case.confidence = _confidence(row)
    if not found or time is None or row is None:
        case.verdict = {
            "present": "lost",
            "cut": "lost cut",
            "trace": "silent",
            "merged": "silent merged",
        }.get(told["status"], "silent")
        return
    if truth is None or told["status"] == "not recorded":
        case.verdict = "invented"
        case.detail = f"found at {time:.3f}: {told['reason']}"
        return
    off = time - truth["retention_time_min"]
    reach = 0.6 * truth["width_half_min"]
    if abs(off) > reach:
        rivals = {
            n: m["truth"]["retention_time_min"]
            for n, m in shot["markers"].items()
            if m["truth"] and n != case.marker
        }
        rivals.update(shot["strangers"])
        nearest = min(rivals, key=lambda n: abs(rivals[n] - time)) if rivals else ""
        named = bool(rivals) and abs(rivals[nearest] - time) < min(abs(off), reach)
        case.verdict = "misnamed" if named else "misplaced"
        case.detail = f"at {time:.3f}, true {truth['retention_time_min']:.3f}"
        case.detail += f", is {nearest}" if named else ""
    else:
        case.verdict = "right"
    for metric in METRICS:
        true = told[metric] if metric in ("retention_factor", "resolution") else truth[metric]
        said = _number(row.get(metric))
        if true is None or said is None or true == 0:
            continue
        case.errors[metric] = said / true - 1
        se = _se_column(row, metric)
        if se is not None and se > 0:
            case.se_ratio[metric] = (said - true) / se
    for column, true in (told.get("emg") or {}).items():
        said, se = _number(row.get(column)), _number(row.get(f"{column}_se"))
        if said is not None and se is not None and se > 0:
            case.se_ratio[column] = (said - true) / se


def judge_rows(told: Mapping[str, Any], rows: Iterable[Row]) -> list[Case]:
    """Judge in-memory rows (as in measurements.csv) by the truth of one study."""
    table = {(str(r["injection"]), str(r["marker"])): r for r in rows}
    cases = []
    for one in told["series"]:
        roles = {m["name"]: m["role"] for m in one["markers"]}
        for shot in one["injections"]:
            for name, m in shot["markers"].items():
                case = Case(one["family"], one["situation"], shot["name"], name, roles[name], m["status"], "")
                _verdict(case, table.get((shot["name"], name)), m, shot)
                cases.append(case)
    return cases


def plain_rows(told: Mapping[str, Any], folder: Path, how: str = "fitted") -> list[dict[str, Any]]:
    """Measure a study the plain way, windows from the truth: how is ``fitted`` or ``integrated``."""
    measure = plain.fitted if how == "fitted" else plain.integrated
    rows: list[dict[str, Any]] = []
    for one in told["series"]:
        void = next((m["name"] for m in one["markers"] if m["role"] == "void"), None)
        for shot in one["injections"]:
            data = np.loadtxt(folder / shot["file"], delimiter=",", skiprows=1)
            apexes = {
                n: m["truth"]["retention_time_min"]
                for n, m in shot["markers"].items()
                if m["truth"] and m["status"] != "not recorded"
            }
            found: dict[str, dict[str, float]] = {}
            for name, apex in apexes.items():
                near = [a for n, a in apexes.items() if n != name] + list(shot["strangers"].values())
                width = shot["markers"][name]["truth"]["width_half_min"]
                found[name] = measure(data[:, 0], data[:, 1], apex, width, near)
            hold = found.get(void or "", {}).get("retention_time_min")
            for name, values in found.items():
                row: dict[str, Any] = {
                    "injection": shot["name"],
                    "marker": name,
                    "found": "yes" if values else "no",
                }
                row.update(values)
                if hold and values and name != void:
                    row["retention_factor"] = values["retention_time_min"] / hold - 1
                rows.append(row)
    return rows


def read_rows(path: Path) -> list[dict[str, str]]:
    """Read a measurements.csv."""
    with path.open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


@dataclass
class Summary:
    """The counts and the error percentiles of a set of cases."""

    rows: int
    present: int
    lost: int
    misnamed: int
    misnamed_silent: int
    invented: int
    invented_silent: int
    far5_silent: int
    far10_silent: int
    flagged_good: int
    percentiles: dict[str, tuple[float, float]]
    sure: int
    sure_wrong: int
    honesty: dict[str, tuple[int, float, float, float]]


def summarise(cases: list[Case]) -> Summary:
    """Sum a set of cases up; errors are over the rows that are right and not merged."""
    right = [c for c in cases if c.verdict == "right" and c.status in ("present", "trace")]
    wrong = [c for c in cases if c.verdict in ("misnamed", "misplaced")]
    bad = [c for c in cases if c.verdict == "invented"]
    told = [c for c in cases if c.verdict == "right"]
    percentiles = {}
    honesty = {}
    for metric in (*METRICS, *EMG_COLUMNS):
        errors = np.array([abs(c.errors[metric]) for c in right if metric in c.errors])
        if errors.size:
            percentiles[metric] = (float(np.percentile(errors, 50)), float(np.percentile(errors, 95)))
        z = np.array([c.se_ratio[metric] for c in right if metric in c.se_ratio])
        if z.size:
            honesty[metric] = (
                int(z.size),
                float(np.mean(np.abs(z) < 1)),
                float(np.mean(np.abs(z) < 2)),
                float(np.sqrt(np.mean(z**2))),
            )
    sure = [
        c
        for c in cases
        if c.confidence is not None
        and c.confidence >= 0.99
        and c.verdict in ("right", "misnamed", "misplaced", "invented")
    ]
    off = [
        c
        for c in sure
        if c.verdict != "right"
        or max(abs(c.errors.get("plate_number_half_height", 0)), abs(c.errors.get("peak_area", 0))) > 0.05
    ]
    return Summary(
        rows=len(cases),
        present=sum(c.status == "present" for c in cases),
        lost=sum(c.verdict == "lost" for c in cases),
        misnamed=len(wrong),
        misnamed_silent=sum(not c.flags for c in wrong),
        invented=len(bad),
        invented_silent=sum(not c.flags for c in bad),
        far5_silent=sum(c.worst > 0.05 and not c.flags for c in told),
        far10_silent=sum(c.worst > 0.10 and not c.flags for c in told),
        flagged_good=sum(bool(c.flags) and c.worst < 0.02 for c in right),
        percentiles=percentiles,
        sure=len(sure),
        sure_wrong=len(off),
        honesty=honesty,
    )


def _percent(pair: tuple[float, float] | None) -> str:
    """Write a 50th and 95th percentile in per cent."""
    if pair is None:
        return "-"
    return "/".join(f"{100 * v:.2f}" if v < 0.1 else f"{100 * v:.0f}" for v in pair)


COLUMNS = (
    "retention_time_min",
    "retention_factor",
    "peak_area",
    "peak_height",
    "plate_number_half_height",
    "plate_number_tangent",
    "plate_number_moments",
    "plate_number_emg",
    "symmetry_factor",
)


def table_of(
    groups: Mapping[str, list[Case]], beside: Mapping[str, Mapping[str, list[Case]]] | None = None
) -> str:
    """Return one table: a line a situation, and below it the plain chemist's, fitted and integrated."""
    head = [
        "situation",
        "n",
        "lost",
        "misn",
        "(sil)",
        "inv",
        "(sil)",
        ">5%sil",
        ">10%sil",
        "flag.good",
        "sure",
        "off",
    ]
    head += [METRICS[m] for m in COLUMNS]
    lines = [head]
    for name, cases in groups.items():
        s = summarise(cases)
        line = [
            name,
            s.present,
            s.lost,
            s.misnamed,
            s.misnamed_silent,
            s.invented,
            s.invented_silent,
            s.far5_silent,
            s.far10_silent,
            s.flagged_good,
            s.sure,
            s.sure_wrong,
        ]
        lines.append([str(v) for v in line] + [_percent(s.percentiles.get(m)) for m in COLUMNS])
        for how, others in (beside or {}).items():
            if name not in others:
                continue
            p = summarise(others[name])
            line = [
                "  " + how,
                p.present,
                p.lost,
                p.misnamed,
                "",
                "",
                "",
                p.far5_silent,
                p.far10_silent,
                "",
                "",
                "",
            ]
            lines.append([str(v) for v in line] + [_percent(p.percentiles.get(m)) for m in COLUMNS])
    widths = [max(len(r[i]) for r in lines) for i in range(len(head))]
    return "\n".join(
        "  ".join(
            c.ljust(w) if i == 0 else c.rjust(w) for i, (c, w) in enumerate(zip(r, widths, strict=True))
        )
        for r in lines
    )


def honesty_of(cases: list[Case]) -> str:
    """Say how honest the standard errors are: 68 % and 95 % within one and two, rms 1, would be perfect."""
    out = []
    for metric, (n, one, two, rms) in summarise(cases).honesty.items():
        out.append(
            f"{METRICS.get(metric, metric):16s} n={n:5d}  "
            f"|e|<1se {one:5.1%}  |e|<2se {two:5.1%}  rms e/se {rms:.2f}"
        )
    return "\n".join(out) if out else "no standard errors are given"


def calibration_of(cases: list[Case]) -> str:
    """Set what the confidence says beside what came true: rightly named, N and area within 5 %."""
    out = []
    edges = (0.0, 0.5, 0.9, 0.99, 0.999, 1.01)
    for low, high in pairwise(edges):
        some = [c for c in cases if c.confidence is not None and low <= c.confidence < high]
        some = [c for c in some if c.verdict in ("right", "misnamed", "misplaced", "invented")]
        if not some:
            continue
        named = sum(c.verdict == "right" for c in some) / len(some)
        good = sum(
            c.verdict == "right"
            and max(abs(c.errors.get(m, 0)) for m in ("plate_number_half_height", "peak_area")) <= 0.05
            for c in some
        )
        said = float(np.mean([c.confidence for c in some if c.confidence is not None]))
        out.append(
            f"said {low:.3f} to {min(high, 1):.3f} (mean {said:.3f})  n={len(some):5d}  "
            f"rightly named {named:.1%}  and N, area within 5 % {good / len(some):.1%}"
        )
    return "\n".join(out) if out else "no confidence is given"


def grouped(cases: Iterable[Case]) -> dict[str, list[Case]]:
    """Sort cases by situation, in their order."""
    out: dict[str, list[Case]] = {}
    for case in cases:
        out.setdefault(case.situation, []).append(case)
    return out


def judge_all(out: Path, report: Path) -> tuple[list[Case], dict[str, dict[str, list[Case]]]]:
    """Judge every measurements.csv below ``report`` by the truths below ``out``, and the plain ways."""
    rows: list[Row] = []
    for path in sorted(report.rglob("measurements.csv")):
        rows.extend(read_rows(path))
    known = {str(r["injection"]) for r in rows}
    cases: list[Case] = []
    beside: dict[str, list[Case]] = {"fitted": [], "integrated": []}
    for path in sorted((out / "truth").glob("*.json")):
        told = json.loads(path.read_text(encoding="utf-8"))
        told["series"] = [s for s in told["series"] if any(i["name"] in known for i in s["injections"])]
        if told["series"]:
            cases.extend(judge_rows(told, rows))
            studies = out / "studies" / told["folder"]
            for how, many in beside.items():
                many.extend(judge_rows(told, plain_rows(told, studies, how)))
    return cases, {how: grouped(many) for how, many in beside.items()}


def told_apart(cases: list[Case]) -> str:
    """List the rows that do harm: misnamed, misplaced, invented, lost, or far off without a flag."""
    out = []
    for c in cases:
        bad = c.verdict in ("misnamed", "misplaced", "invented", "lost")
        if bad or (c.verdict == "right" and c.worst > 0.10 and not c.flags):
            errors = " ".join(f"{METRICS[m]}{100 * e:+.1f}%" for m, e in c.errors.items() if abs(e) > 0.03)
            sure = "" if c.confidence is None else f" confidence {c.confidence:.3f}"
            line = f"{c.injection:22s} {c.marker:14s} {c.verdict:9s} [{c.flags}]{sure}"
            out.append(f"{line} {c.detail} {errors}".rstrip())
    return "\n".join(out)


def flags_of(cases: list[Case]) -> str:
    """Count each flag over the good rows (worst error under 2 %) and over the others."""
    good: Counter[str] = Counter()
    other: Counter[str] = Counter()
    for c in cases:
        target = good if c.verdict == "right" and c.worst < 0.02 else other
        target.update(c.flags.split())
    names = sorted(set(good) | set(other))
    return "\n".join(f"{n:24s} good rows {good[n]:5d}   others {other[n]:5d}" for n in names) or "no flags"

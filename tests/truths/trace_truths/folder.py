"""Write series as study folders: study.toml, injections.csv, chromatograms; the truth goes beside."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from trace_truths.situations import LONG, SITUATIONS, TrueSeries, series

TEMPLATE = """[study]
id = "{ident}"
title = "Stability of columns, {family}"
question = "Which of the columns lasts longest at pH 11.3 and 50 °C?"

[exports]
time_unit = "min"
signal_unit = "mAU"

[stress]
buffer = "pyrrolidine"
buffer_mM = 20
ph = 11.3
organic = "acetonitrile"
organic_percent = 30
temperature_C = 50
flow_mL_min = 0.2

[test]
wavelength_nm = 220
injection_uL = 1.0

[limits]
plate_number_half_height = {{ at_least_percent = 80 }}
retention_factor = {{ at_least_percent = 90 }}
symmetry_factor = {{ at_most = 2.0 }}
"""


def truth_of(one: TrueSeries) -> dict[str, Any]:
    """Return a series' truth, without its traces, as plain data."""
    injections = []
    for shot in one.injections:
        markers = {}
        for name, m in shot.markers.items():
            markers[name] = {
                "status": m.status,
                "reason": m.reason,
                "retention_factor": m.retention_factor,
                "resolution": m.resolution,
                "truth": m.truth.as_dict() if m.truth else None,
                "emg": m.emg,
            }
        injections.append(
            {
                "name": shot.name,
                "exposure_h": shot.exposure_h,
                "file": f"chromatograms/{shot.name}.csv",
                "markers": markers,
                "strangers": shot.strangers,
            }
        )
    return {
        "situation": one.situation,
        "family": one.family,
        "seed": one.seed,
        "column": one.column,
        "markers": [asdict(m) for m in one.markers],
        "injections": injections,
    }


def write_study(many: list[TrueSeries], folder: Path, truth: Path) -> None:
    """Write series with the same markers as one study, a column each, and their truth to a file elsewhere."""
    (folder / "chromatograms").mkdir(parents=True, exist_ok=True)
    parts = [TEMPLATE.format(ident=folder.name, family=many[0].family)]
    long = many[0].markers[0].name == LONG[0].name
    for one in many:
        parts.append(
            f'[[column]]\nid = "{one.column}"\ngroup = "{one.column}"\nparticle = "porous hybrid"\n'
            f'bonding = "C18"\nlength_mm = {250 if long else 50}\n'
            f"inner_diameter_mm = {4.6 if long else 2.1}\nparticle_um = {10 if long else 1.7}\n"
        )
    for i, m in enumerate(many[0].markers):
        places = ", ".join(f'"{one.column}" = {one.markers[i].expected_min}' for one in many)
        parts.append(f'[[marker]]\nid = "{m.name}"\nrole = "{m.role}"\nretention_min = {{ {places} }}\n')
    (folder / "study.toml").write_text("\n".join(parts), encoding="utf-8")
    lines = ["injection,file,column,exposure_h"]
    for one in many:
        for shot in one.injections:
            name = f"chromatograms/{shot.name}.csv"
            lines.append(f"{shot.name},{name},{one.column},{shot.exposure_h:g}")
            rows = "\n".join(f"{t:.6f},{y:.5f}" for t, y in zip(shot.time_min, shot.signal_mau, strict=True))
            (folder / name).write_text("time_min,signal_mAU\n" + rows + "\n", encoding="utf-8")
    (folder / "injections.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    truth.parent.mkdir(parents=True, exist_ok=True)
    told = {"study": folder.name, "folder": folder.name, "series": [truth_of(one) for one in many]}
    truth.write_text(json.dumps(told, indent=1), encoding="utf-8")


def write_all(
    out: Path,
    seed: int,
    injections: int = 8,
    families: list[str] | None = None,
    only: list[str] | None = None,
) -> list[Path]:
    """Write one study folder a family of situations below ``out/studies``, the truth below ``out/truth``."""
    written = []
    chosen = {s: f for s, (f, _) in SITUATIONS.items() if not families or f in families}
    chosen = {s: f for s, f in chosen.items() if not only or s in only}
    for family in dict.fromkeys(chosen.values()):
        many = [series(s, seed, injections) for s, f in chosen.items() if f == family]
        folder = out / "studies" / family
        write_study(many, folder, out / "truth" / f"{family}.json")
        written.append(folder)
    return written

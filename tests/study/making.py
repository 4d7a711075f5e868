"""A small study folder in text, for tests that break one thing in it."""

from pathlib import Path

STUDY = """\
[study]
id = "2026-001"
title = "Two types in hot diethylamine"
question = "Which of the two lasts longer?"
expectation = "The hybrid lasts longer."

[[person]]
name = "Analyst A"
role = "measured"

[stress]
buffer = "diethylamine"
buffer_mM = 20
ph = 11.0
ph_temperature_C = 25
organic = "acetonitrile"
organic_percent = 30
temperature_C = 50
flow_mL_min = 0.4

[[column]]
id = "A1"
group = "hybrid"
particle = "porous hybrid"
length_mm = 50
inner_diameter_mm = 2.1

[[column]]
id = "B1"
group = "silica"
particle = "porous silica"
length_mm = 50
inner_diameter_mm = 2.1

[[marker]]
id = "uracil"
role = "void"
retention_min = 0.4

[[marker]]
id = "toluene"
role = "neutral"
retention_min = { hybrid = 1.2, B1 = 1.4 }

[limits]
plate_number_half_height = { at_least_percent = 80 }
"""
INJECTIONS = """\
injection,file,column,exposure_h,use,why
A1-1,chromatograms/a.csv,A1,0,,
A1-2,chromatograms/a2.csv,A1,1.5,,
B1-1,chromatograms/b.csv,B1,0,no,air in the loop
"""
NOTE = """\
+++
title = "Start"
date = 2026-03-02
author = "Analyst A"
+++
Began with [[column:A1]] and [[injection:A1-1]].
"""


def lay_out(folder: Path) -> Path:
    """Write the folder and return it."""
    for name, text in {
        "study.toml": STUDY,
        "injections.csv": INJECTIONS,
        "chromatograms/a.csv": "time/min,mAU\n0,0\n1,2\n",
        "chromatograms/a2.csv": "time/min,mAU\n0,0\n1,2\n",
        "chromatograms/b.csv": "time/min,mAU\n0,0\n1,2\n",
        "notes/2026-03-02.md": NOTE,
    }.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def change(folder: Path, name: str, old: str, new: str) -> None:
    """Replace one text in one file of the folder; it must stand there."""
    path = folder / name
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")

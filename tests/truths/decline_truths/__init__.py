"""Truths about declining columns: series and studies whose lives are known, and the scoring of judges."""

from .designs import DESIGNS, SIZES
from .judging import Cell, GroupCell, judge_one, run_cell, run_group_cell, run_table, score
from .laws import LAWS, Curve, Law, draw_curve
from .noises import NOISES, Noise
from .truths import TrueColumn, TrueSeries, TrueStudy, series, study
from .verdicts import Comparison, GroupVerdict, Verdict

__all__ = [
    "DESIGNS",
    "LAWS",
    "NOISES",
    "SIZES",
    "Cell",
    "Comparison",
    "Curve",
    "GroupCell",
    "GroupVerdict",
    "Law",
    "Noise",
    "TrueColumn",
    "TrueSeries",
    "TrueStudy",
    "Verdict",
    "draw_curve",
    "judge_one",
    "run_cell",
    "run_group_cell",
    "run_table",
    "score",
    "series",
    "study",
]

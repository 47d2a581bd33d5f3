"""Logs for tests: rows of an invented plan with what cameras did drawn from its own patterns, or from others."""

from __future__ import annotations

import csv
import datetime
import io
import random
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from fencecast.prove.walks.planfile import Kind, WalkPlan

START = datetime.datetime(2026, 11, 29, 22, 0, 0)
NOTED = (
    "weather",
    "air_c",
    "humidity",
    "wind_m_s",
    "visibility_m",
    "rain_mm_h",
    "ground_c",
    "depth_m",
    "void",
    "note",
    "recorder",
)


def columns(plan: WalkPlan) -> list[str]:
    return ["trial", "place", "gait", "direction", "walker", "date", "crossed", *plan.marks, *NOTED]


def log_rows(
    plan: WalkPlan,
    seed: int = 1,
    patterns: Callable[[Kind], Mapping[str, float]] = lambda kind: kind.patterns,
    every_s: float = 150.0,
    start: datetime.datetime = START,
) -> list[dict[str, str]]:
    """A row a trial in the order of the plan; two walkers in turn; no times of alarms."""
    drawn = random.Random(seed)
    rows = []
    for number, trial in enumerate(plan.trials):
        kind = plan.kind_of(trial.kind)
        shares = patterns(kind)
        seen = drawn.choices(list(shares), weights=list(shares.values()))[0].split("+")
        moment = start + datetime.timedelta(seconds=every_s * number + drawn.choice([1.0, 2.0, 7.0]))
        row = dict.fromkeys(columns(plan), "")
        row |= {"trial": str(trial.trial), "place": kind.place, "gait": kind.gait, "direction": kind.direction}
        row |= {
            "walker": "AB"[number % 2],
            "date": f"{moment:%Y-%m-%d}",
            "crossed": f"{moment:%H:%M:%S}",
            "weather": plan.weather,
        }
        row |= {mark: "yes" if mark in seen else "no" for mark in plan.marks}
        rows.append(row)
    return rows


def log_text(rows: Sequence[Mapping[str, str]], separator: str = ",", end: str = "\r\n") -> str:
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]), delimiter=separator, lineterminator=end)
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def write_log(path: Path, rows: Sequence[Mapping[str, str]], **ways) -> Path:
    path.write_text(log_text(rows, **ways), encoding="utf-8", newline="")
    return path

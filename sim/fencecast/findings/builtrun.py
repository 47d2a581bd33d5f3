"""Design, as built and tested, side by side for every segment: what `built --run` adds in the terminal and as JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr
from scipy.special import betaincinv

from fencecast.estimate.places import code_of
from fencecast.estimate.results import Results
from fencecast.findings.blocks import LEFT, NOTE, RIGHT, UNBROKEN, Block, Cell, Heading, Line, Table
from fencecast.findings.comparison import class_findings, run_of
from fencecast.findings.words import change_text, confidence_text, interval_text, plural, whole

MOST_ROWS = 12
_ENDS = ("", "_low", "_high")
Tested = Mapping[tuple[str, float], tuple[int, int]]


@dataclass(frozen=True)
class Row:
    """One segment in one weather class.

    design, built: Pd with both ends and the verdict; difference: built minus design, with both ends of its paired interval;
    tested: alarms, walks and the exact interval of their share, None where nobody walked.
    """

    section: str
    chainage_m: float
    code: str
    weather: str
    design: tuple[float, float, float]
    design_verdict: str
    built: tuple[float, float, float]
    built_verdict: str
    difference: tuple[float, float, float]
    tested: tuple[int, int, float, float] | None


def exact_interval(alarms: int, walks: int, confidence: float) -> tuple[float, float]:
    """Two-sided exact ends of a share (Clopper and Pearson 1934): Beta quantiles; alarms of walks, walks at least 1."""
    tail = 0.5 * (1.0 - confidence)
    low = 0.0 if alarms == 0 else float(betaincinv(alarms, walks - alarms + 1, tail))
    high = 1.0 if alarms == walks else float(betaincinv(alarms + 1, walks - alarms, 1.0 - tail))
    return low, high


def both_rows(results: xr.Dataset | Results, tested: Tested | None = None, weather: str = "") -> tuple[Row, ...]:
    """Every segment in every weather class, in the order of the results.

    tested: alarms and walks by section and chainage [m] of the place; weather: the class in which they were walked, every one
    when it is not named.
    """
    found = Results.of(results)
    run = run_of(found, 0)
    starts, ends = found["segment_start_m"].values, found["segment_end_m"].values
    sections, chainage = found["section"].values, found["chainage_m"].values
    codes = [code_of(run, run.sections, s, s) for s in range(len(sections))]
    by_design = ("variant", "weather", "segment")
    pd = np.stack([found.data[f"pd{end}"].transpose(*by_design).values for end in _ENDS], axis=-1)
    verdicts = found.data["standing"].transpose(*by_design).values
    apart = [found.data[f"pd_difference{end}"].transpose("compared", "weather", "segment").values[0] for end in _ENDS]
    difference = np.stack(apart, axis=-1)
    rows = []
    for w, name in enumerate(found["weather"].values):
        walked = _by_segment(tested or {}, sections, starts, ends) if weather in ("", str(name)) else {}
        for s, section in enumerate(sections):
            count = walked.get(s)
            shown = None if count is None else (*count, *exact_interval(*count, found.confidence))
            design, built = (_three(pd[v, w, s]) for v in (0, 1))
            before, after = (str(verdicts[v, w, s]) for v in (0, 1))
            by = _three(difference[w, s])
            rows.append(Row(str(section), float(chainage[s]), codes[s], str(name), design, before, built, after, by, shown))
    return tuple(rows)


def _three(values: np.ndarray) -> tuple[float, float, float]:
    """A value and both of its ends as plain numbers."""
    return float(values[0]), float(values[1]), float(values[2])


def _by_segment(tested: Tested, sections: np.ndarray, starts: np.ndarray, ends: np.ndarray) -> dict[int, tuple[int, int]]:
    """Alarms and walks by segment; places in one segment are added up."""
    found: dict[int, tuple[int, int]] = {}
    for (section, chainage), (alarms, walks) in tested.items():
        mine = np.flatnonzero((sections == section) & (starts <= chainage + 1e-9) & (chainage < ends + 1e-9))
        if len(mine) and walks > 0:
            before = found.get(int(mine[0]), (0, 0))
            found[int(mine[0])] = (before[0] + alarms, before[1] + walks)
    return found


def both_object(results: xr.Dataset | Results, tested: Tested | None = None, weather: str = "") -> dict[str, Any]:
    """The object under `run` of `built --json`: every segment of every class."""
    found = Results.of(results)
    segments = []
    for row in both_rows(results, tested, weather):
        entry: dict[str, Any] = {"section": row.section, "chainage_m": row.chainage_m, "place": row.code, "weather": row.weather}
        for name, values, verdict in (("design", row.design, row.design_verdict), ("built", row.built, row.built_verdict)):
            entry[name] = dict(zip(("pd", "pd_low", "pd_high"), values)) | {"verdict": verdict}
        entry["difference"] = dict(zip(("mean", "low", "high"), row.difference))
        entry["tested"] = None if row.tested is None else dict(zip(("alarms", "walks", "low", "high"), row.tested))
        segments.append(entry)
    attrs = found.attrs
    return {
        "seed": int(attrs["seed"]),
        "crossings": int(attrs["crossings_total"]),
        "precision": float(attrs["precision"]),
        "confidence": found.confidence,
        "segments": segments,
    }


def both_blocks(results: xr.Dataset | Results, tested: Tested | None = None, weather: str = "") -> list[Block]:
    """The tables for a terminal: metres by class, then the segments that changed most or were walked."""
    found = Results.of(results)
    lengths = found.lengths_m
    rows = []
    for each in class_findings(found, 0):
        metres = [float(lengths[found.at("standing", variant=v, weather=each.index) == "meets"].sum()) for v in (0, 1)]
        weak = [float(lengths[found.at("standing", variant=v, weather=each.index) == "weak"].sum()) for v in (0, 1)]
        cells = [whole(value) for value in (*metres, *weak)]
        rows.append([each.name, *cells, change_text(each.mean, each.low, each.high)])
    columns = [("class", LEFT), ("meets,\ndesign", RIGHT), ("meets,\nbuilt", RIGHT), ("weak,\ndesign", RIGHT)]
    columns += [("weak,\nbuilt", RIGHT), ("change of\nmean Pd", RIGHT)]
    blocks: list[Block] = [
        Heading("The design and the site as built, on the same crossings: metres by weather class"),
        Table.of(columns, rows),
    ]
    shown, left = _worth_showing(both_rows(results, tested, weather))
    if not shown:
        return [*blocks, Line("No segment's Pd differs for certain, and none changes its verdict.")]
    heads = [("place", UNBROKEN), ("class", LEFT), ("design", RIGHT), ("built", RIGHT)]
    walked = any(row.tested for row in shown)
    heads += [("tested", RIGHT)] if walked else []
    heads += [("built − design", RIGHT)]
    lines = [_line(row, walked) for row in shown]
    more = f" {plural(left, 'other row')} in --json." if left else ""
    note = (
        f"Pd with its {confidence_text(found.confidence)} interval, coloured by its verdict; the last column is paired: the same "
        f"crossings met both. Segments whose verdict changes, then the largest differences that are certain.{more}"
    )
    return [*blocks, Heading("Where it matters"), Table.of(heads, lines), Line(note, NOTE)]


def _worth_showing(rows: tuple[Row, ...]) -> tuple[list[Row], int]:
    """Walked segments, those whose verdict changes, those that surely differ; the largest first, and how many are left out."""
    known = [row for row in rows if not math.isnan(row.difference[0])]
    kept = [
        row
        for row in known
        if row.tested or row.design_verdict != row.built_verdict or row.difference[1] > 0.0 or row.difference[2] < 0.0
    ]
    kept.sort(key=lambda row: (row.tested is None, row.design_verdict == row.built_verdict, -abs(row.difference[0]), row.code))
    return kept[:MOST_ROWS], max(len(kept) - MOST_ROWS, 0)


def _line(row: Row, walked: bool) -> list[str | Cell]:
    cells: list[str | Cell] = [row.code, row.weather]
    cells += [Cell(interval_text(*row.design), row.design_verdict), Cell(interval_text(*row.built), row.built_verdict)]
    if walked:
        cells.append("" if row.tested is None else "{} of {} ({:.2f} to {:.2f})".format(*row.tested))
    return [*cells, change_text(*row.difference)]

"""What `fencecast study` says: which design ranks first, by weather, at which cost, and how far to trust it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from fencecast.decide.study.results import by_design, common
from fencecast.findings.blocks import (
    FINDING,
    LEFT,
    NOTE,
    RIGHT,
    TITLE,
    UNBROKEN,
    Block,
    Heading,
    Line,
    Table,
    written_lines,
)
from fencecast.findings.limits import PD_WORDS, limit_lines, limits_object, limits_of
from fencecast.findings.standings import (
    allowance_words,
    common_yards,
    distinguishable,
    gap_words,
    mean_pd_words,
    percent,
    span_words,
    standings,
    weather_sentences,
    winner_sentence,
)
from fencecast.findings.words import confidence_text, pd_text, whole

if TYPE_CHECKING:  # of a study, which has other dimensions than a run
    import xarray as xr

_MEANS = ("cameras", "cost", "mean_pd", "weak_m", "undecided_m", "weakest_pd")


def study_blocks(results: xr.Dataset, files: list[str], left: list[str]) -> list[Block]:
    """The report, top to bottom."""
    attrs = results.attrs
    ran = [f"seed {attrs['seed']}", f"{results.sizes['yard']:,} yards, {whole(results['fence_m'].values.sum())} m of fence"]
    ran += [f"{attrs['crossings_total']:,} crossings", f"{attrs['looks_total']:,} looks"]
    return [
        Line(str(attrs["title"]), TITLE),
        *(Line(text, FINDING) for text in (winner_sentence(results), *weather_sentences(results))),
        Line(f"{PD_WORDS}; its mean is over the fence of a yard.", NOTE),
        Line(" · ".join(ran), NOTE),
        *([Line(_record_words(results), NOTE)] if "weather_source" in attrs else []),
        *_ranks(results),
        *_fronts(results),
        *_trust(results),
        *written_lines(files, left),
    ]


def _record_words(results: xr.Dataset) -> str:
    return (
        f"Record: {results.attrs['weather_source']}. Every yard and every design meets the same hours of it, sorted into "
        "classes; what other years would bring is in no interval."
    )


def _ranks(results: xr.Dataset) -> list[Block]:
    confidence = float(results.attrs["confidence"])
    columns = [("class", UNBROKEN), ("rank", RIGHT), ("range", RIGHT), ("design", LEFT), ("mean Pd", RIGHT)]
    columns += [("above the next", RIGHT), ("sure", LEFT), ("first", RIGHT)]
    rows = []
    for k, name in enumerate(str(w) for w in results["weather"].values):
        for place, row in enumerate(standings(results, k)):
            gap, apart = "", ""
            if not math.isnan(row.gap):
                gap, apart = gap_words(row.gap, row.gap_low, row.gap_high), "yes" if distinguishable(row, confidence) else "no"
            rows.append(
                [name if place == 0 else "", f"{row.rank:.0f}", f"{row.rank_low:.0f} to {row.rank_high:.0f}", row.design]
                + [mean_pd_words(row.pd), gap, apart, percent(row.first_share)]
            )
    sure = confidence_text(confidence)
    return [
        Heading(f"By weather, with at most {allowance_words(results)}"),
        Table.of(columns, rows),
        Line(
            f"Means are over the {common_yards(results)} yards on which all that are ranked have a layout. Range: ranks that the "
            "paired differences leave open; sure: distinguishable from the next; both by Student's t over yards, adjusted for "
            f"all pairs and classes together (Holm, {sure}). Above the next: paired difference of mean Pd with its own {sure} "
            "interval, not adjusted. First: in how many of 2,000 resampled sets of yards; it describes these yards and is no "
            "test.",
            NOTE,
        ),
    ]


def _fronts(results: xr.Dataset) -> list[Block]:
    priced = bool(np.isfinite(results["cost"].values).any())
    columns = [("allowed", LEFT), ("design", UNBROKEN), ("yards", RIGHT), ("cameras", RIGHT)]
    columns += [("cost", RIGHT)] if priced else []
    columns += [("mean Pd", RIGHT), ("weak m", RIGHT), ("undecided m", RIGHT), ("weakest Pd", RIGHT)]
    rows, above = [], ""
    for row in front_rows(results):
        cells = [row["allowed"] if row["allowed"] != above else "", row["design"], f"{row['yards']}", f"{row['cameras']:.1f}"]
        cells += [whole(row["cost"])] if priced else []
        above = row["allowed"]
        cells += [mean_pd_words(row["mean_pd"]), whole(row["weak_m"]), whole(row["undecided_m"]), pd_text(row["weakest_pd"])]
        rows.append(cells)
    return [
        Heading("What it takes: means over the yards that all ranked designs share"),
        Table.of(columns, rows),
        Line(
            f"Metres: mean over {span_words(results)}, classes weighted by hours; weakest Pd: of the lowest segment in the "
            "class in which it is lowest, fresh crossings, mean over yards.",
            NOTE,
        ),
    ]


def front_rows(results: xr.Dataset) -> list[dict]:
    """One row for every allowance and design that has a layout somewhere: means over the yards that the ranked designs share, so
    that rows can be compared; a design that is not ranked over its own yards."""
    rows = []
    for a in range(results.sizes["allowance"]):
        at = results.isel(allowance=a, weather=-1)
        names = iter(str(name) for name in results["design"].values)
        shared = common(by_design(results)[a])[1]
        for s in range(results.sizes["strategy"]):
            for lens in range(results.sizes["lens"]):
                one, name = at.isel(strategy=s, lens=lens), next(names)
                known = ~np.isnan(one["mean_pd"].values)
                ranked = bool((known & shared).any() and known[shared].all())
                if known.any():
                    known = shared if ranked else known
                    means = {k: float(one[k].values[known].mean()) for k in _MEANS}
                    rows.append(
                        {
                            "allowed": allowance_words(results, a),
                            "design": name,
                            "yards": int(known.sum()),
                            "ranked": ranked,
                            **means,
                        }
                    )
    return rows


def _trust(results: xr.Dataset) -> list[Block]:
    attrs = results.attrs
    invented = int(attrs["invented_yards"])
    yards = "the yards that the generator could draw" if invented else "yards like these, as if these had been drawn at random"
    chosen = " It was chosen as the best of this study, which flatters it a little; what is sure allows for that."
    lines = [
        f"Intervals are over yards: they speak of {yards}, and include the noise of the crossings. All layouts of a yard meet "
        "the same crossings; yards are independent.",
        f"In the file, differences are from {attrs['base']}." + (chosen if attrs["base_chosen"] else ""),
        "Strategies are judged by the same model: what it leaves out, or has wrong for all, mostly cancels, but not where "
        "layouts differ in it.",
    ]
    return [
        Heading("How far to trust it"),
        *(Line(line) for line in lines),
        *limit_lines(limits_of(attrs), str(attrs["caution"])),
    ]


def study_object(results: xr.Dataset, files: list[str]) -> dict:
    """The object of `fencecast study --json`."""
    attrs = results.attrs
    confidence = float(attrs["confidence"])
    by_weather = []
    for k, name in enumerate(str(w) for w in results["weather"].values):
        rows = [vars(row) | {"distinguishable_from_next": distinguishable(row, confidence)} for row in standings(results, k)]
        by_weather.append({"weather": name, "hours": float(results["weather_hours"].values[k]), "designs": rows})
    return {
        "title": attrs["title"],
        "version": attrs["version"],
        "seed": attrs["seed"],
        "yards": results.sizes["yard"],
        "allowance": allowance_words(results),
        "crossings": attrs["crossings_total"],
        "looks": attrs["looks_total"],
        "confidence": confidence,
        "base": attrs["base"],
        "ranked_by": f"mean Pd over {span_words(results)}",
        "record": attrs.get("weather_source"),
        "sentence": winner_sentence(results),
        "weather_sentences": weather_sentences(results),
        "ranks": by_weather,
        "fronts": front_rows(results),
        "files": files,
        **limits_object(attrs),
    }

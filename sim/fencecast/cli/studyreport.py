"""What `fencecast study` prints: who wins, by weather, at which cost, and how far to trust it."""

from __future__ import annotations

import math

import numpy as np

from fencecast.cli.layout import LEFT, RIGHT, WHOLE, heading, paragraph, styled, table, written
from fencecast.findings.study import (
    allowance_words,
    gap_words,
    mean_pd_words,
    percent,
    standings,
    told_apart,
    weather_sentences,
    winner_sentence,
)
from fencecast.findings.words import pd_text, whole


def study_report(results, files: list[str], left: list[str]) -> list:
    """The parts of the report, top to bottom, for `output.say`."""
    attrs = results.attrs
    parts = [styled(str(attrs["title"]), "bold"), styled(winner_sentence(results), "bold")]
    parts += [styled(text, "bold") for text in weather_sentences(results)]
    ran = [f"seed {attrs['seed']}", f"{results.sizes['yard']:,} yards, {whole(results['fence_m'].values.sum())} m of fence"]
    ran += [f"{attrs['crossings_total']:,} crossings", f"{attrs['looks_total']:,} looks"]
    parts.append(paragraph(" · ".join(ran), "dim"))
    parts += [*_ranks(results), *_fronts(results), *_trust(results), written(files)]
    if left:
        parts.append(paragraph(f"Left as they are, because they changed since fencecast wrote them: {', '.join(left)}"))
    return parts


def _ranks(results) -> list:
    confidence = float(results.attrs["confidence"])
    parts = [heading(f"By weather, at {allowance_words(results)}")]
    columns = [("class", WHOLE), ("rank", RIGHT), ("range", RIGHT), ("design", WHOLE), ("mean Pd", RIGHT)]
    columns += [("above the next", RIGHT), ("told apart", LEFT), ("first", RIGHT)]
    rows = []
    for k, name in enumerate(str(w) for w in results["weather"].values):
        for place, row in enumerate(standings(results, k)):
            gap, apart = "", ""
            if not math.isnan(row.gap):
                gap, apart = gap_words(row.gap, row.gap_low, row.gap_high), "yes" if told_apart(row, confidence) else "no"
            rows.append(
                [name if place == 0 else "", f"{row.rank:.0f}", f"{row.rank_low:.0f} to {row.rank_high:.0f}", row.design]
                + [mean_pd_words(row.pd), gap, apart, percent(row.first_share)]
            )
    percent_words = f"{100 * confidence:g} %"
    return [
        *parts,
        table(columns, rows),
        paragraph(
            f"Range: place in the middle {percent_words} of 2,000 resampled sets of yards; first: in how many of them it comes "
            f"first. Above the next: paired difference of mean Pd, Student's t interval over yards ({percent_words}). Told "
            "apart: judged for all pairs and classes together (Holm).",
            "dim",
        ),
    ]


def _fronts(results) -> list:
    columns = [("allowed", LEFT), ("design", WHOLE), ("yards", RIGHT), ("cameras", RIGHT), ("cost", RIGHT), ("mean Pd", RIGHT)]
    columns += [("weak m", RIGHT), ("undecided m", RIGHT), ("weakest Pd", RIGHT)]
    priced = bool(np.isfinite(results["cost"].values).any())
    rows, above = [], ""
    for row in front_rows(results):
        cells = [
            row["allowed"] if row["allowed"] != above else "",
            row["design"],
            f"{row['yards']}",
            f"{row['cameras']:.1f}",
            whole(row["cost"]) if priced else "",
        ]
        above = row["allowed"]
        cells += [mean_pd_words(row["mean_pd"]), whole(row["weak_m"]), whole(row["undecided_m"]), pd_text(row["weakest_pd"])]
        rows.append(cells)
    if not priced:
        rows, columns = [[*r[:4], *r[5:]] for r in rows], [c for c in columns if c[0] != "cost"]
    return [
        heading("What it takes: means over the yards on which the design has a layout"),
        table(columns, rows),
        paragraph("Metres by hours of the year; weakest Pd: of the lowest segment in the worst class, fresh crossings.", "dim"),
    ]


def front_rows(results) -> list[dict]:
    """One row for every allowance and design that has a layout somewhere: means over its yards."""
    rows = []
    for a in range(results.sizes["allowance"]):
        at = results.isel(allowance=a, weather=-1)
        names = iter(str(name) for name in results["design"].values)
        for s in range(results.sizes["strategy"]):
            for lens in range(results.sizes["lens"]):
                one, name = at.isel(strategy=s, lens=lens), next(names)
                known = ~np.isnan(one["mean_pd"].values)
                if known.any():
                    means = {k: float(one[k].values[known].mean()) for k in
                             ("cameras", "cost", "mean_pd", "weak_m", "undecided_m", "weakest_pd")}  # fmt: skip
                    rows.append({"allowed": allowance_words(results, a), "design": name, "yards": int(known.sum()), **means})
    return rows


def _trust(results) -> list:
    attrs = results.attrs
    invented = int(attrs["invented_yards"])
    yards = "the yards that the generator could draw" if invented else "yards like these, as if these had been drawn at random"
    limits = [line.strip() for line in str(attrs["not_modelled"]).split("\n") if line.strip()]
    chosen = " It was chosen as the best of this study, which flatters it a little; told apart allows for that."
    lines = [
        f"Intervals are over yards: they speak of {yards}, and hold the noise of the crossings too. All layouts of a yard meet "
        "the same crossings; yards are independent.",
        f"In the file differences are against {attrs['base']}." + (chosen if attrs["base_chosen"] else ""),
        "Strategies are judged by the same model: what it leaves out, or has wrong for all, mostly cancels, but not where "
        "layouts differ in it.",
    ]
    return [
        heading("How far to trust it"),
        *(paragraph(line) for line in lines),
        paragraph("Not modelled or uncertain: " + " ".join(limits), "dim"),
        styled(str(attrs["caution"]), "bold"),
    ]


def study_summary(results, files: list[str]) -> dict:
    """The object of `fencecast study --json`."""
    attrs = results.attrs
    confidence = float(attrs["confidence"])
    by_weather = []
    for k, name in enumerate(str(w) for w in results["weather"].values):
        rows = [vars(row) | {"told_apart_from_next": told_apart(row, confidence)} for row in standings(results, k)]
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
        "sentence": winner_sentence(results),
        "weather_sentences": weather_sentences(results),
        "ranks": by_weather,
        "fronts": front_rows(results),
        "files": files,
        "caution": attrs["caution"],
    }

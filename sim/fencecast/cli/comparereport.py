"""What `fencecast compare` prints: which design is better where, by weather and in all, and how far to trust it."""

from __future__ import annotations

import math

from fencecast.cli.layout import LEFT, RIGHT, WHOLE, heading, paragraph, styled, table, written
from fencecast.decide.compare.designs import as_run
from fencecast.estimate.places import record_years, told_hours
from fencecast.estimate.results import Results
from fencecast.findings.comparison import (
    class_findings,
    holm_metres,
    lowest_of,
    plain_sentence,
    takeovers,
    year_metres,
)
from fencecast.findings.words import hours_heading, interval_text, whole

_WORDS = ("better", "worse", "equivalent", "undecided")


def compare_report(results, files: list[str], left: list[str]) -> list:
    """The parts of the report, top to bottom, for `output.say`."""
    attrs = results.attrs
    run = Results.of(as_run(results, 0))
    names = [str(name) for name in results["variant"].values]
    parts = [styled(str(attrs["title"]), "bold")]
    parts += [styled(plain_sentence(results, k), "bold") for k in range(len(names) - 1)]
    ran = [f"seed {attrs['seed']}", f"{attrs['crossings_total']:,} crossings through each of {len(names)} designs"]
    ran += [f"{attrs['looks_total']:,} looks", f"{float(attrs['seconds']):.1f} s"]
    parts.append(paragraph(" · ".join(ran), "dim"))
    if "weather_source" in attrs:
        parts.append(paragraph(f"Record: {attrs['weather_source']}; every design meets the same hours of it.", "dim"))
    for k in range(len(names) - 1):
        parts += _pair(results, k, names)
    parts += [*_designs(results, names), *_axis(results, names), *_trust(results, run)]
    parts.append(written(files))
    if left:
        parts.append(paragraph(f"Left as they are, because they changed since fencecast wrote them: {', '.join(left)}"))
    return parts


def _pair(results, compared: int, names: list[str]) -> list:
    base, name, years = names[0], names[compared + 1], record_years(results)
    columns = [("class", LEFT), (hours_heading(years), RIGHT)]
    columns += [("equal" if word == "equivalent" else word, RIGHT) for word in _WORDS]
    columns += [("to the requirement", RIGHT), ("to weak", RIGHT), ("change of mean Pd", RIGHT)]
    found = class_findings(results, compared)
    missing = any(c.metres["no data"] for c in found)
    rows = []
    for c in found:
        row = [c.name, whole(told_hours(c.hours, years)), *(whole(c.metres[word]) for word in _WORDS)]
        rows.append([*row, whole(c.turned_to_meets_m), whole(c.turned_weak_m), change_text(c.mean, c.low, c.high)])
    year = year_metres(results, compared)
    if sum(year[word] for word in _WORDS) > 0.0:
        hours = sum(c.hours for c in found)
        rows.append(["in all, by hours", whole(told_hours(hours, years)), *(whole(year[word]) for word in _WORDS), "", "", ""])
    confidence = f"{100 * float(results.attrs['confidence']):g} %"
    better, worse = holm_metres(results, compared)
    lines = [
        f"Better, worse: the whole paired {confidence} interval of a metre's difference is above, below zero; equal: inside "
        f"±{float(results.attrs['margin']):g}. To meets: weak with {base}, meets with {name}; to weak: the other way.",
        f"Metre by metre, {100 - 100 * float(results.attrs['confidence']):.3g} of 100 equal ones may look different by chance. "
        f"Judged for all cells together (Holm), {whole(better)} m are better in some class and {whole(worse)} m worse.",
    ]
    if missing:
        lines.append("Metres that no rule watches have no data and are left out.")
    return [
        heading(f"{name} against {base}: metres by weather class"),
        table(columns, rows),
        *(paragraph(t, "dim") for t in lines),
    ]


def change_text(mean: float, low: float, high: float) -> str:
    """'+0.041 ±0.006', the half width of its interval; 'no data' when there is none."""
    return "no data" if math.isnan(mean) else f"{signed(mean)} ±{0.5 * (high - low):.3f}"


def signed(value: float) -> str:
    """Three decimals with a sign; 0.000 without one."""
    return f"{value:+.3f}".replace("-", "−") if abs(value) >= 0.0005 else "0.000"


def _designs(results, names: list[str]) -> list:
    prices, noise = results["price"].values, results["noise_alarms_per_day"].values
    priced = not all(math.isnan(price) for price in prices)
    columns = [("design", LEFT), ("weakest place", WHOLE), ("in", LEFT), ("Pd", RIGHT)]
    columns += [("price", RIGHT)] if priced else []
    columns += [("noise-only alarms a day", RIGHT)]
    rows = []
    for k, name in enumerate(names):
        lowest = lowest_of(results, k)
        row = [name, "no data", "", ""]
        if lowest is not None:
            row = [name, lowest.code, lowest.weather, interval_text(lowest.pd, lowest.low, lowest.high)]
        row += [("not all given" if math.isnan(prices[k]) else f"{prices[k]:,.0f}")] if priced else []
        rows.append([*row, "<0.001" if noise[k] < 0.001 else f"{noise[k]:,.3g}"])
    run = Results.of(as_run(results, 0))
    letters = ", ".join(f"{s.letter} {s.name}" for s in run.sections)
    lines = [f"Weakest places are told with fresh crossings, the same for all designs. Sections, metres along each: {letters}."]
    if priced:
        lines.append("Price: the cameras' own prices, in the unit of the site file. Noise: of the camera with the most.")
    return [heading("The designs"), table(columns, rows), *(paragraph(line, "dim") for line in lines)]


def _axis(results, names: list[str]) -> list:
    """Where one lens takes over from another on a camera's axis."""
    rows = []
    for k, name in enumerate(names[1:]):
        for c in class_findings(results, k):
            ends = [results[f"pd_distance_difference{end}"].values[k, c.index] for end in ("", "_low", "_high")]
            for t in takeovers(results["distance"].values, *ends):
                near, far = (names[0], name) if t.up else (name, names[0])
                rows.append([c.name, f"{near} up to {t.after:g} m", f"{far} from {t.before:g} m", f"about {t.at:.0f} m"])
    if not rows:
        return []
    return [
        heading("On a camera's axis: where one takes over"),
        table([("class", LEFT), ("better near", WHOLE), ("better far", WHOLE), ("equal at", WHOLE)], rows),
        paragraph("Ground distance from the mast, for one camera with the lens at its median height and depression.", "dim"),
    ]


def _trust(results, run) -> list:
    attrs = results.attrs
    gain = float(attrs["pairing_gain"])
    lines = []
    if math.isfinite(gain):
        lines.append(
            f"Pairing: the standard error of a difference is {gain:.1f} times smaller than two runs on crossings of their own "
            "would have given (median over cells)."
        )
    lines.append(
        "Both designs are held to the same model: what it leaves out, or has wrong for both, mostly cancels, but not where the "
        "designs differ in it."
    )
    limits = [line.strip() for line in str(attrs["not_modelled"]).split("\n") if line.strip()]
    return [
        heading("How far to trust it"),
        *(paragraph(line) for line in lines),
        paragraph("Not modelled or uncertain: " + " ".join(limits), "dim"),
        styled(str(attrs["caution"]), "bold"),
    ]


def compare_summary(results, files: list[str]) -> dict:
    """The object of `fencecast compare --json`."""
    attrs = results.attrs
    names = [str(name) for name in results["variant"].values]
    designs = []
    for k, name in enumerate(names):
        lowest = lowest_of(results, k)
        weakest = lowest and {key: getattr(lowest, key) for key in ("code", "weather", "segment", "pd", "low", "high")}
        price, noise = float(results["price"].values[k]), float(results["noise_alarms_per_day"].values[k])
        designs.append({"name": name, "price": price, "weakest": weakest, "noise_alarms_per_day": noise})
    return {
        "title": attrs["title"],
        "version": attrs["version"],
        "seed": attrs["seed"],
        "crossings": attrs["crossings_total"],
        "looks": attrs["looks_total"],
        "seconds": attrs["seconds"],
        "confidence": attrs["confidence"],
        "margin": attrs["margin"],
        "base": names[0],
        "designs": designs,
        "record_years": attrs.get("period_years"),
        "comparisons": [_comparison(results, k, name) for k, name in enumerate(names[1:])],
        "files": files,
        "caution": attrs["caution"],
    }


def _comparison(results, compared: int, name: str) -> dict:
    classes = [
        {
            "name": c.name,
            "hours": c.hours,
            **{f"{word.replace(' ', '_')}_m": metres for word, metres in c.metres.items()},
            "turned_to_meets_m": c.turned_to_meets_m,
            "turned_weak_m": c.turned_weak_m,
            "mean_difference": c.mean,
            "mean_difference_low": c.low,
            "mean_difference_high": c.high,
        }
        for c in class_findings(results, compared)
    ]
    year = {f"{word.replace(' ', '_')}_m": metres for word, metres in year_metres(results, compared).items()}
    better, worse = holm_metres(results, compared)
    return {
        "variant": name,
        "sentence": plain_sentence(results, compared),
        "year": year,
        "holm_better_m": better,
        "holm_worse_m": worse,
        "classes": classes,
    }

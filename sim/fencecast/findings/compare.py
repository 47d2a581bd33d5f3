"""What `fencecast compare` says: which design is better where, by weather and in all, and how far to trust it."""

from __future__ import annotations

import math

import numpy as np

from fencecast.estimate.places import stated_hours
from fencecast.estimate.results import Results
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
from fencecast.findings.comparealarms import alarms_blocks, alarms_object, alarms_sentence, has_alarms
from fencecast.findings.comparison import (
    BETTER,
    EQUIVALENT,
    NO_DATA,
    NOT_DISTINGUISHABLE,
    WORSE,
    class_findings,
    holm_metres,
    lowest_of,
    plain_sentence,
    run_of,
    takeovers,
    variant_names,
    year_metres,
)
from fencecast.findings.limits import PD_WORDS, limit_lines, limits_object, limits_of
from fencecast.findings.nuisancewords import noise_note
from fencecast.findings.words import change_text, confidence_text, hours_heading, interval_text, rate_text, whole

# Columns of the table and keys of the object, by the verdict of two designs.
_HEADS = {BETTER: "better", WORSE: "worse", EQUIVALENT: "equivalent", NOT_DISTINGUISHABLE: "not\ndistinguishable"}
_KEYS = {BETTER: "better_m", WORSE: "worse_m", EQUIVALENT: "equivalent_m", NOT_DISTINGUISHABLE: "not_distinguishable_m",
         NO_DATA: "no_data_m"}  # fmt: skip

# Below this many times narrower, nothing is said to be gained (judgement).
_NARROWER = 1.1


def compare_blocks(results: Results, files: list[str], left: list[str]) -> list[Block]:
    """The report, top to bottom."""
    attrs, names = results.attrs, variant_names(results)
    blocks: list[Block] = [Line(str(attrs["title"]), TITLE)]
    for k in range(len(names) - 1):
        said = (plain_sentence(results, k), alarms_sentence(results, k))
        blocks += [Line(text, FINDING) for text in said if text]
    ran = [f"seed {attrs['seed']}", f"{attrs['crossings_total']:,} crossings through each of {len(names)} designs"]
    ran += [f"{attrs['looks_total']:,} looks", f"{float(attrs['seconds']):.1f} s"]
    blocks += [Line(f"{PD_WORDS}; designs are compared by it, metre by metre.", NOTE), Line(" · ".join(ran), NOTE)]
    if "weather_source" in attrs:
        blocks.append(Line(f"Record: {attrs['weather_source']}; every design meets the same hours of it.", NOTE))
    for k in range(len(names) - 1):
        blocks += [*pair_blocks(results, k), *alarms_blocks(results, k)]
    return [*blocks, *_designs(results, names), *_axis(results, names), *_trust(results), *written_lines(files, left)]


def pair_blocks(results: Results, compared: int) -> list[Block]:
    """One variant (its number after the base) against the base: heading, metres by verdict and class, what the words mean."""
    names = variant_names(results)
    base, name, years = names[0], names[compared + 1], results.years
    columns = [("class", LEFT), (hours_heading(years), RIGHT), *((head, RIGHT) for head in _HEADS.values())]
    columns += [("now\nmeets", RIGHT), ("now\nweak", RIGHT), ("change of\nmean Pd", RIGHT)]
    found = class_findings(results, compared)
    rows = []
    for c in found:
        row = [c.name, whole(stated_hours(c.hours, years)), *(whole(c.metres[word]) for word in _HEADS)]
        rows.append([*row, whole(c.turned_to_meets_m), whole(c.turned_weak_m), change_text(c.mean, c.low, c.high)])
    year = year_metres(results, compared)
    if sum(year[word] for word in _HEADS) > 0.0:
        hours = sum(c.hours for c in found)
        rows.append(["in all, by hours", whole(stated_hours(hours, years)), *(whole(year[word]) for word in _HEADS), "", "", ""])
    better, worse = holm_metres(results, compared)
    lines = [
        f"Better, worse: the paired {confidence_text(results.confidence)} interval of a metre's difference lies above, below "
        f"zero; equivalent: inside ±{float(results.attrs['margin']):g}; else not distinguishable. Now meets: metres that are "
        f"weak with {base} and meet the requirement with {name}; now weak: the other way.",
        f"Metre by metre, {100 - 100 * results.confidence:.3g} of 100 alike may look different by chance. Judged for every "
        f"segment in every weather class together (Holm), {whole(better)} m are better in some class and {whole(worse)} m worse.",
    ]
    if any(c.metres[NO_DATA] for c in found):
        lines.append("Metres that no rule watches have no data and are left out.")
    return [
        Heading(f"{name} compared with {base}: metres by weather class"),
        Table.of(columns, rows),
        *(Line(text, NOTE) for text in lines),
    ]


def _designs(results: Results, names: list[str]) -> list[Block]:
    prices, noise = results["price"].values, results["noise_alarms_per_day"].values
    priced = not all(math.isnan(price) for price in prices)
    columns = [("design", LEFT), ("weakest place", UNBROKEN), ("in", LEFT), ("Pd", RIGHT)]
    columns += [("price", RIGHT)] if priced else []
    columns += [("false alarms a day", RIGHT)]
    rows = []
    for k, name in enumerate(names):
        lowest = lowest_of(results, k)
        row = [name, "no data", "", ""]
        if lowest is not None:
            row = [name, lowest.code, lowest.weather, interval_text(lowest.pd, lowest.low, lowest.high)]
        row += [("not all given" if math.isnan(prices[k]) else f"{prices[k]:,.0f}")] if priced else []
        rows.append([*row, rate_text(float(noise[k]))])
    letters = ", ".join(f"{s.letter} {s.name}" for s in run_of(results, 0).sections)
    lines = [
        f"Weakest places have the numbers of fresh crossings, the same for all designs. Sections, metres along each: {letters}.",
        f"False alarms: from sensor noise alone, of the camera with the most. {noise_note(results.attrs)}",
    ]
    if priced:
        lines.append("Price: the cameras' own prices, in the unit of the site file.")
    return [Heading("The designs"), Table.of(columns, rows), *(Line(text, NOTE) for text in lines)]


def _axis(results: Results, names: list[str]) -> list[Block]:
    """Where one lens takes over from another on a camera's axis."""
    rows = []
    for k, name in enumerate(names[1:]):
        for c in class_findings(results, k):
            ends = [results.at(f"pd_distance_difference{end}", compared=k, weather=c.index) for end in ("", "_low", "_high")]
            # Where both lenses see next to nothing, a difference within the margin is no taking over.
            matters = np.abs(ends[0]) >= float(results.attrs["margin"])
            ends[1], ends[2] = np.where(matters, ends[1], -1.0), np.where(matters, ends[2], 1.0)
            for t in takeovers(results["distance"].values, *ends):
                near, far = (names[0], name) if t.up else (name, names[0])
                rows.append([c.name, f"{near} up to {t.after:g} m", f"{far} from {t.before:g} m", f"about {t.at:.0f} m"])
    if not rows:
        return []
    return [
        Heading("On a camera's axis: where one takes over"),
        Table.of([("class", LEFT), ("better near", UNBROKEN), ("better far", UNBROKEN), ("the same at", UNBROKEN)], rows),
        Line(
            "Ground distance from the camera, for one camera with the lens at its median height and depression; better by "
            f"{float(results.attrs['margin']):g} or more.",
            NOTE,
        ),
    ]


def _trust(results: Results) -> list[Block]:
    attrs = results.attrs
    gain = float(attrs["pairing_gain"])
    lines = []
    if math.isfinite(gain):
        apart = "two runs on crossings of their own would have given (median over every segment in every weather class)"
        lines.append(
            f"Pairing: the interval of a difference is {gain:.1f} times narrower than {apart}."
            if gain >= _NARROWER
            else f"Pairing: the interval of a difference is hardly narrower than {apart}: what few crossings can miss rules both."
        )
    lines.append(
        "All designs are judged by the same model: what it leaves out, or has wrong for all, mostly cancels, but not where the "
        "designs differ in it."
    )
    return [
        Heading("How far to trust it"),
        *(Line(line) for line in lines),
        *limit_lines(limits_of(attrs), str(attrs["caution"])),
    ]


def compare_object(results: Results, files: list[str]) -> dict:
    """The object of `fencecast compare --json`."""
    attrs, names = results.attrs, variant_names(results)
    designs = []
    for k, name in enumerate(names):
        lowest = lowest_of(results, k)
        weakest = lowest and {key: getattr(lowest, key) for key in ("code", "weather", "segment", "pd", "low", "high")}
        price, noise = (float(results.at(key, variant=k)) for key in ("price", "noise_alarms_per_day"))
        designs.append({"name": name, "price": price, "weakest": weakest, "noise_alarms_per_day": noise})
        designs[-1]["nuisance_per_night"] = float(results.at("alarms_year", variant=k)) if has_alarms(results) else None
    return {
        "title": attrs["title"],
        "version": attrs["version"],
        "seed": attrs["seed"],
        "crossings": attrs["crossings_total"],
        "looks": attrs["looks_total"],
        "seconds": attrs["seconds"],
        "confidence": attrs["confidence"],
        "margin": attrs["margin"],
        "nuisance_margin": attrs.get("nuisance_margin"),
        "base": names[0],
        "designs": designs,
        "record_years": attrs.get("period_years"),
        "comparisons": [_comparison(results, k, name) for k, name in enumerate(names[1:])],
        "files": files,
        **limits_object(attrs),
    }


def _comparison(results: Results, compared: int, name: str) -> dict:
    classes = [
        {
            "name": c.name,
            "hours": c.hours,
            **{key: c.metres[word] for word, key in _KEYS.items()},
            "turned_to_meets_m": c.turned_to_meets_m,
            "turned_weak_m": c.turned_weak_m,
            "mean_difference": c.mean,
            "mean_difference_low": c.low,
            "mean_difference_high": c.high,
        }
        for c in class_findings(results, compared)
    ]
    year = year_metres(results, compared)
    better, worse = holm_metres(results, compared)
    return {
        "variant": name,
        "sentence": plain_sentence(results, compared),
        "year": {key: year[word] for word, key in _KEYS.items()},
        "nuisance": alarms_object(results, compared),
        "holm_better_m": better,
        "holm_worse_m": worse,
        "classes": classes,
    }

"""What `fencecast weather` prints: the record and its holes, the armed hours, and the hours of each class."""

from __future__ import annotations

import numpy as np

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.cli.layout import LEFT, RIGHT, heading, paragraph, styled, table, written
from fencecast.cli.output import plain
from fencecast.findings.words import feet, whole
from fencecast.meteorology.sorting import RULES, class_of_hours
from fencecast.meteorology.year import LEAST_YEARS, Year
from fencecast.show.year.weathersummary import TYPICAL_YEARS, weather_title

MOST_PROBLEMS = 12
# What an hour is made of, by the words of the report; one of several fields is enough.
NEEDED = {
    "air temperature": ("air_temperature_c",),
    "humidity": ("relative_humidity",),
    "wind": ("wind_m_s",),
    "visibility": ("visibility_m",),
    "rain or snow": ("rain_mm_h", "snow_mm_h", "precipitation_mm_h"),
    "cloud": ("cloud",),
}


def weather_summary(year: Year, site, files: list[str]) -> dict:
    """The object of --json; hours of classes are those of the record, and hours_per_year are divided by its years."""
    records, counted = year.records, year.counted
    index = class_of_hours(year)
    classes = [
        {
            "name": rule.name,
            "rule": rule.words,
            "hours": int(np.count_nonzero(index == k)),
            "hours_per_year": np.count_nonzero(index == k) / year.period_years,
            **{f"median_{name}": _median(year.middle[name], index == k) for name in _MEDIANS},
        }
        for k, rule in enumerate(RULES)
        if np.any(index == k)
    ]
    lacking = {
        words: int(np.count_nonzero(year.armed & np.all([np.isnan(records.values[field]) for field in fields], axis=0)))
        for words, fields in NEEDED.items()
    }
    return plain(
        {
            "title": site.title,
            "version": __version__,
            "source": records.source,
            "years": year.period_years,
            "armed": armed_words(site),
            "hours": {
                "record": len(records.time),
                "armed": int(np.count_nonzero(year.armed)),
                "known": int(np.count_nonzero(counted)),
                "least_share": site.weather_file.least_share,
            },
            "armed_hours_without": lacking,
            "visibility_cap_m": records.visibility_cap_m,
            "problems": [
                {"row": problem.row, "field": problem.field, "value": str(problem.value), "why": problem.why}
                for problem in records.problems
            ],
            "classes": classes,
            "finding": weather_title(year),
            "note": TYPICAL_YEARS,
            "files": files,
            "caution": CAUTION,
        }
    )


_MEDIANS = ("visibility_m", "air_temperature_c", "contrast_k")


def _median(values: np.ndarray, hours: np.ndarray) -> float:
    known = values[hours & np.isfinite(values)]
    return float(np.median(known)) if len(known) else float("nan")


def armed_words(site) -> str:
    """When the system is armed, as the site file says it."""
    armed = site.armed
    if armed is None or (armed.hours is None and armed.sun_below_deg is None):
        return "always"
    parts = []
    if armed.hours is not None:
        hours = armed.hours
        by_days = hours if isinstance(hours, dict) else {"": hours}
        spans = "; ".join(f"{days} {', '.join(each)}".strip() for days, each in by_days.items())
        parts.append(f"{spans} ({armed.time_zone or 'local standard time'})")
    if armed.sun_below_deg is not None:
        parts.append(f"sun below {armed.sun_below_deg:g} degrees".replace("-", "−"))
    return " and ".join(parts)


def weather_report(summary: dict, site) -> list:
    """The parts of the report for `output.say`; summary: the object of `weather_summary`."""
    hours = summary["hours"]
    armed, known = hours["armed"], hours["known"]
    share = f" ({100.0 * known / armed:.1f} %; asked for: {100.0 * hours['least_share']:g} %)" if armed else ""
    parts = [
        styled(summary["title"], "bold"),
        styled(summary["finding"], "bold"),
        paragraph(f"Record: {summary['source']}."),
        paragraph(f"Armed: {summary['armed']}. Only armed hours count."),
        paragraph(f"{hours['record']:,} hours in the record, {armed:,} of them armed; enough is known of {known:,}{share}."),
    ]
    if summary["visibility_cap_m"]:
        cap = f"{summary['visibility_cap_m']:,.0f} m"
        parts.append(paragraph(f"A visibility of {cap} means this or more: the station counts no farther."))
    lacking = [f"{words} {count:,}" for words, count in summary["armed_hours_without"].items() if count]
    if lacking:
        parts.append(paragraph(f"Armed hours without: {', '.join(lacking)}."))
    return [
        *parts,
        *_classes(summary, site.units),
        *_problems(summary["problems"]),
        paragraph(f"\n{summary['note']}"),
        written(summary["files"]),
        styled(CAUTION, "bold"),
    ]


def _classes(summary: dict, units: str) -> list:
    def both(value, text: str, second) -> str:
        if value is None:
            return "-"
        return (text + (f"\n{second(value)}" if units == "us" else "")).replace("-", "−")

    a_year = summary["years"] >= LEAST_YEARS
    rows = []
    for each in summary["classes"]:
        visibility, air, contrast = (each[f"median_{name}"] for name in _MEDIANS)
        rows.append(
            [
                each["name"],
                whole(each["hours_per_year"] if a_year else each["hours"]),
                both(visibility, f"{visibility or 0.0:,.0f} m", lambda v: f"{feet(v):,.0f} ft"),
                both(air, f"{air or 0.0:.1f} °C", lambda v: f"{v * 1.8 + 32.0:.0f} °F"),
                both(contrast, f"{contrast or 0.0:+.1f} K", lambda v: f"{v * 1.8:+.1f} °F"),
                each["rule"],
            ]
        )
    total = sum(each["hours_per_year" if a_year else "hours"] for each in summary["classes"])
    rows.append(["all", whole(total), "", "", "", ""])
    columns = [("class", LEFT), ("h/yr" if a_year else "hours", RIGHT), ("range", RIGHT), ("air", RIGHT), ("contrast", RIGHT)]
    columns.append(("rule", LEFT))
    words = "Medians of each class's armed hours. Contrast: a walker's clothing with the ground, at no distance. An hour is in "
    words += "the first class whose rule holds."
    return [heading("Weather classes"), table(columns, rows), paragraph(words, "dim")]


def _problems(problems: list[dict]) -> list:
    if not problems:
        return [heading("Problems of the record"), paragraph("None: every value was taken as it stands.")]
    said = [
        f"{'the file' if p['row'] is None else 'line ' + format(p['row'], ',')}: {p['field']} {p['value']}: {p['why']}"
        for p in problems[:MOST_PROBLEMS]
    ]
    if len(problems) > MOST_PROBLEMS:
        said.append(f"and {len(problems) - MOST_PROBLEMS:,} more notes; --json lists all")
    return [heading("Problems of the record"), *(paragraph(line) for line in said)]

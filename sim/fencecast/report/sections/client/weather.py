"""Client edition, in which weather: metres, lowest Pd and main cause of every class, without where."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.diagnosis import counted_classes
from fencecast.estimate.places import ClassSummary, verdict_metres
from fencecast.estimate.results import Results
from fencecast.estimate.weakest import printed_numbers
from fencecast.findings.runfacts import lowest_segment
from fencecast.findings.titles import class_cause, over_year, plan_title, simulated_metres
from fencecast.findings.weakhours import weak_hours_summary
from fencecast.findings.words import confidence_text, hours_text, interval_text, metres_text, requirement_text, share_text, whole
from fencecast.findings.yeartitles import TYPICAL_YEARS
from fencecast.meteorology.year import LEAST_YEARS
from fencecast.report.sections.section import Body, Source
from fencecast.show.svg.bars import pd_dot_svg, share_bar_svg


@dataclass(frozen=True)
class WeatherRow:
    """One class, or the year: metres and numbers as printed; bar: metres by verdict, dot: the lowest Pd, both as SVG."""

    name: str
    hours: str
    weak: str
    undecided: str
    meets: str
    no_data: str
    bar: str
    lowest: str
    dot: str
    cause: str
    cause_share: str


@dataclass(frozen=True)
class ClientWeather:
    """caption of the table; missing: whether some metres have no data; rows worst first, then the year; hours: sentences of a
    site with hourly weather; notes: small print."""

    caption: str
    missing: bool
    rows: tuple[WeatherRow, ...]
    hours: tuple[str, ...]
    notes: tuple[str, ...]


def weather_of(source: Source) -> Body:
    """The section; without data anywhere its rows say so."""
    results = source.results
    classes = results.worst_first
    rows = [_class_row(results, c) for c in classes]
    if len(counted_classes(results)) > 1:
        rows.append(_year_row(results))
    fresh = any(
        printed_numbers(results, c.index, segment)[3]
        for c in classes
        if (segment := lowest_segment(results, c.index)) is not None
    )
    need = requirement_text(results.requirement)
    notes = [
        f"Weak, undecided, meets: the {confidence_text(results.confidence)} interval of a metre's Pd lies below, across or above "
        f"{need}. Bars: black weak, hatched undecided{', dotted no data' if _missing(results) else ''}. Dots: the lowest Pd of "
        f"any metre with its interval, from 0 to 1; dashed line: {need}."
    ]
    if fresh:
        notes.append("The lowest Pd of a class is from fresh crossings: the lowest of many estimates is too low by selection.")
    total = metres_text(float(np.sum(results.lengths_m)), results.units)
    facts = ClientWeather(
        caption=f"Metres of {total} by weather class, worst first",
        missing=_missing(results),
        rows=tuple(rows),
        hours=tuple(hour_lines(results)),
        notes=tuple(notes),
    )
    return Body("In which weather", f"{plan_title(results).rstrip('.')}." if simulated_metres(results) > 0.0 else "", facts)


def _missing(results: Results) -> bool:
    return bool((results["verdict"].values == "no data").any())


def _class_row(results: Results, c: ClassSummary) -> WeatherRow:
    segment = lowest_segment(results, c.index)
    numbers = (math.nan,) * 3 if segment is None else printed_numbers(results, c.index, segment)[:3]
    cause, share = class_cause(results, c.index)
    metres = {"weak": c.weak_m, "undecided": c.undecided_m, "meets": c.meets_m, "no data": c.no_data_m}
    told = cause or ("too few misses to tell" if segment is not None else "")
    return _row(results, c.name, hours_text(c.hours, c.years), metres, numbers, told, share_text(share) if cause else "")


def _year_row(results: Results) -> WeatherRow:
    pd = results.array("pd_year", "segment")
    numbers = (math.nan,) * 3
    if not np.isnan(pd).all():
        segment = int(np.nanargmin(pd))
        numbers = tuple(float(results.at(f"pd_year{end}", segment=segment)) for end in ("", "_low", "_high"))
    hours = sum(c.hours for c in results.summaries)
    metres = verdict_metres(results.year_verdicts, results.lengths_m)
    return _row(results, f"{over_year(results)}, by hours", hours_text(hours, results.years), metres, numbers, "", "")


def _row(results: Results, name: str, hours: str, metres: dict[str, float], numbers, cause: str, share: str) -> WeatherRow:
    text = {word: metres_text(metres[word], results.units) for word in metres}
    return WeatherRow(
        name=name,
        hours=hours,
        weak=text["weak"],
        undecided=text["undecided"],
        meets=text["meets"],
        no_data=text["no data"],
        bar=share_bar_svg(metres["weak"], metres["undecided"], metres["meets"], metres["no data"]).svg,
        lowest=interval_text(*numbers),
        dot=pd_dot_svg(*numbers, results.requirement).svg,
        cause=cause,
        cause_share=share,
    )


def hour_lines(results: Results) -> list[str]:
    """How many armed hours some metre is below the requirement, for a site with hourly weather: no month, no hour."""
    if "pd_state" not in results:
        return []
    found = weak_hours_summary(results)
    if found["weakest"] is None:
        return []
    years, need = found["record_years"], requirement_text(found["requirement"])
    per, span = (1.0, "a year") if years >= LEAST_YEARS else (years, "of the record")
    hours, low, high = (whole(per * found["anywhere"][f"hours{end}"]) for end in ("", "_low", "_high"))
    lines = [
        f"In {hours} of {whole(per * found['known_armed_hours'])} armed hours {span} some metre of the fence is below {need} "
        f"({confidence_text(found['confidence'])} interval {low} to {high})."
    ]
    if found["never_met_m"] > 0.5:
        metres = metres_text(found["never_met_m"], results.units)
        lines.append(f"{metres} of fence are not shown to meet the requirement in any weather of the record.")
    unknown = per * (found["armed_hours"] - found["known_armed_hours"])
    if unknown >= 0.5:
        lines.append(f"Not counted, because the record has gaps: {whole(unknown)} armed hours.")
    return [*lines, TYPICAL_YEARS]

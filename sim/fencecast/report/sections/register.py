"""The register of assumptions: what is taken as given, from where, and who should confirm it; a table to sign."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.findings.words import hours_text
from fencecast.meteorology.sorting import WORDS
from fencecast.report.sections.quantities import air_text, falls_text, ground_text, visibility_text, window_text
from fencecast.report.sections.registerrows import Assumption, assumptions
from fencecast.report.sections.section import Body, Source
from fencecast.report.shared import ROLES


@dataclass(frozen=True)
class WeatherTable:
    """heads of the columns, and rows of text."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Register:
    rows: tuple[Assumption, ...]
    weather: WeatherTable
    roles: tuple[str, ...]


def register_of(source: Source) -> Body:
    """Every assumption as a row; the weather classes in a table of their own."""
    rows = assumptions(source.results)
    finding = f"{len(rows)} things are taken as given; a wrong one changes the numbers."
    return Body("Register of assumptions", finding, Register(tuple(rows), weather_table(source.results), ROLES))


def weather_table(results: Results) -> WeatherTable:
    """The classes that were run, with what varies in them; of an hourly record with the rule that sorts its hours."""
    site, hours = results.site, {c.name: hours_text(c.hours, c.years) for c in results.summaries}
    if "weather_source" in results.attrs:
        rows: Iterable[tuple[str, ...]] = ((name, hours[name], WORDS.get(name, "")) for name in results.classes)
        return WeatherTable(("class", "hours", "an hour of the record is in it by"), tuple(rows))
    units = results.units
    heads = ("class", "hours", "air", "ground minus air", "visibility", "falls", "window")
    described = {w.name: w for w in site.weather}
    found = [described[name] for name in results.classes if name in described]
    rows = (
        (
            w.name,
            hours[w.name],
            air_text(w, units),
            ground_text(w, units),
            visibility_text(w, units),
            falls_text(w),
            window_text(w),
        )
        for w in found
    )
    return WeatherTable(heads, tuple(rows))

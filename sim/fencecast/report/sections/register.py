"""The register of assumptions: what is taken as given, from where, and who should confirm it; a table to sign."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fencecast.estimate.results import Results
from fencecast.findings.checksentences import with_feet
from fencecast.findings.words import hours_text, number_word
from fencecast.meteorology.sorting import WORDS
from fencecast.report.sections.quantities import air_text, falls_text, ground_text, visibility_text, window_text
from fencecast.report.sections.registerrows import Assumption, assumptions, rule_text
from fencecast.report.sections.section import Body, Source
from fencecast.report.shared import ROLES, SIGNING
from fencecast.site import Site

_MOST_STANDING = 6


@dataclass(frozen=True)
class WeatherTable:
    """heads of the columns, and rows of text."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Register:
    """owner, others: rows by who confirms them; stands: what stands in a view; rules: a table of the rules by number."""

    owner: tuple[Assumption, ...]
    others: tuple[Assumption, ...]
    stands: str
    rules: WeatherTable
    weather: WeatherTable
    roles: tuple[str, ...]
    signing: str


def register_of(source: Source) -> Body:
    """Every assumption as a row; the weather classes in a table of their own."""
    rows = assumptions(source.results)
    mine = tuple(row for row in rows if row.confirmed_by.startswith("owner"))
    facts = Register(
        owner=mine,
        others=tuple(row for row in rows if row not in mine),
        stands=stands_text(source.results.site),
        rules=rules_table(source.results.site),
        weather=weather_table(source.results),
        roles=ROLES,
        signing=SIGNING,
    )
    finding = f"{len(rows)} things are taken as given; a wrong one changes the numbers."
    return Body("Register of assumptions", finding, facts)


def stands_text(site: Site) -> str:
    """What stands in a view, by name where it is little enough to be read, and what does not."""
    stands = [with_feet(site, f"{o.name} {o.height_m:g} m") for o in site.obstacle]
    if not stands:
        start = "Nothing stands in a view in this calculation."
    elif len(stands) <= _MOST_STANDING:
        start = f"Nothing else stands in a view but: {', '.join(stands)}."
    else:
        start = f"Nothing else stands in a view but the {number_word(len(stands))} buildings and stacks below."
    return f"{start} Stacks, vehicles and growth are not in the calculation unless they are named here."


def rules_table(site: Site) -> WeatherTable:
    """Every rule by its number in the site file, with the cameras that it hears."""
    heads = ("rule", "at", "alarm on", "hears")
    every = [camera.mark for camera in site.camera]
    rows = (
        (
            f"{k}",
            rule.perimeter or "points of its own",
            with_feet(site, rule_text(rule)),
            "every camera" if every and set(rule.cameras) == set(every) else ", ".join(rule.cameras) or "none",
        )
        for k, rule in enumerate(site.rule, start=1)
    )
    return WeatherTable(heads, tuple(rows))


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

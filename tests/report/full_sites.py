"""Invented results for the full edition: the usual yards, and those that make a sentence go wrong; pages taken apart."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from functools import cache
from html.parser import HTMLParser
from typing import Any

import numpy as np
import xarray as xr

from fencecast.decide.remedyfacts import RemedyCells, RemedyFacts, RemedyStep, keep_remedy
from fencecast.estimate.results import Results
from fencecast.report.full import full_facts
from fencecast.report.making import report
from fencecast.report.options import ReportOptions
from fencecast.report.sections.section import Source
from show import invented_comparisons, invented_hours, invented_results

STEPS = (
    RemedyStep("let rule 1 (West fence) hear C2 too", "rule", 0.0, (124.0, 90.0), (130.0, 96.0), "warm dusk", (124.0, 90.0)),
    RemedyStep("new camera P1 at A 40 m, 1 m inside the fence", "new", 1400.0, (90.0, 20.0), (96.0, 30.0), "haze", (9.0, 1.0)),
)  # fmt: skip
REMEDY = RemedyFacts(
    "both", "rule", False, 1400.0, "D 48–50 m", "warm dusk", (0.1, 0.0, 0.2), (0.91, 0.88, 0.94), (0.5, 0.4, 0.6),
    "warm dusk", (124.0, 20.0), (10.0, 12.0), (130.0, 30.0), 87, ("prices are those of the file",), STEPS, segment=3,
)  # fmt: skip
FINDINGS = [
    {"id": "under-mast", "group": "watched", "severity": "stop", "object": "camera C1", "kind": "camera", "places": "A 0–4 m",
     "spans": [], "value": 4.0, "unit": "m", "limit": 0.0, "measured": "4.0 m of fence (A 0–4 m) with no waist in view",
     "why": "Its ground is below its picture.", "fix": "let another camera look back", "accepted": None, "again": False},
    {"id": "tolerance-zero", "group": "mounting", "severity": "warn", "object": "the site", "kind": "site", "places": "",
     "spans": [], "value": 0.0, "unit": "", "limit": 0.0, "measured": "all errors of [tolerance] are 0",
     "why": "No camera is mounted exactly as drawn.", "fix": "bearing_deg = 0.5 is careful work",
     "accepted": {"reason": "measured by the surveyor", "by": "A. Owner", "on": "2026-11-01"}, "again": True},
    {"id": "clear-zone", "group": "obstacles", "severity": "note", "object": "the site", "kind": "site", "places": "",
     "spans": [], "value": 8.0, "unit": "m", "limit": 9.0, "measured": "the nearest obstacle stands 8.0 m from the fence",
     "why": "Free ground.", "fix": "keep the strip free",
     "accepted": {"reason": "agreed with the owner, see minutes", "by": "B. Designer", "on": "2026-10-02"}, "again": False},
]  # fmt: skip


def nothing_watched() -> xr.Dataset:
    return invented_results.one_camera(no_data=("Lane",))


def hourly(**weather: Any) -> xr.Dataset:
    results = invented_hours.yard(**weather)
    hours, counted = results["hour_armed"].values & results["hour_known"].values, float(results["known_armed_hours"])
    anywhere = float(np.nanmax(results["weak_hours"].values))
    for end, factor in (("", 1.0), ("_low", 0.9), ("_high", 1.1)):
        results[f"weak_hours_any{end}"] = ((), factor * anywhere)
    results.attrs |= {"weather_source": "north-gate.csv, 8,760 hours", "weather_notes": "", "period_years": hours.sum() / counted}
    return results


def mended(results: xr.Dataset | None = None) -> xr.Dataset:
    """With a remedy of two steps: each step takes a third of what is missing."""
    results = invented_results.yard(fresh=True) if results is None else results
    pd = results["pd"].values
    stages = np.array([1.0 - (1.0 - pd) * factor for factor in (1.0, 0.6, 0.1)])
    cells = RemedyCells(tuple(map(str, results["weather"].values)), stages, np.full_like(stages, 0.02))
    keep_remedy(results, REMEDY, cells)
    results.attrs |= {"remedy": "Both.", "remedy_worst": "warm dusk"}
    return results


def mended_of_old() -> xr.Dataset:
    """As an older version kept it: sentence, class and steps alone."""
    results = invented_results.yard()
    steps = [{field.name: getattr(step, field.name) for field in fields(step)} for step in STEPS]
    words = "Let rule 1 hear C2 too: in warm dusk 124 m weak -> 20 m weak."
    results.attrs |= {"remedy": words, "remedy_worst": "warm dusk", "remedy_steps": json.dumps(steps)}
    return results


def no_remedy_found() -> xr.Dataset:
    results = invented_results.yard()
    keep_remedy(results, None)
    return results


def reviewed() -> xr.Dataset:
    results = invented_results.yard()
    results.attrs["findings"] = json.dumps(FINDINGS)
    return results


def some_classes() -> xr.Dataset:
    results = invented_results.yard(classes=invented_results.SIX_CLASSES[1:3])
    results.attrs |= {"weather_classes": 6, "without": "C2, C3"}
    return results


def stressed() -> xr.Dataset:
    results = hourly()
    results.attrs |= {"stress": "visibility_m<=100", "stress_hours": 21.0, "stress_of_hours": 4344.0}
    return results


def installed() -> xr.Dataset:
    """Yards as built: eight of them, of which three meet, with errors of mounting in the site file."""
    results = invented_results.yard()
    text = results.attrs["site_toml"] + "\n[tolerance]\nbearing_deg = 1.0\ndepression_deg = 1.0\n"
    results.attrs["site_toml"] = text
    pd = results["pd"].values
    results["pd_installation"] = (
        ("installation", "weather", "segment"),
        np.array([pd + shift for shift in np.linspace(-0.02, 0.02, 8)]),
    )
    results["installation_lowest_pd"] = ("installation", np.array([0.80, 0.82, 0.84, 0.86, 0.88, 0.91, 0.92, 0.93]))
    for end, shift in (("10", -0.05), ("90", 0.02)):
        results[f"pd_installation_{end}"] = (("weather", "segment"), np.clip(pd + shift, 0.0, 1.0))
    for end, share in (("", 0.4), ("_low", 0.2), ("_high", 0.7)):
        results[f"installation_meets_share{end}"] = (("weather", "segment"), np.full_like(pd, share))
    return results


def long_names() -> xr.Dataset:
    """Names as long as a site file may have them, in words and without a blank, and such a title."""
    words = ("a very long name of a section of fence " * 6)[:60].strip()
    sections = [
        invented_results.section(words, [(0, 0), (0, 40)]),
        invented_results.section("x" * 60, [(0, 40), (60, 40)], gates=[("g" * 60, 4, 8)]),
    ]
    obstacles = [("o" * 60, [(10, 10), (20, 10), (20, 20), (10, 20)], 4.0)]
    cameras = [invented_results.camera("M" * 24, 1, 1, 5), invented_results.camera("N2", 1, 39, 88)]
    return invented_results.build("t" * 200, sections, cameras, obstacles, classes=(("w" * 60, 900, 30.0), ("rain", 90, 20.0)))


def bare() -> xr.Dataset:
    """Without everything that a run stores only when it is asked, or did not store in older versions."""
    results = invented_results.yard()
    gone = [name for name in results.data_vars if str(name).startswith(("dpd_", "pd_distance", "pd_fresh", "noise_"))]
    return results.drop_vars(gone).drop_dims(["lens", "distance"], errors="ignore")


MORE = {
    "nothing_watched": nothing_watched,
    "hourly": hourly,
    "short_record": lambda: hourly(days=30),
    "mended": mended,
    "mended_us": lambda: mended(invented_results.yard(units="us", fresh=True)),
    "mended_of_old": mended_of_old,
    "no_remedy_found": no_remedy_found,
    "reviewed": reviewed,
    "some_classes": some_classes,
    "stressed": stressed,
    "installed": installed,
    "long_names": long_names,
    "bare": bare,
}
ALL = {**invented_results.ALL, **MORE}
# As pages: those that differ in what is said, not only in length.
PAGES = tuple(
    name for name in ALL if name not in ("us_large", "tall_fence", "twelve_classes", "requirement_0.50", "short_sections")
)


@cache
def results_of(name: str) -> xr.Dataset:
    return ALL[name]()


@cache
def facts_of(name: str, compared: bool = False) -> Any:
    """The facts of the full edition; compared: with an invented comparison of the same site."""
    results = results_of(name)
    other = Results(invented_comparisons.comparison(results)) if compared else None
    return full_facts(Source(Results(results), ReportOptions(), other))


@cache
def page_of(name: str) -> str:
    return report(results_of(name))


def section_of(name: str, key: str, compared: bool = False) -> Any:
    """The facts of one section; None when the report has none."""
    return next((s for s in facts_of(name, compared).sections if s.key == key), None)


def walked(thing: Any, path: str = "facts"):
    """Every value in the facts with its path; a dataclass of another room is yielded itself."""
    if is_dataclass(thing) and type(thing).__module__.startswith(("fencecast.report.", "fencecast.findings.blocks")):
        for each in fields(thing):
            yield from walked(getattr(thing, each.name), f"{path}.{each.name}")
    elif isinstance(thing, tuple):
        for k, each in enumerate(thing):
            yield from walked(each, f"{path}[{k}]")
    else:
        yield path, thing


VOID = {"meta", "br", "input", "hr", "img", "link"}
OPTIONAL = {"td", "th", "tr", "li", "dt", "dd", "p"}  # HTML lets their end tags go


class Page(HTMLParser):
    """A page taken apart: ids, links, what is said under each heading, and tags that do not close."""

    def __init__(self, text: str):
        super().__init__(convert_charrefs=True)
        self.ids: list[str] = []
        self.links: list[tuple[str, str]] = []
        self.headings: list[tuple[int, str]] = []
        self.below: list[str] = []
        self.wrong: list[str] = []
        self.said = ""
        self._open: list[str] = []
        self.feed(text)
        self.wrong += [tag for tag in self._open if tag not in OPTIONAL]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if "id" in found:
            self.ids.append(str(found["id"]))
        if tag == "a":
            self.links.append((str(found.get("href")), ""))
        if tag[0] == "h" and tag[1:].isdigit():
            self.headings.append((int(tag[1]), ""))
            self.below.append("")
        if tag == "svg" and self.below:
            self.below[-1] += "figure"
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if "id" in found:
            self.ids.append(str(found["id"]))

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open[-1] != tag and self._open[-1] in OPTIONAL:
            self._open.pop()
        if self._open and self._open[-1] == tag:
            self._open.pop()
        else:
            self.wrong.append(f"/{tag}")

    def handle_data(self, data: str) -> None:
        if {"style", "script", "svg", "title"} & set(self._open):
            return
        self.said += data
        inside = [tag for tag in self._open if tag[0] == "h" and tag[1:].isdigit()]
        if inside:
            level, text = self.headings[-1]
            self.headings[-1] = (level, text + data)
        elif self.below:
            self.below[-1] += data
        if "a" in self._open and self.links:
            href, text = self.links[-1]
            self.links[-1] = (href, text + data)


@cache
def taken_apart(name: str) -> Page:
    return Page(page_of(name))

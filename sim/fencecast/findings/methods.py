"""The methods of a results file as a paragraph that can be pasted into a paper: only what the file itself says."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from fencecast.errors import UsageError
from fencecast.estimate.results import Results, check_schema
from fencecast.findings.calibration import band_sentence, calibrated_line, calibration_of
from fencecast.findings.condition import stress_sentence
from fencecast.findings.limits import PD_WORDS, limits_of
from fencecast.findings.runfacts import short_of_precision
from fencecast.findings.words import confidence_text, listed, plural, requirement_text, whole

# What results of earlier days do not hold: attribute, and how it is called.
NEWER = {
    "code_sha256": "the code's hash",
    "libraries": "versions of libraries",
    "processor": "the processor",
    "model": "the model's parts and their sources",
    "interval_method": "how intervals are made",
}
SHOWN_DIGITS = 16  # of a hash in running text; objects have all 64


@dataclass(frozen=True, eq=False)
class Methods:
    """What a file says of its methods. kind: "run", "comparison", "trade-off", "study"; missing: what is not on record."""

    kind: str
    attrs: Mapping[str, Any]
    sentences: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def title(self) -> str:
        return str(self.attrs["title"])

    @property
    def version(self) -> str:
        return str(self.attrs["version"])

    @property
    def code(self) -> str:
        """SHA-256 of the code; '' when it is not on record."""
        return str(self.attrs.get("code_sha256", ""))

    @property
    def created(self) -> str:
        """When, UTC; '' for a study, whose file holds no time."""
        return str(self.attrs.get("created", ""))

    @property
    def site_sha256(self) -> str:
        return str(self.attrs["site_sha256"])

    @property
    def file_kind(self) -> str:
        """What `site_sha256` is of."""
        return str(self.attrs.get("file_kind", "site file"))

    @property
    def caution(self) -> str:
        return str(self.attrs["caution"])

    @property
    def what(self) -> str:
        """`the run "Estuary yard"`."""
        return f'the {self.kind} "{self.title}"'

    @property
    def paragraph(self) -> str:
        return " ".join(self.sentences)

    def as_object(self) -> dict[str, Any]:
        """For JSON: the paragraph, and what it is made of where it is on record, hashes in full."""
        names = ["version", "code_sha256", "seed", "crossings_total", "precision", "confidence", "requirement_pd", "site_sha256"]
        names += ["weather_source", "weather_sha256", "record_sha256", "created", "processor", "interval_method"]
        facts = {name: self.attrs[name] for name in names if name in self.attrs}
        if "libraries" in self.attrs:
            facts["libraries"] = json.loads(str(self.attrs["libraries"]))
        if "model" in self.attrs:
            facts["model"] = str(self.attrs["model"]).split("\n")
        return {
            "kind": self.kind,
            "title": self.title,
            **facts,
            "methods": self.paragraph,
            "not_on_record": list(self.missing),
        }


def methods_of(data: xr.Dataset) -> Methods:
    """The methods of a Dataset of `run`, `compare`, `tradeoff` or `study`. UsageError for anything else."""
    if not isinstance(data, xr.Dataset):
        raise UsageError(f"{type(data).__name__} holds no results: give what fc.run(...) returns, or the path of a results file")
    attrs = data.attrs
    marks = {"study_toml": "study", "compare_schema": "comparison", "tradeoff_schema": "trade-off"}
    kind = next((kind for mark, kind in marks.items() if mark in attrs), "run")
    if kind != "study":
        check_schema(data)
    about = {"run": _run, "comparison": _comparison, "trade-off": _tradeoff, "study": _study}[kind](data)
    sentences = [
        f"{PD_WORDS}, was simulated with fencecast {attrs['version']}{_hash(attrs, 'code_sha256', ', code ')}.",
        *about,
        *_written(attrs, "interval_method"),
        *([_verdicts(attrs)] if kind == "run" else []),
        *(["Model: " + " ".join(str(attrs["model"]).split("\n"))] if "model" in attrs else []),
        *_made_with(attrs),
        "Not modelled or uncertain: " + " ".join(limits_of(dict(attrs))),
    ]
    expected = {name: words for name, words in NEWER.items() if kind != "study" or name != "processor"}
    if "weather_source" in attrs and kind != "study":
        expected["weather_sha256"] = "the hash of the weather file"
    missing = tuple(words for name, words in expected.items() if not str(attrs.get(name, "")))
    return Methods(kind, attrs, tuple(sentences), missing)


def _hash(attrs: Mapping[str, Any], name: str, before: str) -> str:
    """`, code SHA-256 1f2e3d4c5b6a7980`, the first digits; '' when it is not on record."""
    return f"{before}SHA-256 {str(attrs[name])[:SHOWN_DIGITS]}" if attrs.get(name) else ""


def _run(data: xr.Dataset) -> list[str]:
    results = Results(data)
    attrs = results.attrs
    sections = plural(len(results.sections), "section")
    fence = f"{whole(float(np.sum(results.lengths_m)))} m of fence in {sections} and {data.sizes['segment']:,} segments"
    cameras = plural(data.sizes["camera"], "camera")
    lost = f", without {attrs['without']}" if attrs.get("without") else ""
    site = f'Site: "{attrs["title"]}" (site file{_hash(attrs, "site_sha256", " ")}), {fence}, {cameras}{lost}.'
    simulated, short, widest, _ = short_of_precision(results)
    reached = "reached by all of them" if short == 0 else f"not reached by {short:,} of them, the widest at {widest:.3f}"
    crossings = (
        f"Seed {attrs['seed']}, {int(attrs['crossings_total']):,} crossings for {simulated:,} numbers (every segment in every "
        f"weather class), asked for a half width of {float(attrs['precision']):g} of the {confidence_text(results.confidence)} "
        f"interval, {reached}."
    )
    facts = calibration_of(attrs)
    rest = _correlation(attrs) if facts is None else [calibrated_line(facts), band_sentence(results.confidence, facts)]
    return [site, *_weather(data), crossings, *rest]


def _comparison(data: xr.Dataset) -> list[str]:
    attrs = data.attrs
    names = [f'"{name}"' for name in data["variant"].values]
    return [
        f'Designs compared: {listed(names)}, of the site "{attrs["title"]}" (site file of the '
        f"first{_hash(attrs, 'site_sha256', ' ')}).",
        *_weather(data),
        f"Seed {attrs['seed']}, {int(attrs['crossings_total']):,} crossings through each design, asked for a half width of "
        f"{float(attrs['precision']):g} of the {confidence_text(float(attrs['confidence']))} interval.",
        f"Differences: {data['pd_difference'].attrs['long_name']}; equivalent within {float(attrs['margin']):g}.",
        *_correlation(attrs),
    ]


def _tradeoff(data: xr.Dataset) -> list[str]:
    attrs = data.attrs
    families = list(dict.fromkeys(str(each) for each in data["family"].values[1:]))
    stimuli = listed(_names(data, "stimulus")) if int(attrs["nuisance_asked"]) else "not asked for"
    return [
        f'Settings of the site "{attrs["title"]}" (site file{_hash(attrs, "site_sha256", " ")}), one changed at a time: '
        f"{data.sizes['setting'] - 1} values of {listed(families)}.",
        *_weather(data),
        f"Seed {attrs['seed']}, {int(attrs['crossings_per_cell']):,} crossings of every segment in every weather class, the same "
        f"for every setting. Nuisance alarms: {stimuli}.",
        f"Metres: {data['meets_m'].attrs['long_name']}; paired {confidence_text(float(attrs['confidence']))} intervals.",
        *_correlation(attrs),
    ]


def _study(data: xr.Dataset) -> list[str]:
    attrs = data.attrs
    invented = int(attrs["invented_yards"])
    yards = plural(data.sizes["yard"], "yard")
    if invented:
        yards += " invented from the seed" if invented == data.sizes["yard"] else f", {invented:,} of them invented from the seed"
    lenses = f"{'lenses' if data.sizes['lens'] > 1 else 'lens'} {listed(_names(data, 'lens'))}"
    amounts = listed([f"{float(each):g}" for each in data["allowance"].values])
    equal = f"{attrs['equal_by']} ({amounts} {'per 100 m' if attrs['per_100_m'] else 'a yard'})"
    if "weather_source" in attrs:
        weather = f'Weather: the hourly record "{attrs["weather_source"]}"{_hash(attrs, "record_sha256", ", ")}.'
    else:  # the last class of a study is the year
        weather = _classes(data["weather_hours"].isel(weather=slice(0, -1)))
    return [
        f'Study: "{attrs["title"]}" (study file{_hash(attrs, "site_sha256", " ")}), strategies '
        f"{listed(_names(data, 'strategy'))} with {lenses} on {yards}, at equal {equal}.",
        weather,
        f"Seed {attrs['seed']}, {int(attrs['crossings_per_cell']):,} crossings of every segment and weather class of a layout, "
        f"{int(attrs['crossings_total']):,} in all.",
        f"Differences: {data['pair_difference'].attrs['long_name']}; intervals: "
        f"{str(data['pair_low'].attrs['long_name']).removeprefix('lower end of ')}, "
        f"at {confidence_text(float(attrs['confidence']))}.",
    ]


def _names(data: xr.Dataset, name: str) -> list[str]:
    return [f'"{each}"' for each in data[name].values]


def _weather(data: xr.Dataset) -> list[str]:
    attrs = data.attrs
    if "weather_source" not in attrs:
        return [_classes(data["weather_hours"], int(attrs.get("weather_classes", data.sizes["weather"])))]
    record = (
        f'Weather: the hourly record "{attrs["weather_source"]}"{_hash(attrs, "weather_sha256", ", ")}, '
        f"{float(attrs['period_years']):.3g} years, its hours sorted into classes."
    )
    return [record, *([stress_sentence(dict(attrs))] if attrs.get("stress") else [])]


def _classes(hours: xr.DataArray, known: int = 0) -> str:
    """known: how many there are in the site file, when not all of them were run."""
    named = [f"{name} {whole(float(h))} h/yr" for name, h in zip(hours["weather"].values, hours.values)]
    run = f"Weather classes run, of {known} in the site file" if known > len(named) else "Weather classes"
    return f"{run}: {listed(named)}."


def _correlation(attrs: Mapping[str, Any]) -> list[str]:
    return [f"Encounter correlation {float(attrs['encounter_correlation']):g}."] if "encounter_correlation" in attrs else []


def _verdicts(attrs: Mapping[str, Any]) -> str:
    need = f"Pd {requirement_text(float(attrs['requirement_pd']))}"
    interval = f"{confidence_text(float(attrs['confidence']))} interval"
    return (
        f"Required: {need}; a segment meets it where the full {interval} lies above, is weak where it lies below, else undecided."
    )


def _written(attrs: Mapping[str, Any], name: str) -> list[str]:
    return [str(attrs[name])] if attrs.get(name) else []


def _made_with(attrs: Mapping[str, Any]) -> list[str]:
    """`Computed 2026-11-29 with Python 3.12.3, numpy 2.4.6 ... on AMD EPYC (...).`, as far as it is on record."""
    when = f" {str(attrs['created'])[:10]}" if attrs.get("created") else ""
    versions = json.loads(str(attrs.get("libraries", "{}")))
    libraries = ", ".join(f"{'Python' if name == 'python' else name} {version}" for name, version in versions.items())
    with_them = f" with {libraries}" if libraries else ""
    on = f" on {attrs['processor']}" if attrs.get("processor") else ""
    return [f"Computed{when}{with_them}{on}."] if when or with_them or on else []

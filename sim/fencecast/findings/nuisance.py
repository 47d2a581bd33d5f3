"""Nuisance alarms as data: how many a night, on a bad night, of what, in which weather, by which camera, against which ceiling.

Read from the variables of results whose site has `[[stimulus]]` tables; the words are in `nuisancewords`.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from fencecast.estimate.exposure import UNSEEN
from fencecast.estimate.nuisance import MET, ceiling_verdict
from fencecast.estimate.results import Results

BODY, BURST, NOISE = "body", "burst", "noise"
_NAMED = 0.6  # causes are named until they make this share of all alarms (judgement)
_MOST_NAMED = 3

# Alarms a zone and night that a published guide allows (UFGS-13703N, page 18): shown beside, never a default.
GUIDE = "UFGS-13703N, page 18"
ALLOWED_FALSE = 1.0 / 30.0
ALLOWED_FIRST_90_DAYS = 1.0 / 7.0
ALLOWED_THEN = 1.0 / 30.0


@dataclass(frozen=True)
class Cause:
    """One stimulus. per_night: alarms over the year; share: of all; by_class: alarms a night in each class, in the order of the
    results; passes_night: encounters a night, and passes_share: of them that raise an alarm, NaN for what does not pass."""

    name: str
    kind: str
    family: str
    per_night: float
    share: float
    by_class: tuple[float, ...]
    passes_night: float
    passes_share: float


@dataclass(frozen=True)
class ClassNights:
    """A weather class as if all night were of it; index: its row in the results; bad_night: of 19 nights in 20 at most."""

    name: str
    index: int
    hours: float
    per_night: float
    low: float
    high: float
    bad_night: int


@dataclass(frozen=True)
class CameraNights:
    """Alarms a night over the year by one camera alone, and in the class in which it raises the most."""

    mark: str
    per_night: float
    worst: float
    worst_class: str


@dataclass(frozen=True)
class Ceiling:
    """A ceiling of the site file: what it is of (`mean` or `bad night`), alarms a night, whether it is met; low, high: the
    interval of what it is held against."""

    of: str
    value: float
    verdict: str
    low: float
    high: float


@dataclass(frozen=True)
class Logged:
    """A cause with a log of alarms on site: alarms a night before the log, as logged and after it, the latter with intervals."""

    cause: str
    nights: float
    alarms: int
    before: float
    logged: tuple[float, float, float]
    after: tuple[float, float, float]


@dataclass(frozen=True)
class Nuisance:
    """All that is said of nuisance alarms. causes: most first; classes: worst first, as in every table of a run; cameras: in the
    order of the site; logs: in the order of the file; zones: sections of the fence; none_share: of nights without an alarm; met:
    '' without a ceiling; other_alarms_per_h, service_s: of the operator, the time at its median; recorded: whether the
    year is of recorded nights, not of classes; notes: what of a stimulus could not be used."""

    per_night: float
    low: float
    high: float
    bad_night: int
    bad_low: int
    bad_high: int
    none_share: float
    causes: tuple[Cause, ...]
    classes: tuple[ClassNights, ...]
    cameras: tuple[CameraNights, ...]
    ceilings: tuple[Ceiling, ...]
    logs: tuple[Logged, ...]
    met: str
    attempts_per_year: float
    true_share: float
    wait_s: float
    other_alarms_per_h: float
    service_s: float
    armed_h_per_night: float
    uncertainty: float
    zones: int
    recorded: bool
    notes: tuple[str, ...]

    @property
    def noise_night(self) -> float:
        """Alarms a night from sensor noise: what a guide calls false."""
        return sum(cause.per_night for cause in self.causes if cause.family == NOISE)

    @property
    def logged(self) -> tuple[Cause, ...]:
        """The causes with a log of alarms on site, most alarms first."""
        names = {log.cause for log in self.logs}
        return tuple(cause for cause in self.causes if cause.name in names)

    @property
    def all_logged(self) -> bool:
        """Whether there is a log of every cause but sensor noise."""
        return bool(self.logs) and not self.unlogged

    @property
    def unlogged(self) -> tuple[Cause, ...]:
        """The causes but sensor noise that have no log, most alarms first."""
        return tuple(cause for cause in self.causes if cause.family != NOISE and cause not in self.logged)

    @property
    def unseen(self) -> frozenset[str]:
        """Names of the causes that no camera has in its picture."""
        return frozenset(note.removesuffix(f": {UNSEEN}") for note in self.notes if note.endswith(f": {UNSEEN}"))

    @property
    def named(self) -> tuple[Cause, ...]:
        """The causes that most alarms come from: until they make 60 % of all, three at most."""
        found: list[Cause] = []
        for cause in self.causes:
            if len(found) == _MOST_NAMED or sum(each.share for each in found) >= _NAMED or not cause.per_night > 0.0:
                break
            found.append(cause)
        return tuple(found)


def nuisance_asked(attrs: dict[str, Any]) -> bool:
    """Whether the results count nuisance alarms: their site has `[[stimulus]]` tables."""
    return bool(int(attrs.get("nuisance_asked", 0)))


def ceilings_met(attrs: dict[str, Any]) -> bool:
    """Whether no ceiling of nuisance alarms stands against the results: none is set, or the upper end is below it."""
    return str(attrs.get("nuisance_met", "")) in ("", MET)


def nuisance_of(results: Results) -> Nuisance | None:
    """The facts; None for a site without `[[stimulus]]`."""
    attrs = results.attrs
    if not nuisance_asked(attrs):
        return None
    hours = np.asarray(results["weather_hours"].values, dtype=float)
    weights = hours / hours.sum() if hours.sum() > 0.0 else np.full(len(hours), math.nan)
    year = float(results["nuisance_year"])
    low, high = (float(results[f"nuisance_year_{end}"]) for end in ("low", "high"))
    pmf = results.array("night_pmf", "count")
    bad = int(results["bad_night_year"])
    bad_low, bad_high = (int(attrs.get(f"nuisance_bad_night_{end}", bad)) for end in ("low", "high"))
    of_operator = results.site.nuisance
    return Nuisance(
        per_night=year,
        low=low,
        high=high,
        bad_night=bad,
        none_share=float(pmf[0]) if len(pmf) else math.nan,
        causes=_causes(results, weights, year),
        classes=_classes(results),
        cameras=_cameras(results, weights),
        ceilings=_ceilings(attrs, (year, low, high), (bad, bad_low, bad_high)),
        bad_low=bad_low,
        bad_high=bad_high,
        logs=_logs(attrs),
        met=str(attrs.get("nuisance_met", "")),
        attempts_per_year=float(attrs.get("nuisance_attempts_per_year", math.nan)),
        true_share=float(results["true_share"]),
        wait_s=float(results["operator_wait_s"]),
        other_alarms_per_h=of_operator.other_alarms_per_h,
        service_s=of_operator.service_s.middle(),
        armed_h_per_night=float(attrs["armed_h_per_night"]),
        uncertainty=float(attrs["nuisance_uncertainty"]),
        zones=len(results.sections),
        recorded=attrs.get("nuisance_nights") == "recorded nights",
        notes=tuple(line for line in str(attrs.get("nuisance_notes", "")).split("\n") if line),
    )


def _causes(results: Results, weights: np.ndarray, year: float) -> tuple[Cause, ...]:
    by_class = results.array("nuisance_night", "stimulus", "weather")
    passes, p = (results.array(name, "stimulus", "weather", "segment") for name in ("encounters_night", "p_nuisance"))
    found = []
    for k, name in enumerate(str(each) for each in results["stimulus"].values):
        family, per_night = str(results.at("stimulus_family", stimulus=k)), float(results.at("nuisance_cause_year", stimulus=k))
        passing, alarms = (float(weights @ np.nansum(each, axis=1)) for each in (passes[k], passes[k] * p[k]))
        found.append(
            Cause(
                name=name,
                kind=str(results.at("stimulus_kind", stimulus=k)),
                family=family,
                per_night=per_night,
                share=per_night / year if year > 0.0 else 0.0,
                by_class=tuple(float(each) for each in by_class[k]),
                passes_night=passing if family == BODY else math.nan,
                passes_share=alarms / passing if family == BODY and passing > 0.0 else math.nan,
            )
        )
    return tuple(sorted(found, key=lambda cause: -np.nan_to_num(cause.per_night)))


def _classes(results: Results) -> tuple[ClassNights, ...]:
    found = []
    for summary in results.worst_first:
        ends = [float(results.at(f"nuisance_total{end}", weather=summary.index)) for end in ("", "_low", "_high")]
        bad = int(results.at("bad_night", weather=summary.index))
        found.append(ClassNights(summary.name, summary.index, summary.hours, *ends, bad))
    return tuple(found)


def _cameras(results: Results, weights: np.ndarray) -> tuple[CameraNights, ...]:
    found = []
    for mark, nights in zip(results.marks, results.array("nuisance_camera", "camera", "weather")):
        worst = int(np.argmax(np.nan_to_num(nights)))
        found.append(CameraNights(mark, float(weights @ nights), float(nights[worst]), results.classes[worst]))
    return tuple(found)


def _logs(attrs: dict[str, Any]) -> tuple[Logged, ...]:
    found = []
    for log in json.loads(str(attrs.get("nuisance_soaks", "[]"))):
        logged, after = (tuple(float(log[f"{name}{end}"]) for end in ("", "_low", "_high")) for name in ("counted", "rate"))
        found.append(Logged(str(log["cause"]), float(log["nights"]), int(log["alarms"]), float(log["assumed"]), logged, after))
    return tuple(found)


def _ceilings(attrs: dict[str, Any], year: tuple[float, ...], bad_night: tuple[float, ...]) -> tuple[Ceiling, ...]:
    """Each ceiling by itself, by the same rule; year, bad_night: with the ends of their intervals."""
    asked = {"mean": ("nuisance_ceiling", year), "bad night": ("nuisance_bad_night_ceiling", bad_night)}
    found = []
    for of, (name, value) in asked.items():
        ceiling = float(attrs.get(name, math.nan))
        if not math.isnan(ceiling):
            found.append(Ceiling(of, ceiling, ceiling_verdict(value, ceiling), *value[1:]))
    return tuple(found)


def nuisance_object(results: Results) -> dict:
    """The key `nuisance` of `run --json`; all of its numbers are null, and its lists empty, when they were not asked for."""
    found = nuisance_of(results)
    if found is None:
        numbers = ("per_night", "low", "high", "bad_night", "true_share", "ceiling", "bad_night_ceiling", "met")
        return {"asked": False, **dict.fromkeys(numbers), "causes": [], "cameras": [], "classes": [], "logs": []}
    ceilings = {ceiling.of: ceiling.value for ceiling in found.ceilings}
    return {
        "asked": True,
        "per_night": found.per_night,
        "low": found.low,
        "high": found.high,
        "bad_night": found.bad_night,
        "true_share": found.true_share,
        "ceiling": ceilings.get("mean"),
        "bad_night_ceiling": ceilings.get("bad night"),
        "met": found.met or None,
        "causes": [{"name": c.name, "per_night": c.per_night, "share": c.share} for c in found.causes],
        "cameras": [{"mark": c.mark, "per_night": c.per_night} for c in found.cameras],
        "classes": [
            {"name": c.name, "per_night": c.per_night, "low": c.low, "high": c.high, "bad_night": c.bad_night}
            for c in found.classes
        ],
        "logs": json.loads(str(results.attrs.get("nuisance_soaks", "[]"))),
    }

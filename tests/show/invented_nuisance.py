"""Nuisance alarms with INVENTED numbers on top of invented results: no simulation, never a reference.

`asked()` gives the variables and attributes of a run whose site has `[[stimulus]]` tables; their totals add up.
"""

from __future__ import annotations

import json
import math

import numpy as np

from show import invented_results

# Name, kind, family, alarms a night in a clear night (invented).
SIX = (
    ("insect", "insect", "burst", 2.2),
    ("cat", "cat", "body", 1.5),
    ("web", "web", "burst", 0.6),
    ("fox", "fox", "body", 0.36),
    ("people on the path", "people", "body", 0.12),
    ("hedgehog", "hedgehog", "body", 0.06),
)
NOISE = ("sensor noise", "sensor noise", "noise", 1e-9)


def log_of(cause, nights, alarms, assumed, counted, rate):
    """What results keep of a log: the rate assumed before it, as counted and after both, the last two with their ends."""
    ends = {f"{name}{end}": value for name, values in (("counted", counted), ("rate", rate))
            for end, value in zip(("", "_low", "_high"), values)}  # fmt: skip
    return {"cause": cause, "nights": nights, "alarms": alarms, "assumed": assumed, **ends}


def poisson(mean: float, most: int = 60) -> np.ndarray:
    """Probabilities of 0, 1, 2, ... of a Poisson count."""
    count = np.arange(most + 1)
    logs = count * math.log(max(mean, 1e-12)) - mean - np.array([math.lgamma(n + 1) for n in count])
    return np.exp(logs)


def bad_night_of(mean: float) -> int:
    return int(np.searchsorted(np.cumsum(poisson(mean)), 0.95))


def asked(results=None, stimuli=SIX, scale=1.0, attempts=2.0, ceiling=math.nan, bad_ceiling=math.nan, met="", wait_s=12.0,
          soak=(), notes=""):  # fmt: skip
    """Results with nuisance alarms; scale: times the alarms of `stimuli`; soak: what is kept of each log (`log_of`);
    notes: lines on what could not be used."""
    results = invented_results.yard() if results is None else results.copy()
    classes, segments, cameras = (results.sizes[name] for name in ("weather", "segment", "camera"))
    rows = (*stimuli, NOISE)
    weather = 1.0 + 0.25 * np.arange(classes)[None, :] * np.linspace(1.0, -0.6, len(rows))[:, None]
    night = scale * np.array([row[3] for row in rows])[:, None] * np.maximum(weather, 0.0)
    families = [row[2] for row in rows]
    along = 1.0 + np.sin(np.linspace(0.0, 3.0 * np.pi, segments))  # where along the fence
    along /= along.sum()
    p = np.full((len(rows), classes, segments), np.nan)
    encounters = np.full_like(p, np.nan)
    for k, family in enumerate(families):
        if family == "body":
            encounters[k] = night[k][:, None] * along[None, :] / 0.25
            p[k] = 0.25
    lengths = (results["segment_end_m"] - results["segment_start_m"]).values
    hours = results["weather_hours"].values
    weights = hours / hours.sum() if hours.sum() else np.full(classes, np.nan)
    by_segment = np.nansum(encounters * p, axis=0)
    by_segment[:, np.isnan(results["pd"].values).all(axis=0)] = np.nan
    total = night.sum(axis=0)
    year = float(weights @ total)
    share = np.linspace(2.0, 0.2, cameras)
    per_class, cell = ("weather",), ("stimulus", "weather", "segment")
    results = results.assign_coords(stimulus=np.array([row[0] for row in rows]))
    pd_year = float(np.nansum(results["pd_year"].values * lengths) / lengths.sum())
    variables = {
        "stimulus_kind": (("stimulus",), np.array([row[1] for row in rows])),
        "stimulus_family": (("stimulus",), np.array(families)),
        "encounters_night": (cell, encounters),
        "p_nuisance": (cell, p),
        "p_nuisance_low": (cell, 0.9 * p),
        "p_nuisance_high": (cell, 1.1 * p),
        "nuisance_night": (("stimulus", "weather"), night),
        "nuisance_segment": (("weather", "segment"), by_segment),
        "nuisance_total": (per_class, total),
        "nuisance_total_low": (per_class, 0.62 * total),
        "nuisance_total_high": (per_class, 2.1 * total),
        "nuisance_camera": (("camera", "weather"), 1.2 * (share / share.sum())[:, None] * total[None, :]),
        "nuisance_cause_year": (("stimulus",), night @ weights),
        "nuisance_year": ((), year),
        "nuisance_year_low": ((), 0.62 * year),
        "nuisance_year_high": ((), 2.1 * year),
        "bad_night": (per_class, np.array([bad_night_of(each) for each in total])),
        "bad_night_year": ((), bad_night_of(year)),
        "night_pmf": (("count",), poisson(year)),
        "true_share": ((), attempts * pd_year / (attempts * pd_year + 365.25 * year)),
        "operator_wait_s": ((), wait_s),
    }
    results = results.assign(variables)
    results.attrs["site_toml"] += tables_of(stimuli, soak)
    results.attrs |= {
        "nuisance_asked": 1,
        "nuisance_attempts_per_year": attempts,
        "nuisance_ceiling": ceiling,
        "nuisance_bad_night_ceiling": bad_ceiling,
        "nuisance_met": met,
        "armed_h_per_night": 12.0,
        "nuisance_uncertainty": 3.0,
        "nuisance_bad_night_low": bad_night_of(0.62 * year),
        "nuisance_bad_night_high": bad_night_of(2.1 * year),
        "nuisance_nights": "weather classes",
        "nuisance_soaks": json.dumps(list(soak)),
        "nuisance_notes": notes,
    }
    return results


def tables_of(stimuli, soak) -> str:
    """The tables of the site file that these results would be of."""
    lines = ["", "[nuisance]", "attempts_per_year = 2.0", "other_alarms_per_h = 3.0"]
    for name, kind, _, per_night in stimuli:
        lines += ["", "[[stimulus]]", f'kind = "{kind}"', f'name = "{name}"']
        lines += [f"per_night = {per_night}"] if kind == "people" else []
    for log in soak:
        lines += ["", "[[soak]]", f'cause = "{log["cause"]}"', f"nights = {log['nights']}", f"alarms = {log['alarms']}"]
    return "\n".join(lines) + "\n"

"""Pd against optical range, and what the size of fog drops does to it: one fog to the eye is many in the thermal band.

A grid of meteorological optical ranges, each with the drops of radiation and of advection fog at 10, 50 and 90 % of their spread.
All else (air, ground, sky, wind, wetness, window) is as in the year's own armed hours with that kind of fog, drawn jointly. Every
point of the grid sees the same crossings, so that the curves differ by the fog alone.
"""

from __future__ import annotations

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import xarray as xr

from fencecast.estimate.intervals import half_width, interval, standard_error
from fencecast.estimate.options import RunOptions
from fencecast.estimate.places import segment_lengths
from fencecast.estimate.simulate import advance, new_tally
from fencecast.hours.states import state_cells
from fencecast.hours.weakhours import named_segment
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import watched_sections
from fencecast.kernels.pack_weather import pack_weather
from fencecast.kernels.types import DROP_RADIUS_UM, FIXED
from fencecast.meteorology.classes import FOG_DROPS, FOG_KINDS
from fencecast.meteorology.year import HourClass, HourStates, Year

RANGES_M = np.array([20.0, 30.0, 45.0, 70.0, 100.0, 150.0, 220.0, 330.0, 500.0, 1000.0, 2000.0, 5000.0])
DROP_SHARES = np.array([0.1, 0.5, 0.9])
# Points of a scrambling (8 of them): for every segment of the fence, whose mean is drawn, and for the segment that is named.
_FENCE_POINTS = 2
_SEGMENT_POINTS = 64
# More segments than this are thinned evenly: a mean needs no more.
_MOST_SEGMENTS = 160
_MOST_BASE_STATES = 64


def drop_radii_um() -> np.ndarray:
    """Drop radius (kinds of fog, DROP_SHARES) [um]: the quantiles of what each kind of fog draws."""
    z = np.array([NormalDist().inv_cdf(share) for share in DROP_SHARES])
    return np.array([drops.median * np.exp(drops.sigma_ln * z) for drops in FOG_DROPS.values()])


def base_states(year: Year, kind: str) -> tuple[HourStates, str]:
    """States whose air, ground and sky a kind of fog is drawn with, and what they are in words.

    The armed hours of that fog; without any those of any fog, else all armed hours with the sun down, else all armed hours.
    """
    states = year.states.take(year.counted[year.states.hour])
    night = year.sun_elevation_deg[states.hour] < 0.0
    for words, rows in (
        (f"the record's armed hours of {kind} fog", states.fog == FOG_KINDS[kind]),
        ("the record's armed hours of fog", states.fog != FOG_KINDS["none"]),
        ("the record's armed night hours without rain or snow", night & (states.rain_mm_h + states.snow_mm_h == 0.0)),
        ("the record's armed hours", np.ones(len(states), dtype=bool)),
    ):
        if rows.any():
            return _thinned(states.take(rows)), words
    raise ValueError("no armed hour with a known state")


def _thinned(states: HourStates) -> HourStates:
    """At most _MOST_BASE_STATES states of equal weight, evenly through the weight of all in the order of their ground."""
    order = np.lexsort((states.wetness, states.air_temperature_c, states.ground_minus_air_k))
    states = states.take(order)
    if len(states) <= _MOST_BASE_STATES:
        return states
    share = np.cumsum(states.weight) / states.weight.sum()
    picked = states.take(np.searchsorted(share, (np.arange(_MOST_BASE_STATES) + 0.5) / _MOST_BASE_STATES))
    return replace(picked, weight=np.ones(len(picked)))


def fog_grid(site, year: Year) -> tuple[list[HourClass], np.ndarray, list[str]]:
    """Classes of the grid (kind, then share, then range), the drop radius of each [um], and each kind's base in words."""
    classes, radii, bases = [], [], []
    for kind, of_kind in zip(FOG_DROPS, drop_radii_um()):
        states, words = base_states(year, kind)
        bases.append(words)
        for radius in of_kind:
            for optical_range_m in RANGES_M:
                nothing = np.zeros(len(states))
                foggy = replace(
                    states,
                    visibility_m=np.full(len(states), optical_range_m),
                    fog=np.full(len(states), FOG_KINDS[kind]),
                    rain_mm_h=nothing,
                    snow_mm_h=nothing,
                )
                classes.append(HourClass(f"{kind} fog {optical_range_m:g} m", 0.0, foggy))
                radii.append(radius)
    return classes, np.array(radii), bases


def fog_plan(plan, site, classes, radii_um):
    """The packed site with the grid's classes as its weather, each with its one drop radius."""
    weather = pack_weather(site, classes)
    quantity = weather.quantity.copy()
    of_state = np.repeat(radii_um, np.diff(weather.class_first))
    quantity[:, DROP_RADIUS_UM] = 0.0
    quantity[:, DROP_RADIUS_UM, 0], quantity[:, DROP_RADIUS_UM, 1] = FIXED, of_state
    return plan._replace(weather=weather._replace(quantity=quantity))


def add_optical_range(site, year: Year, results: xr.Dataset, plan, options: RunOptions) -> int:
    """Simulate the grid and store the mean over the fence and the named segment (that of the carpet). Returns looks rendered."""
    named = named_segment(results)
    if named is None:
        return 0
    classes, radii, bases = fog_grid(site, year)
    plan = fog_plan(plan, site, classes, radii)
    cells = state_cells(site, options.seed, len(classes), "optical range")
    segments = results.sizes["segment"]
    watched = np.flatnonzero(watched_sections(site)[cells.section[:segments]])
    fence = watched[np.unique(np.linspace(0, len(watched) - 1, min(len(watched), _MOST_SEGMENTS)).round().astype(int))]
    first = np.arange(len(classes))[:, None] * segments
    tally = new_tally(len(cells.weather), plan.cameras.bearing_rad.size)
    expected = (len(fence) * _FENCE_POINTS + _SEGMENT_POINTS) * tally.replicates * len(classes)
    done, heard = 0, options.heard("hours")

    def forward(crossings: int) -> None:
        nonlocal done
        done += crossings
        if heard:
            heard(done, max(expected, done))

    advance(plan, cells, tally, (first + fence).ravel(), _FENCE_POINTS, options.threads, forward)
    of_fence = tally.sums[:, :, SUM_PD].reshape(len(classes), segments, -1)[:, fence] / _FENCE_POINTS
    length = segment_lengths(results)[fence]
    mean_fence = np.einsum("csr,s->cr", of_fence, length / length.sum())
    advance(plan, cells, tally, first.ravel() + named, _SEGMENT_POINTS, options.threads, forward)
    of_named = tally.sums[first.ravel() + named, :, SUM_PD] / _SEGMENT_POINTS
    _store(results, mean_fence, len(fence) * _FENCE_POINTS, "pd_fog")
    _store(results, of_named, _SEGMENT_POINTS, "pd_fog_segment")
    results.coords["fog_kind"] = np.array(list(FOG_DROPS))
    results.coords["drop_share"] = DROP_SHARES
    results.coords["optical_range"] = RANGES_M
    results["fog_drop_um"] = (("fog_kind", "drop_share"), drop_radii_um())
    results["fog_base"] = ("fog_kind", np.array(bases))
    results["fog_segment"] = ((), int(named))
    return tally.looks


def _store(results, means: np.ndarray, points: int, name: str) -> None:
    """Mean and interval of replicate means (classes, replicates), each from `points` points, on the grid's axes."""
    replicates = means.shape[1]
    mean = means.mean(axis=1)
    crossings = np.full(len(means), points * replicates)
    half = half_width(standard_error(means), crossings, replicates, results.attrs["confidence"], mean)
    low, high = interval(mean, half)
    for end, values in (("", mean), ("_low", low), ("_high", high)):
        shape = (len(FOG_DROPS), len(DROP_SHARES), len(RANGES_M))
        results[f"{name}{end}"] = (("fog_kind", "drop_share", "optical_range"), values.reshape(shape))

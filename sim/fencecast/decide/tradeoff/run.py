"""What settings of the decision cost on both sides: metres at the requirement against alarms a night (`fencecast tradeoff`)."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from datetime import UTC, datetime
from os import PathLike

import numpy as np
import xarray as xr

from fencecast.cautions import CAUTION, not_modelled
from fencecast.decide.compare.nightalarms import DesignAlarms, alarm_difference
from fencecast.decide.place.reach import counted
from fencecast.decide.tradeoff.alarms import NightCounter, alarms_apart
from fencecast.decide.tradeoff.dominated import dominated_by, margin_m
from fencecast.decide.tradeoff.meanings import TRADEOFF_MEANINGS, TRADEOFF_SCHEMA
from fencecast.decide.tradeoff.metres import at_requirement, metres_of
from fencecast.decide.tradeoff.settings import Setting, base_values, settings_of
from fencecast.errors import UsageError
from fencecast.estimate.dataset import segment_coordinates
from fencecast.estimate.options import Progress, RunOptions
from fencecast.estimate.results import RESULTS_SCHEMA
from fencecast.estimate.simulate import REPLICATES, advance, new_tally
from fencecast.job import chosen_hours, chosen_weather, warm_up
from fencecast.kernels.crossing import SUM_IN_VIEW, SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.lensranges import noise_alarms
from fencecast.meteorology.load import classes_of, only_classes
from fencecast.meteorology.year import Year
from fencecast.provenance import made_by
from fencecast.site import Site, as_site
from fencecast.site.mounting import need_camera

DEFAULT_CROSSINGS = 128
_MOST_CROSSINGS = 4096
_STAGE = "Every setting on the same crossings"

Asked = str | Sequence | float | None


def tradeoff(
    site: Site | str | PathLike[str],
    threshold: Asked = None,
    n50: Asked = None,
    confirm: Asked = None,
    least_size: Asked = None,
    dwell_s: Asked = None,
    offset_m: Asked = None,
    seed: int | None = None,
    crossings: int = DEFAULT_CROSSINGS,
    weather: Sequence[str] = (),
    threads: int | None = None,
    progress: Progress | None = None,
    command: str = "",
    year: Year | None = None,
) -> xr.Dataset:
    """Metres at the requirement and nuisance alarms a night, for the site as it is and with one setting changed at a time.

    threshold [sigma], n50 [cycles], confirm (m of n: "2/3" or pairs), least_size (share of a person's size; 0 is off), dwell_s
    (of area rules [s]), offset_m (all lines further in by so much [m]): the values to try, a list or a text such as "4,6,8"; when
    none is given, a ladder of each that the site has a use for. crossings: of every segment in every weather class, a fixed
    number, the same crossings and the same encounters for every setting. seed, weather, threads, progress, year as in `run`;
    classes of 0 hours are left out.
    Returns a Dataset with the dimension setting, the site as it is first. Without [[stimulus]] tables alarms are NaN (only
    sensor noise is known then) and no setting is called dominated. The variables are the same to the last bit whatever the
    number of threads. Raises UsageError for values that cannot be, and as `run` does.
    """
    site = as_site(site)
    check_crossings(crossings)
    options = RunOptions.of(site, seed, threads=threads, progress=progress)
    settings, left_out = asked_settings(site, threshold, n50, confirm, least_size, dwell_s, offset_m)
    need_camera(site)
    record = year = chosen_hours(site, year=year)
    available = classes_of(site, year)
    classes = counted(chosen_weather(site, weather, available))
    if year is not None and len(classes) < len(available):
        year = only_classes(year, classes)
    cells = pack_cells(site, options.seed, classes)
    active = np.flatnonzero(watched_sections(site)[cells.section])
    warm_up(pack_plan(site, classes), cells)
    counter = NightCounter(site, classes, options, year, record) if site.stimulus else None
    start = time.perf_counter()
    each, in_view, nights, looks = _all_settings(settings, classes, cells, active, crossings // REPLICATES, options, counter)
    results = _results(site, settings, classes, each, in_view, nights, crossings)
    results.attrs |= {
        **made_by(hourly=year is not None),
        "seed": options.seed,
        "command": command,
        "weather_classes": len(available),
        "threads": options.threads,
        "crossings_total": len(settings) * len(active) * crossings,
        "looks_total": looks,
        "seconds": time.perf_counter() - start,
        "left_out": "\n".join(left_out),
        "nuisance_notes": "\n".join(counter.notes) if counter else "",
    }
    if year is not None:
        results.attrs |= {"weather_source": year.records.source, "period_years": year.period_years}
        results.attrs["weather_sha256"] = year.records.sha256
    for name in [*results.data_vars, *results.coords]:
        unit, meaning = TRADEOFF_MEANINGS[str(name)]
        results[name].attrs.update(units=unit, long_name=meaning)
    return results


def asked_settings(
    site: Site,
    threshold: Asked = None,
    n50: Asked = None,
    confirm: Asked = None,
    least_size: Asked = None,
    dwell_s: Asked = None,
    offset_m: Asked = None,
) -> tuple[list[Setting], list[str]]:
    """The settings that these arguments of `tradeoff` stand for, and what was left out (see `settings_of`)."""
    asked = {
        "threshold": threshold,
        "N50": n50,
        "confirm": confirm,
        "least size": least_size,
        "dwell": dwell_s,
        "offset": offset_m,
    }
    return settings_of(site, asked)


def check_crossings(crossings: int) -> None:
    """Refuse a number of crossings that the scramblings cannot share out."""
    if not 2 * REPLICATES <= crossings <= _MOST_CROSSINGS or crossings % REPLICATES:
        raise UsageError(
            f"crossings {crossings} is not allowed: a multiple of {REPLICATES} from {2 * REPLICATES} to {_MOST_CROSSINGS}; "
            f"type for instance {DEFAULT_CROSSINGS}"
        )


def _all_settings(settings: Sequence[Setting], classes, cells, active: np.ndarray, points: int, options: RunOptions, counter):
    """Mean Pd of every scrambling and the share in view, (settings, classes, segments[, scramblings]); nights; looks drawn.

    counter: of alarms, None for a site without stimuli.
    """
    each, in_view, nights, looks = [], [], [], 0
    crossings = len(active) * points * REPLICATES
    of_one = crossings + (counter.encounters if counter else 0)
    heard = options.heard(_STAGE)

    def tell(done: int) -> None:
        if heard:
            heard(done, len(settings) * of_one)

    for k, setting in enumerate(settings):
        done = k * of_one

        def more(block: int) -> None:
            nonlocal done
            done += block
            tell(done)

        plan = pack_plan(setting.site, classes)
        tally = new_tally(len(cells.weather), plan.cameras.bearing_rad.size)
        advance(plan, cells, tally, active, points, options.threads, more)
        with np.errstate(invalid="ignore"):
            each.append((tally.sums[:, :, SUM_PD] / tally.points[:, None]).reshape(len(classes), -1, REPLICATES))
        in_view.append(tally.mean(SUM_IN_VIEW).reshape(len(classes), -1))
        looks += tally.looks
        if counter is not None:
            start = k * of_one + crossings
            nights.append(counter.alarms(setting.site, plan, lambda block, start=start: tell(start + block)))
    return (
        np.array(each),
        np.array(in_view),
        nights,
        looks + sum(alarms.looks for alarms in nights),
    )


def _results(
    site: Site,
    settings: list[Setting],
    classes,
    each: np.ndarray,
    in_view: np.ndarray,
    nights: Sequence[DesignAlarms],
    crossings: int,
) -> xr.Dataset:
    need, confidence = site.requirement.pd, site.requirement.confidence
    coordinates = segment_coordinates(site)
    lengths = coordinates["segment_end_m"][1] - coordinates["segment_start_m"][1]
    found = metres_of(each, crossings, lengths, need, confidence)
    pd = each.mean(axis=3)
    watched = ~np.isnan(pd).any(axis=(0, 1))
    reached = at_requirement(pd, need).any(axis=0)
    # Pd is at most the share that an armed camera sees at all, whatever threshold, N50, confirmation or size say.
    in_view_enough = (in_view >= need).all(axis=1).any(axis=0)
    names = np.array([setting.label for setting in settings])
    own = base_values(site)
    by, half = "setting", found.half[0]
    change = found.meets - found.meets[0]
    variables = {
        "family": (by, np.array([setting.family for setting in settings])),
        "value": (by, np.array([setting.value for setting in settings])),
        "base_value": (by, np.array([own.get(setting.family, "") for setting in settings])),
        "meets_m": (by, found.meets),
        "meets_low_m": (by, found.low),
        "meets_high_m": (by, found.high),
        "meets_class_m": ((by, "weather"), found.by_class),
        "change_m": (by, change),
        "change_low_m": (by, change - half),
        "change_high_m": (by, change + half),
        "weakest_tenth": (by, found.weakest_tenth),
        "weakest": (by, found.weakest),
        "pd": ((by, "weather", "segment"), pd),
        "unreached": ("segment", (watched & ~reached).astype(np.int8)),
        "out_of_view": ("segment", (watched & ~in_view_enough).astype(np.int8)),
        "noise_alarms_per_day": (by, np.array([_noise(setting.site) for setting in settings])),
        **nights_variables(nights, found.meets, found.half, names, confidence, float(lengths[watched].sum())),
    }
    coordinates = {
        "setting": names,
        "weather": np.array([each.name for each in classes]),
        "weather_hours": ("weather", np.array([each.hours_per_year for each in classes], dtype=float)),
        **coordinates,
    }
    if nights:
        coordinates["stimulus"] = np.array(list(nights[0].nights.counts.causes))
    results = xr.Dataset(variables, coordinates)
    results.attrs = {
        "title": site.title,
        "schema": RESULTS_SCHEMA,
        "tradeoff_schema": TRADEOFF_SCHEMA,
        "site_sha256": site.sha256,
        "site_toml": site.text,
        "created": datetime.now(UTC).isoformat(timespec="seconds"),
        "confidence": confidence,
        "requirement_pd": need,
        "encounter_correlation": site.decision.encounter_correlation.middle(),
        "units": site.units,
        "caution": CAUTION,
        "not_modelled": "\n".join(not_modelled(bool(nights), site.calibration is not None)),
        "crossings_per_cell": crossings,
        "fence_m": float(lengths[watched].sum()),
        "nuisance_asked": int(bool(nights)),
        **_ceilings(site),
    }
    return results


def nights_variables(
    nights: Sequence[DesignAlarms],
    metres: np.ndarray,
    metres_half: np.ndarray,
    names: np.ndarray,
    confidence: float,
    fence_m: float,
) -> dict:
    """The variables of alarms; without stimuli NaN, and nothing is dominated. fence_m: what rules watch [m]."""
    by, count = "setting", len(names)
    nothing = np.full(count, math.nan)
    year, low, high, bad, bad_high = (nothing,) * 5
    share, share_low, share_high = nothing, nothing, nothing
    found = np.full(count, -1)
    causes = {}
    if nights:
        year, low, high = np.array([each.nights.year for each in nights]).T
        bad, bad_high = np.array([[each.nights.bad_year[k] for each in nights] for k in (0, 2)], dtype=float)
        found = dominated_by(metres, metres_half, year, *alarms_apart(nights, confidence), margin_m(fence_m))
        share, share_low, share_high = np.array([alarm_difference(nights[0], each, confidence).change for each in nights]).T
        causes["nuisance_cause_year"] = ((by, "stimulus"), np.array([each.nights.counts.year for each in nights]))
    return {
        "nuisance_year": (by, year),
        "nuisance_year_low": (by, low),
        "nuisance_year_high": (by, high),
        "nuisance_change": (by, share),
        "nuisance_change_low": (by, share_low),
        "nuisance_change_high": (by, share_high),
        "bad_night_year": (by, bad),
        "bad_night_year_high": (by, bad_high),
        "dominated": (by, (found >= 0).astype(np.int8)),
        "dominated_by": (by, np.where(found >= 0, names[found], "")),
        **causes,
    }


def _ceilings(site: Site) -> dict[str, float]:
    """The ceilings of [requirement], NaN where there is none."""
    asked = site.requirement
    given = {"nuisance_ceiling": asked.nuisance_per_night, "nuisance_bad_night_ceiling": asked.nuisance_bad_night}
    return {name: math.nan if value is None else float(value) for name, value in given.items()}


def _noise(site: Site) -> float:
    """Alarms of all cameras in a day from sensor noise alone."""
    return math.fsum(noise_alarms(site, camera) for camera in site.camera)

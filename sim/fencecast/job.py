"""The whole job on one page: a site in, the Pd of every segment out.

site (and its hours) -> packed arrays -> crossings in every cell -> sums -> intervals and verdicts -> results
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from os import PathLike

import numpy as np
import xarray as xr

from fencecast.errors import UsageError, did_you_mean, name_list
from fencecast.estimate.bands import add_bands, add_fresh_bands
from fencecast.estimate.calibrated import CalibratedTally, empty_tally, settled
from fencecast.estimate.dataset import add_distance, add_fresh, build_results, describe
from fencecast.estimate.dependence import add_dependence
from fencecast.estimate.distance import distance_plans
from fencecast.estimate.installations import add_installations, check_installations
from fencecast.estimate.lift import add_lifts
from fencecast.estimate.options import DEFAULT_PRECISION, Progress, RunOptions, check_numbers, processors
from fencecast.estimate.results import Results
from fencecast.estimate.sensitivity import add_shares, cell_shares
from fencecast.estimate.simulate import DEFAULT_MAX_CROSSINGS, new_tally, simulate
from fencecast.estimate.weakest import NAMED_PLACES, lowest_places
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.kernels.types import Plan
from fencecast.lensranges import noise_alarms
from fencecast.maps.picture import GroundPicture, ground_picture
from fencecast.meteorology.load import classes_of, load_year, only_classes
from fencecast.meteorology.year import HourClass, Year
from fencecast.provenance import made_by
from fencecast.site import Site, as_site
from fencecast.site.mounting import need_camera
from fencecast.site.schema import Weather

__all__ = ["DEFAULT_MAX_CROSSINGS", "DEFAULT_PRECISION", "check_numbers", "chosen_hours", "chosen_weather", "processors", "run"]


def run(
    site: Site | str | PathLike[str],
    seed: int | None = None,
    precision: float = DEFAULT_PRECISION,
    max_crossings: int = DEFAULT_MAX_CROSSINGS,
    weather: Sequence[str] = (),
    stress: str = "",
    threads: int | None = None,
    sensitivity: bool = False,
    progress: Progress | None = None,
    command: str = "",
    year: Year | None = None,
    installations: int | None = None,
) -> xr.Dataset:
    """Simulate a site: the probability that a crossing raises an alarm, for every segment and weather class, with its interval.

    Arguments: site, from `load_site`, or the path of its file; seed, the file's when None; precision, the half width at the
    file's confidence that every segment must reach in every weather class; max_crossings, the cap of each; weather, names of the
    classes to run (all when empty; the year is then weighted over them); stress, a condition on the hours of a weather file, such
    as "visibility_m<=100": only armed hours in which it holds count; threads, all processors when None; sensitivity, also ask
    which drawn inputs drive the weakest places; progress(stage, done, expected) in crossings; command, what the results say they
    come from; year, the hours of the site's weather file when they are read already (`weather`); installations, how many yards
    as built (mounting errors, noise of units, spreads of [decision] drawn once for each) are run on the same crossings; none when
    None.
    Returns the results Dataset described under "Results" in the README: for the same site, seed and version its variables are
    the same to the last bit whatever the number of threads.
    Raises UsageError for an unknown class, a number out of range or a condition that cannot be read, InputError for a file that
    cannot be used.
    """
    site = as_site(site)
    check_installations(installations)
    options = RunOptions.of(site, seed, precision, max_crossings, threads, progress)
    need_camera(site)
    ground = ground_picture(site)
    record = load_year(site) if year is None and site.weather_file is not None else year
    year = chosen_hours(site, stress, record)
    available = classes_of(site, year)
    classes = chosen_weather(site, weather, available)
    if year is not None and len(classes) < len(available):
        year = only_classes(year, classes)
    plan = planned(site, classes)
    cells = pack_cells(site, options.seed, classes)
    active = watched_sections(site)[cells.section]
    warm_up(plan, cells, empty_tally(site, plan, cells))
    start = time.perf_counter()
    sums = empty_tally(site, plan, cells)
    tally = simulate(plan, cells, active, confidence=site.requirement.confidence, empty=sums, **options.rounds("crossings"))
    asked = {"seed": options.seed, "command": command, "precision": options.precision, "stress": stress}
    results = build_results(site, classes, tally, {**made_by(hourly=year is not None), **asked})
    if isinstance(tally, CalibratedTally):
        add_bands(results, site, tally)
    results.attrs["weather_classes"] = len(available)
    if stress:
        from fencecast.meteorology.stress import stress_counts

        results.attrs.update(stress_counts(record, year))
    looks = tally.looks
    looks += run_lowest_again(site, results, plan, classes, options)
    looks += add_lifts(results, site, plan, cells, lowest_places(Results.of(results), NAMED_PLACES), options.threads)
    if installations is not None:
        looks += add_installations(results, plan, cells, active, installations, options.rounds("installations"))
    looks += add_dependence(results, plan, cells, active, options.threads)
    if sensitivity:
        looks += add_input_shares(site, results, plan, classes, options)
    if year is not None:
        looks += add_hours(site, results, year, plan, options)
    looks += add_distance_curves(site, results, classes, options)
    if site.stimulus:
        looks += add_nuisance_alarms(site, results, classes, year, record, plan, options)
    results.attrs["looks_total"] = looks
    results.attrs["seconds"] = time.perf_counter() - start
    add_noise_alarms(site, results)
    add_picture(results, ground)
    results.attrs["threads"] = options.threads
    return describe(results)


def chosen_hours(site: Site, stress: str = "", year: Year | None = None) -> Year | None:
    """The hours of a site's weather file; with a condition, those alone in which it holds count. None without such a file.

    year: all of its hours when they are read already.
    """
    if site.weather_file is None:
        if stress:
            raise UsageError(
                f'stress "{stress}" needs hours to choose from, and this site has [[weather]] tables; name a record in '
                "[weather_file], or choose classes with --weather"
            )
        return None
    year = load_year(site) if year is None else year
    if not stress:
        return year
    from fencecast.meteorology.stress import conditioned

    return conditioned(year, stress)


def chosen_weather(
    site: Site, names: Sequence[str], available: Sequence[Weather | HourClass] | None = None
) -> tuple[Weather | HourClass, ...]:
    """The weather classes with these names, in the site's order; all of them when no name is given. available: the site's, when
    they are known already."""
    available = classes_of(site) if available is None else available
    known = [w.name for w in available]
    for name in names:
        if name not in known:
            raise UsageError(f'no weather class "{name}" in this site; there are {name_list(known)}' + did_you_mean(name, known))
    return tuple(w for w in available if not names or w.name in names)


def planned(site: Site, classes) -> Plan:
    """What the kernel runs for a site: of one that walks have calibrated without the spreads that their weights replace."""
    plan = pack_plan(site, classes)
    return plan if site.calibration is None else settled(plan)


def warm_up(plan, cells, calibrated: CalibratedTally | None = None) -> None:
    """Compile the kernels, or load them from the cache, before the clock starts; calibrated: sums that may be filled for it."""
    for tally in (new_tally(len(cells.weather), plan.cameras.bearing_rad.size), calibrated):
        if tally is not None:
            tally.advance(plan, cells, np.zeros(1, dtype=np.int64), 1, 1)


def run_lowest_again(site, results, plan, classes, options: RunOptions) -> int:
    """Run the lowest cells again on fresh crossings: the lowest of many estimates is too low by selection. Returns looks drawn.

    The cells are those of the five places that will be named, in their own class and in the worst, and the lowest of every class.
    """
    pd = results["pd"].values
    if np.isnan(pd).all():
        return 0
    places = lowest_places(Results.of(results), NAMED_PLACES)
    picked = {(place.weather_index, place.segment) for place in places}
    picked |= {(place.worse.weather_index, place.worse.segment) for place in places if place.worse is not None}
    picked |= {(row, int(np.nanargmin(pd[row]))) for row in range(len(pd)) if not np.isnan(pd[row]).all()}
    cells = pack_cells(site, options.seed, classes, purpose="fresh")
    again = np.zeros(len(cells.weather), dtype=bool)
    again[[row * pd.shape[1] + segment for row, segment in picked]] = True
    confidence = site.requirement.confidence
    sums = empty_tally(site, plan, cells)
    tally = simulate(plan, cells, again, confidence=confidence, empty=sums, **options.rounds("weakest places again"))
    add_fresh(results, np.flatnonzero(again), tally)
    if isinstance(tally, CalibratedTally):
        add_fresh_bands(results, np.flatnonzero(again), tally)
    return tally.looks


def add_input_shares(site, results, plan, classes, options: RunOptions) -> int:
    """Shares of the variance of a crossing's Pd by drawn input, in the cells of the five places that are named. Returns looks."""
    places = lowest_places(Results.of(results), NAMED_PLACES)
    if not places:
        return 0
    cells = pack_cells(site, options.seed, classes, purpose="sensitivity")
    which = [place.weather_index * results.sizes["segment"] + place.segment for place in places]
    heard = options.heard("what drives the weakest places")
    shares, looks = cell_shares(plan, cells, which, site.requirement.confidence, options.threads, heard)
    add_shares(results, places, shares)
    return looks


def add_hours(site, results, year: Year, plan, options: RunOptions) -> int:
    """Pd of every armed hour and what follows from it. Returns looks."""
    from fencecast.hours.opticalrange import add_optical_range
    from fencecast.hours.weakhours import add_weak_hours

    results.attrs["weather_source"] = year.records.source
    results.attrs["weather_sha256"] = year.records.sha256
    results.attrs["weather_notes"] = "\n".join(str(problem) for problem in year.records.problems)
    results.attrs["period_years"] = year.period_years
    looks = add_weak_hours(site, year, results, plan, options)
    return looks + add_optical_range(site, year, results, plan, options)


def add_distance_curves(site, results, classes, options: RunOptions) -> int:
    """Pd against distance for one camera with each lens in use. Returns looks drawn."""
    lenses, tallies = [], []
    for lens, plan, cells in distance_plans(site, classes, options.seed):
        everywhere = np.ones(len(cells.weather), dtype=bool)
        lenses.append(lens)
        confidence, sums = site.requirement.confidence, empty_tally(site, plan, cells)
        if sums is not None:
            plan = settled(plan)
        tallies.append(simulate(plan, cells, everywhere, confidence=confidence, empty=sums, **options.rounds("distance curves")))
    if lenses:
        add_distance(results, lenses, tallies)
    return sum(tally.looks for tally in tallies)


def add_nuisance_alarms(site, results, classes, year, record, plan, options: RunOptions) -> int:
    """Nuisance alarms a night, of a site that names what may raise them. record: the whole one, where `year` is some hours
    of it. Returns looks drawn."""
    from fencecast.estimate.encountered import encounters_of
    from fencecast.estimate.exposure import exposure_of
    from fencecast.estimate.nuisance import add_nuisance, count_nights, fence_pd
    from fencecast.estimate.onsite import counted_on_site, notes_of

    exposure = exposure_of(site, classes, year, record)
    encounters = encounters_of(site, exposure, classes, plan, options)
    noise = np.array([noise_alarms(site, camera) for camera in site.camera])
    under, looks = counted_on_site(site, classes, year, record, options)
    pd, notes = fence_pd(results), notes_of(under)
    add_nuisance(results, count_nights(site, exposure, encounters, noise, pd, under, notes))
    return looks + (encounters.looks if encounters else 0)


def add_picture(results, ground: GroundPicture | None) -> None:
    """The picture under the plan, small and grey, so that `plot` needs no file but the results."""
    if ground is not None:
        place = {"affine": ground.affine.ravel().tolist(), "residual_m": ground.residual_m}
        results["picture"] = (("picture_row", "picture_column"), ground.grey, place)


def add_noise_alarms(site, results) -> None:
    """Noise-only alarms of each camera in a day, so that nobody lowers the threshold for free."""
    results["noise_alarms_per_day"] = ("camera", np.array([noise_alarms(site, camera) for camera in site.camera]))

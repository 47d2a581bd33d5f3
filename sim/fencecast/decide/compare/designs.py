"""Variants of a site on the same crossings: which is better where, and how sure that is (`fencecast compare`)."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence

import numpy as np
import xarray as xr

from fencecast.decide.compare.nightalarms import (
    ALARM_MEANINGS,
    DEFAULT_NUISANCE_MARGIN,
    add_alarms,
    alarms_of_designs,
    check_nuisance_margin,
)
from fencecast.decide.compare.paired import comparison_verdicts, difference, holm, lockstep
from fencecast.decide.compare.variants import Design, classes_at_the_same_hours, comparable, designs_asked
from fencecast.errors import UsageError
from fencecast.estimate.dataset import MEANINGS, build_results
from fencecast.estimate.distance import DISTANCES_M, distance_plans
from fencecast.estimate.intervals import combined, interval
from fencecast.estimate.options import Progress, RunOptions
from fencecast.estimate.places import segment_lengths
from fencecast.estimate.results import Results
from fencecast.estimate.simulate import DEFAULT_MAX_CROSSINGS, REPLICATES
from fencecast.job import chosen_hours, chosen_weather, warm_up
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.lensranges import noise_alarms
from fencecast.meteorology.load import classes_of, only_classes
from fencecast.meteorology.year import Year
from fencecast.provenance import made_by

DEFAULT_MARGIN = 0.02
# Half the margin, so that a difference near zero can be seen to be inside it.
DEFAULT_PRECISION = 0.01
COMPARE_SCHEMA = 2
# What a run says of one design, and what a comparison keeps of it for every variant.
_KEPT = ("pd", "pd_low", "pd_high", "miss_share", "pd_year", "pd_year_low", "pd_year_high", "pd_worst", "pd_worst_low",
         "pd_worst_high", "worst_weather")  # fmt: skip
_WHAT = "pd of the variant minus pd of the base, on the same crossings"
COMPARE_MEANINGS = {
    "variant": ("1", "design; the first is the base"),
    "compared": ("1", "design that is compared with the base"),
    "standing": ("1", "meets, undecided or weak: pd against the requirement; or no data"),
    "pd_difference": ("1", _WHAT),
    "pd_difference_low": ("1", "lower end of its paired interval at the file's confidence"),
    "pd_difference_high": ("1", "upper end of its paired interval at the file's confidence"),
    "pd_difference_scrambling": ("1", "the same in each independent set of crossings; their mean is pd_difference"),
    "scrambling": ("1", "independent sets of crossings"),
    "pd_difference_p": ("1", "error rate at which that interval would just reach zero"),
    "pd_difference_p_holm": ("1", "the same for all cells of the comparison together (Holm)"),
    "unpaired_half_width": ("1", "half width that two runs on crossings of their own would have given"),
    "verdict": ("1", "better, worse, equivalent (interval inside the margin) or not distinguishable; or no data"),
    "pd_difference_year": ("1", f"{_WHAT}, over the year, weather classes weighted by hours"),
    "pd_difference_year_low": ("1", "lower end of its paired interval"),
    "pd_difference_year_high": ("1", "upper end of its paired interval"),
    "verdict_year": ("1", "better, worse, equivalent or not distinguishable over the year; or no data"),
    "mean_difference": ("1", "the same for the mean pd of the fence in this class"),
    "mean_difference_low": ("1", "lower end of its paired interval"),
    "mean_difference_high": ("1", "upper end of its paired interval"),
    "pd_distance_difference": ("1", "pd of the variant's lens minus pd of the base's at this distance, on the same crossings"),
    "pd_distance_difference_low": ("1", "lower end of its paired interval"),
    "pd_distance_difference_high": ("1", "upper end of its paired interval"),
    "shown_lens": ("1", "lens whose curve against distance stands for the variant"),
    "price": ("1", "sum of the prices of all cameras, in the unit of the site file"),
    "noise_alarms_per_day": ("1/day", "alarms of a camera in a day from sensor noise only, the most of any camera"),
    "variant_toml": ("1", "site file of the variant"),
    "variant_sha256": ("1", "SHA-256 of the site file that the variant comes from"),
    **ALARM_MEANINGS,
}


def compare(
    *designs: Design | Sequence[Design],
    lenses: Sequence[str] = (),
    cameras: Sequence[str] = (),
    seed: int | None = None,
    precision: float = DEFAULT_PRECISION,
    max_crossings: int = DEFAULT_MAX_CROSSINGS,
    weather: Sequence[str] = (),
    margin: float = DEFAULT_MARGIN,
    nuisance_margin: float = DEFAULT_NUISANCE_MARGIN,
    threads: int | None = None,
    progress: Progress | None = None,
    command: str = "",
    year: Year | None = None,
) -> xr.Dataset:
    """Compare every design with the first, in every segment and every weather class, on the same crossings.

    designs: sites, paths of site files or variants (`lens_variants`, `file_variants`, `table_variants`), one by one or as a list;
    their fences must agree. A single site is compared with its own `[[variant]]` tables, or with `lenses` on its `cameras` (all
    when none is named). precision: half width that every paired difference must reach; margin: a difference whose interval lies
    inside +-margin counts as equivalent; nuisance_margin: the same of nuisance alarms, as a share of the base's, when
    every design names stimuli. seed: the base's when None; year: the hours of the base's weather file when they are
    read already. The rest as in `run`.
    Returns a Dataset with dimensions variant (all) and compared (all but the base) beside those of a run; its variables are the
    same to the last bit whatever the number of threads. Raises UsageError when the variants cannot be compared.
    """
    check_margin(margin)
    check_nuisance_margin(nuisance_margin)
    variants = comparable(designs_asked(designs, lenses, cameras))
    sites = [variant.site for variant in variants]
    options = RunOptions.of(sites[0], seed, precision, max_crossings, threads, progress)
    year = chosen_hours(sites[0], year=year)
    available = classes_of(sites[0], year)
    classes = [chosen_weather(sites[0], weather, available)]
    classes += [chosen_weather(site, weather, classes_at_the_same_hours(sites[0], site, year)) for site in sites[1:]]
    order = [each.name for each in classes[0]]
    classes = [tuple(sorted(each, key=lambda w: order.index(w.name))) for each in classes]
    seed, confidence = options.seed, sites[0].requirement.confidence

    def run_all(plans, cells, active, stage: str):
        return lockstep(plans, cells, active, confidence=confidence, **options.rounds(stage))

    plans = [pack_plan(site, each) for site, each in zip(sites, classes)]
    cells = [pack_cells(site, seed, each) for site, each in zip(sites, classes)]
    active = np.any([watched_sections(site)[each.section] for site, each in zip(sites, cells)], axis=0)
    warm_up(plans[0], cells[0])
    start = time.perf_counter()
    tallies = run_all(plans, cells, active, "crossings")
    results = _cell_results(variants, classes, tallies, margin)
    picked = _lowest_cells(results)
    fresh_cells = [pack_cells(site, seed, each, purpose="fresh") for site, each in zip(sites, classes)]
    fresh = run_all(plans, fresh_cells, picked, "weakest places again")
    _add_fresh(results, fresh, picked, confidence)
    curves = _add_curves(results, variants, classes, seed, lambda *run: run_all(*run, "distance curves"))
    looks = sum(tally.looks for tally in (*tallies, *fresh, *curves))
    if all(site.stimulus for site in sites):
        hours = year if year is None or len(classes[0]) == len(available) else only_classes(year, classes[0])
        found = alarms_of_designs(sites, classes, plans, options, hours, year)
        add_alarms(results, found, confidence, nuisance_margin)
        looks += sum(each.looks for each in found)
    results["price"] = ("variant", np.array([variant.price for variant in variants]))
    noise = [max(noise_alarms(site, camera) for camera in site.camera) for site in sites]
    results["noise_alarms_per_day"] = ("variant", np.array(noise))
    results["variant_toml"] = ("variant", np.array([site.text for site in sites]))
    results["variant_sha256"] = ("variant", np.array([site.sha256 for site in sites]))
    results.attrs |= {
        **made_by(hourly=year is not None),
        "seed": seed,
        "command": command,
        "precision": options.precision,
        "margin": margin,
        "compare_schema": COMPARE_SCHEMA,
        "weather_classes": len(available),
        "threads": options.threads,
        "looks_total": looks,
        "seconds": time.perf_counter() - start,
    }
    if year is not None:
        results.attrs |= {"weather_source": year.records.source, "period_years": year.period_years}
        results.attrs["weather_sha256"] = year.records.sha256
    for name in [*results.data_vars, *results.coords]:
        unit, meaning = COMPARE_MEANINGS.get(str(name)) or MEANINGS[str(name)]
        results[name].attrs.update(units=unit, long_name=meaning)
    return results


def check_margin(margin: float) -> None:
    """Refuse a margin that is no difference of Pd."""
    if not (math.isfinite(margin) and 0.0 <= margin <= 0.5):
        raise UsageError(f"margin {margin:g} is not allowed: a difference of Pd from 0 to 0.5; type for instance 0.02")


def _cell_results(variants, classes, tallies, margin: float) -> xr.Dataset:
    runs = [build_results(v.site, each, tally, {}) for v, each, tally in zip(variants, classes, tallies)]
    base = runs[0]
    dims = {name: ("variant", *base[name].dims) for name in _KEPT}
    data = {name: (dims[name], np.array([run[name].values for run in runs])) for name in _KEPT}
    data["standing"] = (("variant", "weather", "segment"), np.array([run["verdict"].values for run in runs]))
    names = np.array([variant.name for variant in variants])
    coordinates = {name: base.coords[name] for name in base.coords if name != "camera"}
    results = xr.Dataset(data, {"variant": names, "compared": names[1:], **coordinates})
    results["crossings"] = base["crossings"]
    results.attrs = dict(base.attrs)
    _add_differences(results, tallies, margin)
    return results


def _add_differences(results, tallies, margin: float) -> None:
    confidence = float(results.attrs["confidence"])
    shape = (len(results["weather"]), len(results["segment_end_m"]))
    hours, lengths = results["weather_hours"].values, segment_lengths(results)
    found = [difference(tallies[0], other, confidence) for other in tallies[1:]]
    by_cell = ("compared", "weather", "segment")

    def add(name: str, dims, values) -> None:
        results[name] = (dims, np.array(values).reshape([results.sizes[dim] for dim in dims]))

    parts = ("mean", "low", "high", "se", "crossings")
    mean, low, high, se, crossings = ([getattr(d, part).reshape(shape) for d in found] for part in parts)
    crossings = [np.maximum(n, 1.0) for n in crossings]
    add("pd_difference", by_cell, mean)
    add("pd_difference_low", by_cell, low)
    add("pd_difference_high", by_cell, high)
    results["pd_difference_scrambling"] = (
        (*by_cell, "scrambling"),
        np.array([d.each for d in found]).reshape(len(found), *shape, REPLICATES),
    )
    results.coords["scrambling"] = np.arange(REPLICATES)
    add("pd_difference_p", by_cell, [d.p for d in found])
    add("pd_difference_p_holm", by_cell, [holm(d.p) for d in found])
    add("unpaired_half_width", by_cell, [d.unpaired_half for d in found])
    add("verdict", by_cell, comparison_verdicts(np.array(low), np.array(high), margin))
    years = [combined(m, s, n, hours, REPLICATES, confidence) for m, s, n in zip(mean, se, crossings)]
    means = [combined(m.T, s.T, n.T, lengths, REPLICATES, confidence) for m, s, n in zip(mean, se, crossings)]
    for name, dims, parts in (
        ("pd_difference_year", ("compared", "segment"), years),
        ("mean_difference", ("compared", "weather"), means),
    ):
        add(name, dims, [centre for centre, _ in parts])
        add(f"{name}_low", dims, [centre - half for centre, half in parts])
        add(f"{name}_high", dims, [centre + half for centre, half in parts])
    ends = (results["pd_difference_year_low"].values, results["pd_difference_year_high"].values)
    add("verdict_year", ("compared", "segment"), comparison_verdicts(*ends, margin))
    # Of the intervals that are printed, floors and all: standard errors alone shrink far more, and nobody is shown those.
    narrower = np.concatenate([d.unpaired_half / d.half for d in found])
    narrower = narrower[np.isfinite(narrower)]
    results.attrs["pairing_gain"] = float(np.median(narrower)) if len(narrower) else math.nan


def _lowest_cells(results) -> np.ndarray:
    """The lowest cell of every variant in every class: picked by their luck as well, so they are run again (bool, (cells,))."""
    pd = results["pd"].values
    picked = np.zeros(pd.shape[1:], dtype=bool)
    for variant in pd:
        for row, values in enumerate(variant):
            if not np.isnan(values).all():
                picked[row, int(np.nanargmin(values))] = True
    return picked.ravel()


def _add_fresh(results, tallies, picked: np.ndarray, confidence: float) -> None:
    shape = results["pd"].shape
    columns: dict[str, list] = {"pd_fresh": [], "pd_fresh_low": [], "pd_fresh_high": []}
    for tally in tallies:
        mean = tally.mean(SUM_PD)
        for name, values in zip(columns, (mean, *interval(mean, tally.half_width(confidence)))):
            columns[name].append(np.where(picked, values, np.nan).reshape(shape[1:]))
    for name, values in columns.items():
        results[name] = (("variant", "weather", "segment"), np.array(values))


def _add_curves(results, variants, classes, seed: int, run_all) -> list:
    """Pd against distance for one lens of each variant, on the same crossings; returns the tallies."""
    plans, cells = [], []
    for variant, each in zip(variants, classes):
        for lens, plan, strata in distance_plans(variant.site, each, seed):
            if lens == variant.shown_lens:
                # Strata and camera are keyed by the base's lens: else each lens would meet crossings of its own.
                keys = plans[0].cameras.key if plans else plan.cameras.key
                plans.append(plan._replace(cameras=plan.cameras._replace(key=keys)))
                cells.append(strata._replace(key=cells[0].key if cells else strata.key))
    tallies = run_all(plans, cells, np.ones(len(cells[0].weather), dtype=bool))
    confidence = float(results.attrs["confidence"])
    shape = (len(tallies), results.sizes["weather"], len(DISTANCES_M))
    mean = np.array([tally.mean(SUM_PD) for tally in tallies]).reshape(shape)
    low, high = interval(mean, np.array([tally.half_width(confidence) for tally in tallies]).reshape(shape))
    results.coords["distance"] = DISTANCES_M
    for end, values in (("", mean), ("_low", low), ("_high", high)):
        results[f"pd_distance{end}"] = (("variant", "weather", "distance"), values)
    found = [difference(tallies[0], other, confidence) for other in tallies[1:]]
    for end, part in (("", "mean"), ("_low", "low"), ("_high", "high")):
        values = np.array([getattr(d, part) for d in found]).reshape(len(found), *shape[1:])
        results[f"pd_distance_difference{end}"] = (("compared", "weather", "distance"), values)
    results["shown_lens"] = ("variant", np.array([variant.shown_lens for variant in variants]))
    return tallies


def as_run(results: xr.Dataset | Results, variant: int) -> xr.Dataset:
    """One variant of a comparison as the results of a run: what pictures and place names read."""
    one = Results.of(results).data.isel(variant=variant)
    names = [name for name in one.data_vars if not {"compared", "distance"} & set(one[name].dims)]
    run = one[names].drop_vars(["variant", "compared", "distance", "variant_toml", "variant_sha256"], errors="ignore")
    run = run.rename({"standing": "verdict"})
    sha, text = (str(results[name].values[variant]) for name in ("variant_sha256", "variant_toml"))
    return run.assign_attrs(site_toml=text, site_sha256=sha)

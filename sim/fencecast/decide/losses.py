"""Losing equipment: a site without some cameras, and what every single loss costs, on the same crossings.

A lost camera raises no alarm; its rules go on for the others. Where a rule is left without any camera, Pd is 0 there, not
unknown: the fence is still crossed. Other cameras' draws are keyed by their marks, so a loss moves nothing but its own looks.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from os import PathLike

import numpy as np
import xarray as xr

from fencecast.decide.compare.paired import difference, lockstep
from fencecast.errors import UsageError
from fencecast.estimate.intervals import combined, interval, verdicts
from fencecast.estimate.options import Progress, RunOptions
from fencecast.estimate.places import segment_lengths
from fencecast.estimate.results import Results
from fencecast.estimate.simulate import DEFAULT_MAX_CROSSINGS
from fencecast.job import chosen_hours, chosen_weather
from fencecast.kernels.crossing import SUM_CAMERA, SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import Year
from fencecast.site import Site, as_site
from fencecast.site.without import listed, without_cameras

__all__ = ["BY", "LOSS_MEANINGS", "Loss", "adds_nothing", "listed", "lose_each", "losses_of", "newly_weak_m", "newly_weak_year_m",
           "plan_without", "touched_cells", "without_cameras", "worst_losses"]  # fmt: skip

BY = ("camera", "depends_on")
NOTHING = 0.005  # a drop of Pd that two decimals do not show
LOSS_MEANINGS = {
    "loss": ("1", "what is lost: a camera's mark, or what several cameras depend on"),
    "lost": ("1", "1 where this loss takes this camera"),
    "pd_loss": ("1", "probability that one crossing raises an alarm after this loss"),
    "pd_loss_low": ("1", "lower end of its interval at the file's confidence"),
    "pd_loss_high": ("1", "upper end of its interval at the file's confidence"),
    "pd_loss_change": ("1", "pd after this loss minus pd before it, on the same crossings"),
    "pd_loss_change_low": ("1", "lower end of its paired interval"),
    "pd_loss_change_high": ("1", "upper end of its paired interval"),
    "loss_verdict": ("1", "meets, undecided or weak after this loss; or no data"),
    "loss_newly_weak": ("1", "1 where pd is weak after this loss and was not before it, judged on the same crossings"),
    "loss_mean_change": ("1", "change of the mean pd of the fence in this class"),
    "loss_mean_change_low": ("1", "lower end of its paired interval"),
    "loss_mean_change_high": ("1", "upper end of its paired interval"),
    "loss_year_change": ("1", "change of the mean pd of the fence over the year, weather classes weighted by hours"),
    "loss_year_change_low": ("1", "lower end of its paired interval"),
    "loss_year_change_high": ("1", "upper end of its paired interval"),
    "pd_loss_year": ("1", "pd after this loss over the year, weather classes weighted by hours"),
    "pd_loss_year_low": ("1", "lower end of its interval"),
    "pd_loss_year_high": ("1", "upper end of its interval"),
    "pd_loss_fresh": ("1", "pd of the lowest cell after this loss, on fresh crossings because it was picked as the lowest"),
    "pd_loss_fresh_low": ("1", "lower end of its interval"),
    "pd_loss_fresh_high": ("1", "upper end of its interval"),
}


_DIMS = {"loss_mean_change": ("weather",), "loss_year_change": (), "pd_loss_year": ("segment",)}


@dataclass(frozen=True)
class Loss:
    """What fails together: its name, and the marks of the cameras that are lost with it."""

    name: str
    marks: tuple[str, ...]


def losses_of(site, by: str) -> list[Loss]:
    """Every single loss of a site, in the order of its cameras.

    by: "camera", each alone; "depends_on", cameras with the same `depends_on` (a mast, a switch) together, the others alone.
    """
    if by not in BY:
        raise UsageError(f'losing each "{by}" is not known: one of "camera", "depends_on"')
    groups: dict[tuple[str, str], list[str]] = {}
    for camera in site.camera:
        key = ("camera", camera.mark) if by == "camera" or camera.depends_on is None else ("depends_on", camera.depends_on)
        groups.setdefault(key, []).append(camera.mark)
    names = [name for _, name in groups]
    return [Loss(name if names.count(name) == 1 else f"{kind} {name}", tuple(marks)) for (kind, name), marks in groups.items()]


def plan_without(plan, lost: np.ndarray):
    """The plan with no rule listening to the lost cameras (bool, (cameras,))."""
    hears = np.where(lost[None, :], np.uint8(0), plan.scene.rule_camera)
    return plan._replace(scene=plan.scene._replace(rule_camera=hears))


def touched_cells(lost: np.ndarray, base) -> np.ndarray:
    """Cells in which one of the lost cameras (bool, (cameras,)) had a Pd of its own above zero so far, (cells,) bool."""
    own = base.sums[:, :, SUM_CAMERA:].sum(axis=1)
    return (own[:, lost] > 0.0).any(axis=1)


def lose_each(
    results: Results | xr.Dataset,
    by: str = "camera",
    max_crossings: int = DEFAULT_MAX_CROSSINGS,
    threads: int | None = None,
    progress: Progress | None = None,
    site: Site | str | PathLike[str] | None = None,
    year: Year | None = None,
) -> xr.Dataset:
    """The results of a run, and beside them what every single loss costs.

    by: "camera", or "depends_on" (see `losses_of`); seed and precision are the run's; max_crossings, threads and progress as in
    `run`. site: that of the run, from the text in the results when it is not given; one with a weather file must be given, or be
    read where the file lies. year: its hours when they are read already.
    All losses run in lockstep with the whole site on the run's own crossings. A loss is simulated only where one of its cameras
    raised its Pd above zero in some crossing so far: elsewhere Pd is the same to the last bit, because that camera's factor is 1.
    """
    run = Results.of(results)
    site = run.site if site is None else as_site(site)
    results = run.data.copy()
    options = RunOptions.of(site, int(run.attrs["seed"]), float(run.attrs["precision"]), max_crossings, threads, progress)
    losses = losses_of(site, by)
    available = classes_of(site, chosen_hours(site, str(run.attrs.get("stress", "")), year))
    classes = chosen_weather(site, run.classes, available)
    confidence = site.requirement.confidence
    plan = pack_plan(site, classes)
    marks = [camera.mark for camera in site.camera]
    lost = np.array([[mark in loss.marks for mark in marks] for loss in losses])
    plans = [plan, *(plan_without(plan, row) for row in lost)]

    def touched(k: int, base) -> np.ndarray:
        return touched_cells(lost[k - 1], base)

    def together(purpose: str, active: np.ndarray, options: RunOptions):
        cells = pack_cells(site, options.seed, classes, purpose=purpose)
        rounds = options.rounds("What each loss costs")
        return lockstep(plans, [cells] * len(plans), active, confidence=confidence, touched=touched, **rounds)

    cells = pack_cells(site, options.seed, classes)
    tallies = together("main", watched_sections(site)[cells.section], options)
    _add_cells(results, site, losses, lost, tallies)
    lowest = _lowest(results)
    again = np.zeros(len(cells.weather), dtype=bool)
    again[lowest[lowest >= 0]] = True
    fresh = together("fresh", again, replace(options, progress=None))
    _add_fresh(results, fresh, lowest, confidence)
    for name, (unit, meaning) in LOSS_MEANINGS.items():
        results[name].attrs.update(units=unit, long_name=meaning)
    results.attrs["losses_by"] = by
    results.attrs["looks_total"] += sum(tally.looks for tally in (*tallies, *fresh))
    return results


def _add_cells(results, site, losses, lost, tallies) -> None:
    shape = results["pd"].shape
    confidence, need = site.requirement.confidence, site.requirement.pd
    lengths, hours = segment_lengths(results), results["weather_hours"].values
    results.coords["loss"] = np.array([loss.name for loss in losses])
    results["lost"] = (("loss", "camera"), lost.astype(np.int8))
    base, columns = tallies[0], {name: [] for name in LOSS_MEANINGS if name not in ("loss", "lost") and "fresh" not in name}

    def grid(values):
        return np.where(base.points > 0, values, np.nan).reshape(shape)

    before = interval(grid(base.mean(SUM_PD)), grid(base.half_width(confidence)))
    was_weak = verdicts(*before, need) == "weak"
    for tally in tallies[1:]:
        pd, half, se = grid(tally.mean(SUM_PD)), grid(tally.half_width(confidence)), grid(tally.se())
        low, high = interval(pd, half)
        change = difference(base, tally, confidence)
        mean, mean_half = combined(
            *(grid(v).T for v in (change.mean, change.se, change.crossings)), lengths, base.replicates, confidence
        )
        by_hours = np.outer(hours, lengths).ravel()
        all_in_all, all_half = combined(change.mean, change.se, change.crossings, by_hours, base.replicates, confidence)
        crossings = np.maximum(base.crossings.reshape(shape), 1)
        year, year_half = combined(pd, se, crossings, hours, base.replicates, confidence)
        year_low, year_high = interval(year, year_half)
        word = verdicts(low, high, need)
        values = (
            *(pd, low, high),
            *(grid(v) for v in (change.mean, change.low, change.high)),
            *(word, ((word == "weak") & ~was_weak).astype(np.int8)),
            *(mean, mean - mean_half, mean + mean_half),
            *(all_in_all, all_in_all - all_half, all_in_all + all_half),
            *(year, year_low, year_high),
        )
        for column, value in zip(columns.values(), values, strict=True):
            column.append(value)
    for name, column in columns.items():
        dims = _DIMS.get(name.removesuffix("_low").removesuffix("_high"), ("weather", "segment"))
        results[name] = (("loss", *dims), np.array(column))


def newly_weak_m(results) -> np.ndarray:
    """Metres that are weak only after a loss, (loss, weather)."""
    return results["loss_newly_weak"].values @ segment_lengths(results)


def newly_weak_year_m(results) -> np.ndarray:
    """Metres that are weak only after a loss, mean over the year by hours (all classes alike when none has any), (loss,)."""
    return newly_weak_m(results) @ _hours_share(results)


def worst_losses(results) -> list[int]:
    """Losses from the costliest: most metres newly weak over the year (to 0.1 m, as shown), then most drop of the mean Pd."""
    metres = newly_weak_year_m(results)
    drop = np.nan_to_num(results["loss_mean_change"].values) @ _hours_share(results)
    return sorted(range(len(metres)), key=lambda k: (-round(float(metres[k]), 1), float(drop[k])))


def adds_nothing(results) -> np.ndarray:
    """Losses after which no segment's Pd is lower by `NOTHING` in any class and no metre newly weak, (loss,) bool."""
    change = np.nan_to_num(results["pd_loss_change"].values)
    return (change > -NOTHING).all(axis=(1, 2)) & (newly_weak_m(results).sum(axis=1) <= 0.0)


def _hours_share(results) -> np.ndarray:
    hours = results["weather_hours"].values
    return hours / hours.sum() if hours.sum() > 0.0 else np.full(len(hours), 1.0 / len(hours))


def _lowest(results) -> np.ndarray:
    """The flat cell of every loss's lowest Pd in a class with hours (in any when none has); -1 without data."""
    pd, hours = results["pd_loss"].values, results["weather_hours"].values
    counted = hours > 0 if (hours > 0).any() else np.ones(len(hours), dtype=bool)
    flat = np.where(counted[None, :, None] & ~np.isnan(pd), pd, np.inf).reshape(len(pd), -1)
    return np.where(np.isinf(flat.min(axis=1)), -1, flat.argmin(axis=1))


def _add_fresh(results, tallies, lowest, confidence: float) -> None:
    shape = results["pd_loss"].shape
    columns = {name: np.full((shape[0], shape[1] * shape[2]), np.nan) for name in ("", "_low", "_high")}
    for k, (tally, cell) in enumerate(zip(tallies[1:], lowest)):
        if cell >= 0:
            pd = tally.mean(SUM_PD)[cell]
            low, high = interval(pd, tally.half_width(confidence)[cell])
            for column, value in zip(columns.values(), (pd, low, high)):
                column[k, cell] = value
    for end, column in columns.items():
        results[f"pd_loss_fresh{end}"] = (("loss", "weather", "segment"), column.reshape(shape))

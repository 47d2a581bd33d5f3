"""N50 and the encounter correlation from the walks of a plan: what they are, what is left uncertain, what the log cannot tell.

    import fencecast as fc
    fit = fc.walk_fit("yard-walks/plan.json", ["yard-walks/log.csv"], "yard-walks/walkers.csv")
    fit.cycles_50.median, fit.cycles_50.low, fit.cycles_50.high

Tests: tests/prove/fit/test_walkfit.py.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np

from fencecast.errors import InputError, UsageError
from fencecast.estimate.options import Progress
from fencecast.meteorology.load import classes_of
from fencecast.prove.fit.checks import DRAWS, Checks, check_fit
from fencecast.prove.fit.crossings import Crossings, Simulated
from fencecast.prove.fit.earlier import prior_of_fit
from fencecast.prove.fit.grid import Grid, Prior
from fencecast.prove.fit.groups import Group, effective_walkers, group_walks, walker_shares
from fencecast.prove.fit.likelihood import (
    chance_alarm,
    contrast_information,
    contrast_is_known,
    place_likelihoods,
    place_names,
    seeing,
)
from fencecast.prove.fit.posterior import Correlation, Cycles50, Posterior, posterior
from fencecast.prove.log.walked import Walker, WalkLog
from fencecast.prove.walks.planfile import WalkPlan, plan_sha256, read_plan
from fencecast.prove.walks.planned import planned_site
from fencecast.site import Site, load_site, parse_site


@dataclass(frozen=True, eq=False)
class Question:
    """What a fit is asked: the plan, its logs, who walked, the site as simulated, and the groups of walks that count."""

    plan: WalkPlan
    plan_sha256: str
    logs: tuple[WalkLog, ...]
    walkers: Mapping[str, Walker] | None
    site: Site
    other_site: bool
    groups: tuple[Group, ...]

    @property
    def prior(self) -> Prior:
        """The plan's, or the nearest that the grid can hold."""
        return Prior.within(self.plan.prior_median, self.plan.prior_spread)

    @property
    def walks(self) -> int:
        """Walks that count."""
        return sum(len(group.seen) for group in self.groups)

    @property
    def rehearsal(self) -> bool:
        """Some walk that counts is simulated, and nobody walked it."""
        return any(log.rehearsal for log in self.logs)

    @property
    def names(self) -> tuple[str, ...]:
        """Walkers of the walks that count, sorted."""
        return tuple(sorted({walk.walker for log in self.logs for walk in log.counted}))

    @property
    def effective_walkers(self) -> float:
        """Walkers who walk equally often that would be as good a sample of people."""
        return effective_walkers(walker_shares(self.logs))

    @property
    def dates(self) -> tuple[str, ...]:
        """Days of the walks that count."""
        return tuple(sorted({walk.crossed.date().isoformat() for log in self.logs for walk in log.counted}))

    @property
    def weather(self) -> tuple[str, ...]:
        """Classes of the walks that count."""
        return tuple(sorted({walk.weather for log in self.logs for walk in log.counted}))


@dataclass(frozen=True, eq=False)
class WalkFit:
    """The answer. cycles_50 is for these walkers; `any_intruder` is for people in general.

    cycles_50, correlation and place_spread are means over the contrast factor where that joined.
    contrast_information: on ln of the contrast factor; contrast: its median and ends, None where this log does not tell it.
    prior_moved: (sd of ln N50 in the prior, median) with that spread halved and doubled. without_place: the median without each.
    doubts: alarms that no N50 explains, as (trial, camera). pd_by_correlation: (correlation, mean Pd of the walks) at the median
    of N50, for correlations 0.2, 0.7 and the posterior's mean.
    """

    question: Question
    posterior: Posterior
    cycles_50: Cycles50
    correlation: Correlation
    place_spread: tuple[float, float]
    contrast_information: float
    contrast: tuple[float, float, float] | None
    walker_sd_ln: float
    prior_moved: tuple[tuple[float, float], ...]
    without_place: tuple[tuple[str, float], ...]
    checks: Checks
    nuisance_per_hour: float
    doubts: tuple[tuple[int, str], ...]
    pd_by_correlation: tuple[tuple[float, float], ...]

    @property
    def any_intruder(self) -> tuple[float, float]:
        """Ends of N50 for people in general: the variance of the walkers' mean shift is added, about the median, in logarithms.

        One person by himself differs from people in general by the whole spread of walkers, which is not in it.
        """
        known, wider = self.cycles_50, 1.0
        if known.sd_ln > 0.0:
            wider = math.hypot(known.sd_ln, self.walker_sd_ln) / known.sd_ln
        return known.median * (known.low / known.median) ** wider, known.median * (known.high / known.median) ** wider

    def at_the_files_threshold(self) -> WalkFit:
        """The same with N50, correlation and places for the file's own contrast threshold; itself where that was held anyway.

        `run` has the threshold of the file: the N50 that goes with it is not the mean over thresholds.
        """
        if self.contrast is None:
            return self
        held = self.posterior.at_the_files_threshold()
        return replace(
            self, posterior=held, cycles_50=held.cycles_50(), correlation=held.correlation(), place_spread=held.place_spread()
        )  # fmt: skip


def walk_fit(
    plan: str | PathLike[str] | WalkPlan,
    logs: str | PathLike[str] | Sequence[str | PathLike[str] | WalkLog],
    walkers: str | PathLike[str] | Mapping[str, Walker],
    site: str | PathLike[str] | Site | None = None,
    prior_median: float | None = None,
    prior_spread: float | None = None,
    nuisance_per_hour: float = 0.0,
    threads: int | None = None,
    progress: Progress | None = None,
) -> WalkFit:
    """Fit N50 and the encounter correlation to the walks of one plan.

    plan: what `walk plan` wrote; logs: one log or several of that plan; walkers: walkers.csv. site: the site as built instead of
    the plan's own text; the same fences, rules, obstacles and marks, other poses. prior_median [cycles], prior_spread (sd of
    ln N50): as the plan has them where None, or as the [calibration] of the site, whose posterior is
    the prior of new walks. nuisance_per_hour: alarms of one camera that nobody caused.
    UsageError and InputError, with every problem, for what does not fit together.
    """
    question = ask(plan, logs, walkers, site)
    prior = prior_of_fit(question, prior_median, prior_spread)
    return fit_walks(question, prior, nuisance_per_hour, simulated(question, threads, progress))


def ask(
    plan: str | PathLike[str] | WalkPlan,
    logs: str | PathLike[str] | WalkLog | Sequence[str | PathLike[str] | WalkLog],
    walkers: str | PathLike[str] | Mapping[str, Walker] | None,
    site: str | PathLike[str] | Site | None = None,
) -> Question:
    """Read everything and hold it against each other. walkers None: statures as the site has them."""
    from fencecast.prove.log.read import check_logs, read_log
    from fencecast.prove.log.walkersfile import read_walkers
    from fencecast.prove.walks.planfile import write_plan

    whole = plan if isinstance(plan, WalkPlan) else read_plan(plan)
    text = write_plan(whole) if isinstance(plan, WalkPlan) else Path(plan).read_text(encoding="utf-8-sig")
    known = read_walkers(walkers) if isinstance(walkers, (str, PathLike)) else walkers
    listed = [logs] if isinstance(logs, (str, PathLike, WalkLog)) else list(logs)
    if not listed:
        raise UsageError("no log is named: type the path of a log.csv that holds walks of this plan")
    read = tuple(each if isinstance(each, WalkLog) else read_log(str(each), whole, known) for each in listed)
    check_logs(read)
    other = None if site is None else load_site(site) if isinstance(site, (str, PathLike)) else site
    if other is not None:
        check_same_yard(parse_site(whole.site_toml, "site_toml of the plan"), other)
    used = planned_site(whole, None if isinstance(plan, WalkPlan) else plan) if other is None else other
    groups = group_walks(whole, read, known)
    lacking = sorted({group.weather for group in groups} - {each.name for each in classes_of(used)})
    if lacking:
        raise InputError([f'has no weather class "{name}", in which walks were logged' for name in lacking], "site")
    return Question(whole, plan_sha256(text), read, known, used, other is not None, groups)


def simulated(question: Question, threads: int | None = None, progress: Progress | None = None) -> Simulated:
    """Crossings of the groups as walked."""
    return Simulated(
        question.site, question.groups, question.plan.marks, question.plan.from_fence, threads=threads, progress=progress
    )


def fit_walks(question: Question, prior: Prior, nuisance_per_hour: float, crossings: Crossings, draws: int = DRAWS) -> WalkFit:
    """The fit itself, on crossings that are there already; draws: of the checks."""
    by_chance = chance_alarm(nuisance_per_hour, len(question.plan.marks))
    groups, places = question.groups, place_names(question.groups)
    grid = Grid.about(prior.median)
    known = posterior(places, place_likelihoods(groups, [crossings], grid, by_chance), prior, grid)
    used: list[Crossings] = [crossings]
    information = contrast_information(groups, crossings, known.cycles_50().median, known.correlation().mean)
    contrast = None
    if contrast_is_known(information):
        grid = Grid.about(prior.median, contrast=True)
        used = [crossings if factor == 0.0 else crossings.at_contrast(math.exp(factor)) for factor in grid.ln_contrast]
        known = posterior(places, place_likelihoods(groups, used, grid, by_chance), prior, grid)
        contrast = known.contrast()
    checks = check_fit(known, groups, used, by_chance, draws)
    moved = tuple((prior.spread * factor, known.with_prior_spread(factor).cycles_50().median) for factor in (0.5, 2.0))
    each = tuple((name, known.without(name).cycles_50().median) for name in places) if len(places) > 1 else ()
    return WalkFit(
        question, known, known.cycles_50(), known.correlation(), known.place_spread(), information, contrast,
        prior.walker_spread / math.sqrt(question.effective_walkers), moved, each, checks, nuisance_per_hour,
        _unexplained(question, crossings, grid, by_chance),
        tuple(
            (r, mean_pd(groups, crossings, known.cycles_50().median, r))
            for r in sorted({0.2, 0.7, round(known.correlation().mean, 3)})
        ),
    )  # fmt: skip


def mean_pd(groups: Sequence[Group], crossings: Crossings, cycles_50: float, correlation: float) -> float:
    """Mean over the walks of the probability that any camera alarms."""
    total = 0.0
    for k, group in enumerate(groups):
        cameras = seeing(crossings, k, cycles_50)
        if cameras:
            total += len(group.seen) * (1.0 - float(crossings.pattern_table(k, cameras, cycles_50, correlation)[0]))
    return total / sum(len(group.seen) for group in groups)


def _unexplained(
    question: Question, crossings: Crossings, grid: Grid, by_chance: np.ndarray | None
) -> tuple[tuple[int, str], ...]:
    """Alarms of cameras that the model gives less than one in a thousand at any N50, as (trial, camera)."""
    if by_chance is not None:
        return ()
    found = []
    for k, group in enumerate(question.groups):
        most = crossings.camera_pd(k, grid.cycles_50).max(axis=0)
        for walk, camera in zip(*np.nonzero((group.seen == 1) & (most < 1e-3))):
            found.append((group.trials[walk], question.plan.marks[camera]))
    return tuple(sorted(found))


def check_same_yard(own: Site, other: Site) -> None:
    """InputError, with every difference, unless both have the same fences, obstacles, rules and cameras; poses may differ."""
    problems = []
    for table, what in (("perimeter", "fences"), ("obstacle", "obstacles"), ("rule", "rules")):
        if getattr(own, table) != getattr(other, table):
            problems.append(
                f"{what} ([[{table}]]) are not those of the plan: the walks were made on others; allowed: the plan's site with "
                "other poses, such as fencecast built writes; or plan and walk anew"
            )
    marks, others = [camera.mark for camera in own.camera], [camera.mark for camera in other.camera]
    if marks != others:
        problems.append(f"cameras are {', '.join(others)}: the plan has {', '.join(marks)}, in this order; or plan and walk anew")
    if problems:
        raise InputError(problems, "--site")

"""Walks whose every probability is known: each camera has one step, on a post of its own, at a given N. NumPy and scipy alone."""

from __future__ import annotations

import datetime
import math
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from scipy import special

from fencecast.prove.fit.grid import Prior
from fencecast.prove.fit.groups import group_walks
from fencecast.prove.fit.walkfit import Question, fit_walks
from fencecast.prove.log.walked import Walked, Walker, WalkLog
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.site import parse_site
from prove.invented_walks import PD, invented_plan

Z = np.linspace(-5.5, 5.5, 31)
WEIGHT = np.exp(-0.5 * Z * Z) / np.exp(-0.5 * Z * Z).sum()
NIGHT = datetime.datetime(2026, 11, 29, 20, 0, 0)
WALKERS = {"A": Walker("A", 1.80), "B": Walker("B", 1.65, 1.5)}


def curve(ratio):
    """The law of resolution, typed anew."""
    ratio = np.asarray(ratio, dtype=float)
    return 1.0 / (1.0 + np.exp(-(2.7 + 0.7 * ratio) * np.log(np.maximum(ratio, 1e-12))))


def cycles_of(pd, cycles_50=2.0):
    """N at which the law gives a Pd, by bisection."""
    low, high = -6.0, 6.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if curve(math.exp(middle)) < pd else (low, middle)
    return cycles_50 * math.exp(0.5 * (low + high))


@dataclass
class OneStep:
    """`Crossings` of groups: cycles (groups, cameras); grazing: the power of the contrast factor with which N falls."""

    cycles: np.ndarray
    grazing: float = 0.0

    def _given_z(self, group, cycles_50, correlation):
        """P of each camera given z: (N50, r, z, cameras)."""
        n = np.asarray(cycles_50, dtype=float).reshape(-1, 1, 1, 1)
        r = np.asarray(correlation, dtype=float).reshape(1, -1, 1, 1)
        score = special.ndtri(np.clip(curve(self.cycles[group] / n), 1e-15, 1.0 - 1e-15))
        return special.ndtr((score - np.sqrt(r) * Z.reshape(1, 1, -1, 1)) / np.sqrt(1.0 - r))

    def log_likelihood(self, group, seen, cycles_50, correlation, chance_alarm):
        p = self._given_z(group, cycles_50, correlation)
        if chance_alarm is not None:
            p = 1.0 - (1.0 - p) * (1.0 - chance_alarm)
        each = [np.where(row == 1, p, np.where(row == 0, 1.0 - p, 1.0)).prod(axis=-1) @ WEIGHT for row in seen]
        with np.errstate(divide="ignore"):
            return np.log(np.array(each))

    def camera_pd(self, group, cycles_50):
        return curve(self.cycles[group] / np.asarray(cycles_50, dtype=float)[:, None])

    def pattern_table(self, group, cameras, cycles_50, correlation):
        p = self._given_z(group, [cycles_50], [correlation])[0, 0][:, list(cameras)]
        sets = (np.arange(2 ** len(cameras))[:, None] >> np.arange(len(cameras))) & 1
        return np.array([WEIGHT @ np.where(each == 1, p, 1.0 - p).prod(axis=-1) for each in sets])

    def at_contrast(self, factor):
        return OneStep(self.cycles * factor**-self.grazing, self.grazing)


def invented_crossings(groups, grazing=0.0):
    """One step for both cameras of the invented plan: its Pd at N50 2."""
    return OneStep(np.array([[cycles_of(pd) for pd in PD[group.gait, group.chainage_m][:2]] for group in groups]), grazing)


def invented_log(
    plan: WalkPlan, cycles_50: float, correlation: float, seed: int, place_spread: float = 0.0, off: float = 0.0, day: int = 0
) -> WalkLog:
    """Every trial of the plan, walked by A and B in turns, as cameras of one step would see it."""
    rng = np.random.default_rng(seed)
    shift = {place.place: math.exp(place_spread * rng.standard_normal()) for place in plan.places}
    walks = []
    for trial in plan.trials:
        kind = plan.kind_of(trial.kind)
        z, heard = rng.standard_normal(), {}
        for mark in plan.marks:
            pd = curve(cycles_of(kind.pd_camera[mark]) / (cycles_50 * shift[kind.place]))
            score = special.ndtri(pd) - math.sqrt(correlation) * z
            alarm = score > math.sqrt(1.0 - correlation) * rng.standard_normal()
            heard[mark] = "off" if rng.random() < off else "yes" if alarm else "no"
        crossed = NIGHT + datetime.timedelta(days=day, seconds=120 * trial.trial)
        walker = "AB"[(trial.trial + (trial.trial - 1) // len(plan.kinds)) % 2]
        walks.append(
            Walked(
                trial.trial,
                kind.place,
                kind.gait,
                kind.direction,
                walker,
                crossed,
                heard,
                kind.kind,
                trial.claim,
                trial.control,
                plan.weather,
            )  # fmt: skip
        )
    return WalkLog(f"log-{day}.csv", tuple(walks), (), f"{seed:064x}")


class InventedSimulation(OneStep):
    """In the place of `Simulated`: the invented plan's walks, nothing simulated."""

    def __init__(self, site, groups, marks, from_fence=True, **how):
        super().__init__(invented_crossings(groups).cycles)


def without_simulation(monkeypatch):
    """Every command on these steps."""
    for module in ("walkfit", "next", "again"):
        monkeypatch.setattr(f"fencecast.prove.fit.{module}.Simulated", InventedSimulation)


@cache
def invented_fit(
    rounds=3, cycles_50=2.6, correlation=0.3, seed=5, place_spread=0.0, nuisance=0.0, draws=30, kept=lambda walk: True
):
    """A fit of an invented log."""
    plan = invented_plan(rounds)
    log = invented_log(plan, cycles_50, correlation, seed, place_spread)
    log = replace(log, walks=tuple(walk for walk in log.walks if kept(walk)))
    return invented_fit_of(log, nuisance, draws, plan=plan)


def invented_fit_of(log: WalkLog, nuisance: float = 0.0, draws: int = 20, crossings=invented_crossings, plan=None, prior=None):
    """A fit of one log of an invented plan; crossings: made from the groups."""
    plan = plan or invented_plan(3)
    groups = group_walks(plan, [log], WALKERS)
    question = Question(plan, "0" * 64, (log,), WALKERS, parse_site(plan.site_toml), False, groups)
    return fit_walks(question, prior or Prior(), nuisance, crossings(groups), draws)

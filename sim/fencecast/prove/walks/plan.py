"""`fencecast walk plan`: a walk test as a whole, with what is predicted of every walk and the chance that each claim passes.

    import fencecast as fc
    plan = fc.walk_plan("yard.toml")                # or minutes=240, goal="accept", places=["north fence 14"]
    fc.plot_walk_plan(plan)

Tests: tests/prove/walks/test_walk_plan.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike

import numpy as np

from fencecast.estimate.options import Progress, RunOptions
from fencecast.prove.walks import chance
from fencecast.prove.walks.allot import Ground, Task, allot, kind_key, with_controls
from fencecast.prove.walks.asfinished import Crossed
from fencecast.prove.walks.assembled import Material, assembled
from fencecast.prove.walks.choose import calibration_places, sample_places, weak_places
from fencecast.prove.walks.kinds import Steps, simulate_walks
from fencecast.prove.walks.order import in_order, walk_seconds
from fencecast.prove.walks.places import Spot, asked_spots, spots_of, with_line_ahead
from fencecast.prove.walks.planfile import WalkPlan
from fencecast.prove.walks.predict import Simulated, predicted_pd
from fencecast.prove.walks.prior import Prior, prior_of
from fencecast.prove.walks.testweather import class_of_test
from fencecast.prove.walks.wishes import Wishes, checked
from fencecast.prove.walks.worth import Worth, worth_of
from fencecast.site import Site, as_site

PLACES = 6
WEAK_PLACES = 3
REPEATS = 3  # for which places are chosen
CROSSINGS = 128
# A control whose predicted Pd is larger may alarm by right (judgement, no source): along another section's line, say.
CONTROL_PD = 0.001
HOPELESS = 0.05  # a place whose claim passes less often, as predicted, wants a remedy and no test


def walk_plan(
    site: Site | str | PathLike[str],
    goal: str = "both",
    weather: str | None = None,
    minutes: float = 120.0,
    walks: int | None = None,
    gaits: Sequence[str] = (),
    full: int | None = None,
    misses: int = 2,
    places: Sequence[str] = (),
    from_fence: bool = False,
    seed: int | None = None,
    together: bool = False,
    threads: int | None = None,
    progress: Progress | None = None,
) -> WalkPlan:
    """A walk test of a finished site: places, kinds, walks in their order, claims, and what is predicted of each.

    goal: `calibrate` (walks that say most of N50 and the correlation), `accept` (walks that show the requirement), or `both`:
    calibration first, the rest of the time for claims, the lowest place first. weather: the class of the test; by default the
    one in which the site does best. minutes: what there is; walks: that many instead. gaits: walk and crouch by
    default. full: how many weak places get a claim of their own, by default up to three of those whose claim may pass.
    misses: that the longest ladder allows. places: places that must be among them (`north fence 14`). from_fence: walks start at
    the fence's inside foot; they do anyhow where some of the fence has a barrier. together: the confidence holds for all claims
    at once. progress(stage, done, expected) counts crossings. The same seed (the site's by default) gives the same plan.

    UsageError for what the site does not have, for a site without cameras or rules, and for a time in which nothing fits.
    """
    site = as_site(site)
    options = RunOptions.of(site, seed, threads=threads, progress=progress)
    wishes = checked(site, goal, weather, minutes, walks, gaits, full, misses, places, from_fence, options.seed, together)
    return _Planning(site, wishes, prior_of(site), options).plan()


make_plan = walk_plan


@dataclass(frozen=True)
class _Planning:
    """What the parts of one plan share."""

    site: Site
    wishes: Wishes
    prior: Prior
    options: RunOptions

    def plan(self) -> WalkPlan:
        """From candidates to the file."""
        site, wishes, prior = self.site, self.wishes, self.prior
        asked = asked_spots(site, wishes.places)
        spots, from_fence = crossable(spots_of(site), asked, wishes.from_fence)
        spots = with_line_ahead(site, spots, from_fence)
        weather, why = class_of_test(
            site,
            spots,
            wishes.weather,
            wishes.direction,
            from_fence,
            wishes.seed,
            self.options.threads,
            self.options.heard("weather of the test"),
        )
        walks = {
            kind_key(spot.label, gait, wishes.direction): Crossed(spot.name, spot.chainage_m, gait, wishes.direction)
            for spot in spots
            for gait in wishes.gaits
        }
        simulated = Simulated()
        simulated.add(walks, self._steps(walks, weather, from_fence))
        steps = simulated.steps[0]
        worth = worth_of(steps, prior, self.options.threads)
        task, hopeless = self._task(spots, steps, worth)
        ground = self._ground(spots, walks, steps)
        found = allot(task, ground)
        against = {want.kind: _crossed(want.kind, spots) for want in found.wants if want.kind not in simulated.at}
        if against:
            simulated.add(against, self._steps(against, weather, from_fence))
            pd = dict(zip(against, predicted_pd(simulated.steps[1], prior).tolist()))
            found = with_controls(found, tuple(kind for kind in against if pd[kind] <= CONTROL_PD), ground)
        order = in_order(found.wants, wishes.seed)
        test = Material(
            site, wishes, prior, spots, weather, why, from_fence, simulated, worth.here, found, order, hopeless
        )  # fmt: skip
        return assembled(test)

    def _steps(self, walks: dict[str, Crossed], weather: str, from_fence: bool) -> Steps:
        return simulate_walks(
            self.site, list(walks.values()), weather, crossings=CROSSINGS, seed=self.wishes.seed, from_fence=from_fence,
            threads=self.options.threads, progress=self.options.heard("walks"),
        )  # fmt: skip

    def _ground(self, spots: list[Spot], walks: dict[str, Crossed], steps: Steps) -> Ground:
        seconds = {}
        for row, (key, walk) in enumerate(walks.items()):
            each = walk_seconds(float(steps.path_m[row]), self.site.intruder.speed_m_s[walk.gait].middle())
            # A control has the same way, walked from its other end.
            seconds |= {key: each, kind_key(key.split("\t")[0], walk.gait, "out" if walk.direction == "in" else "in"): each}
        return Ground(seconds, {spot.label: (spot.x_m, spot.y_m) for spot in spots}, self.wishes.seed)

    def _task(self, spots: list[Spot], steps: Steps, worth: Worth) -> tuple[Task, tuple[str, ...]]:
        """What is wanted where, and places whose claim would hardly ever pass."""
        wishes, requirement = self.wishes, self.site.requirement
        rows = np.arange(len(steps)).reshape(len(spots), -1)
        pd = predicted_pd(steps, self.prior)[rows].mean(axis=1)
        count = max(PLACES, sum(spot.asked for spot in spots))
        best = calibration_places(spots, rows.tolist(), worth, self.prior, count, REPEATS) if wishes.goal != "accept" else []
        weak, hopeless = self._weak(spots, pd)
        sample: list[int] = []
        if wishes.goal == "accept":
            taken = [spots[k] for k in weak]
            fine = [k for k, spot in enumerate(spots) if pd[k] >= requirement.pd and all(spot.apart(each) for each in taken)]
            sample = sample_places(spots, fine, PLACES, wishes.seed)
        calibration, own, pool = (tuple(spots[k].label for k in chosen) for chosen in (best, weak, sample))
        task = Task(
            wishes.goal, wishes.gaits, calibration, own, pool, requirement.pd, 1.0 - requirement.confidence, wishes.misses,
            wishes.minutes, wishes.walks, wishes.together, wishes.direction, wishes.controls,
            {spot.label: float(each) for spot, each in zip(spots, pd)},
        )  # fmt: skip
        return task, tuple(spots[k].label for k in hopeless)

    def _weak(self, spots: list[Spot], pd: np.ndarray) -> tuple[list[int], list[int]]:
        """Places for claims of their own, lowest first, and those left out because a test of them would hardly ever pass."""
        wishes, requirement = self.wishes, self.site.requirement
        if wishes.goal == "calibrate" or wishes.full == 0:
            return [], []
        fixed = [k for k, spot in enumerate(spots) if spot.asked] if wishes.goal == "accept" else []
        low = [*fixed, *_apart_from(fixed, weak_places(spots, pd, CROSSINGS, requirement.pd), spots)]
        if wishes.full is not None:
            for k in np.argsort(pd, kind="stable").tolist():
                low += _apart_from(low, [k], spots)
            return low[: max(wishes.full, len(fixed))], []
        stops = chance.ladder(requirement.pd, requirement.confidence, wishes.misses)
        passes = chance.course(stops, pd).chance
        kept = [*fixed, *(k for k in low[len(fixed) :] if passes[k] >= HOPELESS)]
        hopeless = [k for k in low[len(fixed) :] if passes[k] < HOPELESS]
        return kept[: max(WEAK_PLACES, len(fixed))], hopeless


def crossable(candidates: list[Spot], asked: list[Spot], from_fence: bool) -> tuple[list[Spot], bool]:
    """Candidates, places that were asked for first, and whether walks start at the fence.

    Walks come from outside where the fence is open all along. Where a part of it has a barrier they start at its inside foot
    everywhere: tests of gates and quays alone would leave out the fence.
    """
    spots = [*asked, *(spot for spot in candidates if all(spot.label != each.label for each in asked))]
    return spots, from_fence or not all(spot.open for spot in spots)


def _apart_from(taken: list[int], more: list[int], spots: list[Spot]) -> list[int]:
    return [k for k in more if all(spots[k].apart(spots[j]) for j in taken)]


def _crossed(key: str, spots: list[Spot]) -> Crossed:
    label, gait, direction = key.split("\t")
    spot = next(each for each in spots if each.label == label)
    return Crossed(spot.name, spot.chainage_m, gait, direction)

"""What every camera has of every place: in view at feet, waist and head, effective cycles, and the ceiling of Pd.

Everything is computed once for a site, with cameras as drawn; checks only ask. The ceiling is the Pd that geometry leaves on a
clear night without noise: sum over gaits of share x [1 - product over posts of (1 - P(N_eff / N50))], P of a post that of its
best camera.

Tests: tests/review/test_cover.py.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fencecast.review.cycles import (
    GAITS,
    Paths,
    Walker,
    cycles_of_looks,
    effective_cycles,
    look_times,
    near_enough,
    probability,
    ratio_of,
    walkers_of,
)
from fencecast.review.optics import Eye, Hiders, eyes_of, hiders_of, shadow_m
from fencecast.review.places import Places, Samples, cut_places, sample_rules

# Heights [m] at which a point counts as in view; lying: somebody flat on the ground.
SAME_POST_M = 2.0
HEIGHTS_M = {"feet": 0.0, "lying": 0.3, "waist": 1.0, "head": 1.8}


@dataclass(frozen=True, eq=False)
class Cover:
    """All that the checks ask. Arrays: places (n,), samples (s,), cameras (c,), gaits (g,).

    frames, views: by height, (s, c): the point of the sample is in the frame, and nothing stands before it; cycles (s, c, g):
    N_eff; heard (s, c): whether the sample's rule hears the camera; post (c,): number of its post.
    """

    site: object
    eyes: list[Eye]
    hiders: Hiders
    places: Places
    samples: Samples
    walkers: list[tuple[Walker, float]]
    frames: dict[str, np.ndarray]
    views: dict[str, np.ndarray]
    cycles: np.ndarray
    heard: np.ndarray
    post: np.ndarray

    @property
    def cycles_50(self) -> float:
        return float(self.site.decision.cycles_50.middle())

    @property
    def reference(self) -> int:
        """Number (among the gaits that occur) of the walk, or else of the commonest gait."""
        shares = [share for _, share in self.walkers]
        walk = [k for k, (walker, _) in enumerate(self.walkers) if GAITS[walker.gait] == "walk"]
        return walk[0] if walk else int(np.argmax(shares))

    @cached_property
    def needed_cycles(self) -> float:
        """N_eff at which one camera alone meets the requirement for one gait."""
        return self.cycles_50 * ratio_of(float(self.site.requirement.pd))

    @cached_property
    def resolves(self) -> np.ndarray:
        """(s, c): whether the camera alone resolves the reference gait well enough, whether or not the rule hears it."""
        return self.cycles[:, :, self.reference] >= self.needed_cycles

    @cached_property
    def gait_ceiling(self) -> np.ndarray:
        """(s, g): ceiling of each gait, by the cameras that the rule hears."""
        return gait_ceilings(self.cycles, self.heard, self.post, self.cycles_50)

    @cached_property
    def ceiling(self) -> np.ndarray:
        """(s,): ceiling over gaits."""
        return self.gait_ceiling @ np.array([share for _, share in self.walkers])

    @cached_property
    def best_post_ceiling(self) -> np.ndarray:
        """(s,): ceiling over gaits of the best single post."""
        found = np.zeros(len(self.samples))
        shares = np.array([share for _, share in self.walkers])
        for post in np.unique(self.post):
            mine = self.heard & (self.post == post)
            found = np.maximum(found, gait_ceilings(self.cycles, mine, self.post, self.cycles_50) @ shares)
        return found

    def per_place(self, values: np.ndarray, empty=0.0) -> np.ndarray:
        """The best (largest) of a place's samples, (n,): several rules are an OR; `empty` where no rule is met."""
        found = np.full(len(self.places), -np.inf)
        np.maximum.at(found, self.samples.place, values.astype(float))
        return np.where(np.isneginf(found), empty, found)

    def any_rule(self, good: np.ndarray) -> np.ndarray:
        """(n,) bool: places where something holds for at least one of the rules met there."""
        found = np.zeros(len(self.places), dtype=bool)
        found[self.samples.place[good]] = True
        return found

    @cached_property
    def met(self) -> np.ndarray:
        """(n,) bool: places whose straight path meets a rule."""
        return self.any_rule(np.ones(len(self.samples), dtype=bool))

    def seen(self, height: str) -> np.ndarray:
        """(s,): in view of a camera that the rule hears."""
        return (self.views[height] & self.heard).any(axis=1)


def gait_ceilings(cycles: np.ndarray, heard: np.ndarray, post: np.ndarray, cycles_50: float) -> np.ndarray:
    """(s, g): 1 - product over posts of (1 - P of the best camera of the post that is heard)."""
    missed = np.ones((cycles.shape[0], cycles.shape[2]))
    for number in np.unique(post):
        mine = np.flatnonzero(post == number)
        best = np.where(heard[:, mine, None], cycles[:, mine], 0.0).max(axis=1)
        missed *= 1.0 - probability(best / cycles_50)
    return 1.0 - missed


def view_at(eye: Eye, hiders: Hiders, point: np.ndarray, height_m: float) -> tuple[np.ndarray, np.ndarray]:
    """Which points (k, 2) at a height are in the frame, and which of them with nothing before them."""
    framed = eye.frames(point[:, 0], point[:, 1], height_m)
    where = np.flatnonzero(framed)
    seen = framed.copy()
    seen[where] = shadow_m(eye, hiders, point[where, 0], point[where, 1]) <= height_m
    return framed, seen


def paths_of(site, places: Places, samples: Samples) -> Paths:
    """The straight path of every sample."""
    rules = [site.rule[k] for k in samples.rule]
    where = samples.place
    # A site all of whose lines watch outwards is crossed from inside out.
    outward = np.array([rule.kind == "line" and rule.direction == "outward" for rule in rules], dtype=bool)
    return Paths(
        places.point[where],
        places.normal[where],
        samples.depth_m,
        samples.leave_m,
        places.climb_m[where],
        places.free_m[where],
        np.array([rule.time_window_s for rule in rules], dtype=float),
        np.array([rule.dwell_s for rule in rules], dtype=float),
        np.array([rule.kind == "area" for rule in rules], dtype=bool),
        outward,
    )


def camera_cycles(site, eye: Eye, hiders: Hiders, paths: Paths, walker: Walker, point: np.ndarray, m: int, n: int) -> np.ndarray:
    """N_eff (s,) of one camera and one gait at every sample."""
    found = np.zeros(len(paths))
    slack = (
        float(site.intruder.path_m) if paths.area.any() else 3.0 + 2.0 * walker.speed_m_s * float(paths.window_s.max(initial=0.0))
    )
    ask = np.flatnonzero(near_enough(eye, _side_m(walker), point, float(site.decision.cycles_50.middle()), min(slack, 15.0)))
    if len(ask):
        mine = paths.take(ask)
        looks, _ = cycles_of_looks(eye, hiders, mine, walker, look_times(mine, walker, float(site.decision.looks_per_s), n))
        found[ask] = effective_cycles(looks, m, n)
    return found


def _side_m(walker: Walker) -> float:
    """Side of the square that the largest picture of this person fills [m]."""
    return max(float(np.sqrt(h * max(b, d))) for h, b, d in (walker.size_m(True), walker.size_m(False)))


def cover(site) -> Cover:
    """The cover of a site with its cameras as drawn."""
    eyes, hiders, places = eyes_of(site), hiders_of(site), cut_places(site)
    samples, walkers = sample_rules(site, places), walkers_of(site)
    m, n = site.decision.confirm
    paths = paths_of(site, places, samples)
    shape = (len(samples), len(eyes))
    frames = {name: np.zeros(shape, dtype=bool) for name in HEIGHTS_M}
    views = {name: np.zeros(shape, dtype=bool) for name in HEIGHTS_M}
    cycles = np.zeros((*shape, len(walkers)))
    for c, eye in enumerate(eyes):
        for name, height in HEIGHTS_M.items():
            frames[name][:, c], views[name][:, c] = view_at(eye, hiders, samples.point, height)
        for g, (walker, _) in enumerate(walkers):
            cycles[:, c, g] = camera_cycles(site, eye, hiders, paths, walker, samples.point, m, n)
    marks = [eye.mark for eye in eyes]
    heard_by = np.array([[mark in rule.cameras for mark in marks] for rule in site.rule], dtype=bool).reshape(-1, len(eyes))
    heard = heard_by[samples.rule] if len(samples) else np.zeros(shape, dtype=bool)
    return Cover(site, eyes, hiders, places, samples, walkers, frames, views, cycles, heard, posts_of(eyes))


def posts_of(eyes: list[Eye]) -> np.ndarray:
    """The first camera of each camera's post, (c,): within 2 m of each other, in chains, as in `kernels.pack_inputs`."""
    at = np.array([[eye.x_m, eye.y_m] for eye in eyes]).reshape(-1, 2)
    joined = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1)) <= SAME_POST_M + 1.0e-9
    for k in range(len(joined)):
        joined |= np.outer(joined[:, k], joined[k])
    return joined.argmax(axis=1) if len(joined) else np.zeros(0, dtype=int)


def unheard_help(found: Cover) -> dict[int, list[int]]:
    """For each rule (from 0) the cameras that it does not hear and that alone resolve places of it which no camera that is heard
    at that place does: what could be added at no cost."""
    samples = found.samples
    held = found.any_rule((found.resolves & found.heard).any(axis=1))
    helps = found.resolves & ~found.heard & ~held[samples.place][:, None]
    rules = np.unique(samples.rule)
    return {int(k): [int(c) for c in np.flatnonzero(helps[samples.rule == k].any(axis=0))] for k in rules}


@dataclass(frozen=True)
class Metres:
    """Metres of fence with a height in the picture of some camera, and of two or more on different posts; all: of the fence."""

    height: str
    height_m: float
    one_m: float
    two_m: float
    whole_m: float


def geometric_metres(found: Cover) -> list[Metres]:
    """How much of the fence is in view at feet, waist and head, whichever rule hears: what is meant by 'n % of the fence in
    view'. A place is asked where a straight path meets its rule, or on the fence where no rule is met."""
    places, samples = found.places, found.samples
    bare = np.flatnonzero(~found.met)
    rows = []
    for name in ("feet", "waist", "head"):
        one, two = np.zeros(len(places), dtype=bool), np.zeros(len(places), dtype=bool)
        seen = found.views[name]
        posts = np.zeros((len(np.unique(found.post)), len(samples)), dtype=bool)
        for k, post in enumerate(np.unique(found.post)):
            posts[k] = seen[:, found.post == post].any(axis=1)
        np.logical_or.at(one, samples.place, posts.any(axis=0))
        np.logical_or.at(two, samples.place, posts.sum(axis=0) >= 2)
        if len(bare):
            at = [view_at(eye, found.hiders, places.point[bare], HEIGHTS_M[name])[1] for eye in found.eyes]
            count = np.array([np.any([at[c] for c in np.flatnonzero(found.post == p)], axis=0) for p in np.unique(found.post)])
            one[bare], two[bare] = count.any(axis=0), count.sum(axis=0) >= 2
        length = places.length_m
        rows.append(Metres(name, HEIGHTS_M[name], float(length[one].sum()), float(length[two].sum()), float(length.sum())))
    return rows

"""Why, one step further: the crossings of the named places asked again with one thing lifted at a time.

What brings back most of the misses of the place's cause is what they are due to. Thresholds are judgement: a gain of 0.05, and a
third of those misses.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import xarray as xr

from fencecast.errors import InputError
from fencecast.estimate.results import Results
from fencecast.estimate.simulate import REPLICATES, advance, new_tally
from fencecast.estimate.weatherlifts import Lift, weather_lifts
from fencecast.kernels.crossing import SUM_ANY_VIEW, SUM_CONFIRMED, SUM_IN_VIEW, SUM_PD, SUM_RESOLVED, SUM_UNGATED
from fencecast.kernels.pack import pack_scene
from fencecast.kernels.types import NO_BARRIER, SEE_THROUGH, Cells, Plan
from fencecast.physics.body import GAITS

if TYPE_CHECKING:
    from fencecast.estimate.weakest import Place
    from fencecast.site import Site

POINTS = 32  # of each of the eight scramblings: differences on the same crossings need few
LEAST_GAIN = 0.05
LEAST_SHARE = 1.0 / 3.0
TIE = 0.02  # gains that differ by less are alike
LONG_WINDOW_S, NEAR_LINE_M, USUAL_LOOKS_PER_S = 5.0, 0.5, 5.0
MOST_OBSTACLES = 12  # the nearest ones are asked for one by one
# Of a place's cause, the rung of the ladder that its misses are missing from.
RUNG = {
    "no rule there": SUM_IN_VIEW,
    "not in view": SUM_ANY_VIEW,
    "too small": SUM_RESOLVED,
    "too brief": SUM_CONFIRMED,
    "washed out": SUM_UNGATED,
    "not accepted": SUM_PD,
}


def lifts_of(site: Site, plan: Plan, place: Place, x_m: float, y_m: float) -> list[Lift]:
    """What may be lifted at a place (x_m, y_m: of its segment), by its cause there."""
    if place.cause == "no rule there":
        return [*_heard(site, place.section), *_longer_window(plan), *_line_at_the_fence(site, place)]
    found = _heard(site, place.section)
    found += [
        Lift(f"gait: {gait}", lambda plan, k=k: _one_gait(plan, k)) for k, gait in enumerate(GAITS) if _share(plan, k) > 0.0
    ]
    if place.cause == "not in view":
        return [*found, *_mounting(plan), *_obstacles(site, x_m, y_m), *_fences(site, plan)]
    if place.cause == "too brief":
        return [*found, *_fewer_looks(plan), *_fences(site, plan)]
    if place.cause == "washed out":
        return [*found, *weather_lifts(plan, place.weather_index), *_settings(plan), *_fences(site, plan)]
    if place.cause == "not accepted":
        return [*found, Lift("size gate", lambda plan: plan._replace(decision=plan.decision._replace(size_gate=(0.0, 0.0))))]
    return found


def _share(plan: Plan, gait: int) -> float:
    cumulative = plan.intruder.gait_cumulative
    return float(cumulative[gait] - (cumulative[gait - 1] if gait else 0.0))


def _one_gait(plan: Plan, gait: int) -> Plan:
    return plan._replace(intruder=plan.intruder._replace(gait_cumulative=(np.arange(len(GAITS)) >= gait).astype(float)))


def _heard(site: Site, section: str) -> list[Lift]:
    """Every rule listening to one camera more, of those that some rule of the section does not hear."""
    rules = [rule for rule in site.rule if rule.perimeter in (None, section)]
    ignored = [k for k, camera in enumerate(site.camera) if any(camera.mark not in rule.cameras for rule in rules)]

    def hearing(plan: Plan, camera: int) -> Plan:
        heard = plan.scene.rule_camera.copy()
        heard[:, camera] = 1
        return plan._replace(scene=plan.scene._replace(rule_camera=heard))

    return [Lift(f"heard: {site.camera[k].mark}", lambda plan, k=k: hearing(plan, k)) for k in ignored]


def _longer_window(plan: Plan) -> list[Lift]:
    """Every rule armed for LONG_WINDOW_S, where one is shorter."""
    window = plan.scene.rule_time_window_s
    if not len(window) or window.min() >= LONG_WINDOW_S:
        return []
    longer = np.maximum(window, LONG_WINDOW_S)
    return [Lift("time window", lambda plan: plan._replace(scene=plan.scene._replace(rule_time_window_s=longer)))]


def _line_at_the_fence(site: Site, place: Place) -> list[Lift]:
    """One rule more, along the section and NEAR_LINE_M inside it, that hears what the others of the section hear."""
    heard = [rule for rule in site.rule if rule.perimeter in (None, place.section)]
    marks = sorted({mark for rule in heard for mark in rule.cameras})
    rules = [{key: getattr(rule, key) for key in rule.model_fields_set if getattr(rule, key) is not None} for rule in site.rule]
    more = {"kind": "line", "perimeter": place.section, "offset_m": NEAR_LINE_M, "cameras": marks}
    more["time_window_s"] = min((rule.time_window_s for rule in heard), default=1.0)
    try:
        longer = site.replace(rule=[*rules, more], variant=())
    except InputError:  # a section that has no room for such a line
        return []
    return [Lift("line at the fence", lambda plan: plan._replace(scene=pack_scene(longer)))]


def _mounting(plan: Plan) -> list[Lift]:
    if not plan.cameras.tolerance.any():
        return []

    def as_drawn(plan: Plan) -> Plan:
        return plan._replace(cameras=plan.cameras._replace(tolerance=np.zeros_like(plan.cameras.tolerance)))

    return [Lift("mounting errors", as_drawn)]


def _obstacles(site: Site, x_m: float, y_m: float) -> list[Lift]:
    """Each of the nearest obstacles made so low that it hides nothing; paths go round it as before."""

    def lowered(plan: Plan, obstacles: Sequence[int]) -> Plan:
        height = plan.scene.obstacle_height_m.copy()
        height[list(obstacles)] = 0.0
        return plan._replace(scene=plan.scene._replace(obstacle_height_m=height))

    if not site.obstacle:
        return []
    apart = [float(np.min(np.hypot(*(np.array(o.footprint_m, dtype=float) - (x_m, y_m)).T))) for o in site.obstacle]
    near = sorted(range(len(apart)), key=lambda k: apart[k])[:MOST_OBSTACLES]
    every = range(len(apart))
    lifts = [Lift(f"obstacle: {site.obstacle[k].name}", lambda plan, k=k: lowered(plan, [k])) for k in near]
    return lifts if len(apart) == 1 else [*lifts, Lift("all obstacles", lambda plan: lowered(plan, every))]


def _fences(site: Site, plan: Plan) -> list[Lift]:
    """Each section's barrier made of air: it is climbed as before."""

    def clear(plan: Plan, section: int) -> Plan:
        edges = slice(int(plan.scene.section_edge[section]), int(plan.scene.section_edge[section + 1]))
        kind, share = plan.scene.edge_barrier.copy(), plan.scene.edge_open.copy()
        kind[edges], share[edges] = np.where(kind[edges] == NO_BARRIER, NO_BARRIER, SEE_THROUGH), 1.0
        return plan._replace(scene=plan.scene._replace(edge_barrier=kind, edge_open=share))

    stands = [k for k, section in enumerate(site.perimeter) if section.barrier != "none"]
    return [Lift(f"fence: {site.perimeter[k].name}", lambda plan, k=k: clear(plan, k)) for k in stands]


def _fewer_looks(plan: Plan) -> list[Lift]:
    """Looks as often as is usual, where they are rarer; an alarm by one look."""
    lifts = []
    if plan.decision.looks_per_s < USUAL_LOOKS_PER_S:
        more = plan.decision._replace(looks_per_s=USUAL_LOOKS_PER_S)
        lifts.append(Lift("look rate", lambda plan: plan._replace(decision=more)))
    if plan.decision.confirm_m <= 1:
        return lifts
    return [*lifts, Lift("looks wanted", lambda plan: plan._replace(decision=plan.decision._replace(confirm_m=1, confirm_n=1)))]


def _settings(plan: Plan) -> list[Lift]:
    """A threshold above 5 sigma, and noise above 50 mK behind the lens."""
    lifts = []
    if plan.decision.threshold > 5.0:
        lifts.append(Lift("threshold", lambda plan: plan._replace(decision=plan.decision._replace(threshold=5.0))))
    if (plan.cameras.netd_k > 0.05).any():
        quiet = np.minimum(plan.cameras.netd_k, 0.05)
        lifts.append(Lift("sensor noise", lambda plan: plan._replace(cameras=plan.cameras._replace(netd_k=quiet))))
    return lifts


def add_lifts(results: xr.Dataset, site: Site, plan: Plan, cells: Cells, places: Sequence[Place], threads: int) -> int:
    """Adds `lift_pd`, `lift_gain` (diagnosed, lift) for the named places and the cells that they are of. Returns looks drawn.

    lift_gain: how much more of the crossings reach the rung of the place's cause; NaN where a thing was not lifted. Where walks
    have calibrated the site, lift_pd is the place's Pd and what the lift adds at the values of [decision].
    """
    asked = [place for place in places if place.cause is not None and place.weak_in]
    names: list[str] = []
    found: list[dict[str, tuple[float, float]]] = []
    segments, looks = results.sizes["segment"], 0

    def ask(changed: Plan, cell: int, rung: int) -> tuple[float, float]:
        nonlocal looks
        tally = new_tally(len(cells.weather), plan.cameras.bearing_rad.size, REPLICATES)
        advance(changed, cells, tally, np.array([cell]), POINTS, threads)
        looks += tally.looks
        return float(tally.mean(SUM_PD)[cell]), float(tally.mean(rung)[cell])

    for place in asked:
        cell, rung = place.weather_index * segments + place.segment, RUNG[str(place.cause)]
        x_m, y_m = (float(results[name].values[place.segment]) for name in ("x_m", "y_m"))
        own, before = ask(plan, cell, rung)
        shift = float(results["pd"].values.flat[cell]) - own if "pd_place_low" in results else 0.0
        answers = {}
        for lift in lifts_of(site, plan, place, x_m, y_m):
            pd, reached = ask(lift.change(plan), cell, rung)
            answers[lift.name] = (min(max(pd + shift, 0.0), 1.0), reached - before)
            if lift.name not in names:
                names.append(lift.name)
        found.append(answers)
    results.coords["diagnosed"] = np.array([place.code for place in asked]).astype(str)
    results.coords["lift"] = np.array(names).astype(str)
    results["diagnosed_weather"] = ("diagnosed", np.array([place.weather for place in asked]).astype(str))
    results["diagnosed_segment"] = ("diagnosed", np.array([place.segment for place in asked], dtype=np.int64))
    for k, variable in enumerate(("lift_pd", "lift_gain")):
        values = np.array([[answers.get(name, (np.nan, np.nan))[k] for name in names] for answers in found], dtype=float)
        results[variable] = (("diagnosed", "lift"), values.reshape(len(asked), len(names)))
    return looks


@dataclass(frozen=True)
class Due:
    """What a place's misses are due to. what: the name of what was lifted, several gaits joined by " and "; pd: the place's Pd
    without it (of the other gaits together); gaits: it is a way of moving."""

    what: str
    pd: float
    gaits: bool = False


def due_to(results: Results, place: Place) -> Due | None:
    """What brings back most of the misses of a place's cause; None when nothing that was asked does, or nothing was asked."""
    answers = answers_of(results, place)
    if answers is None or place.cause is None:
        return None
    gaits = _gait_of(results, answers)
    missing = float(
        results.array("miss_share", "cause", "weather", "segment")[
            results["cause"].values.tolist().index(place.cause), place.weather_index, place.segment
        ]
    )
    least = max(LEAST_GAIN, LEAST_SHARE * missing)
    gains = {name: gain for name, (_, gain) in answers.items() if not name.startswith("gait: ") and gain >= least}
    together = gains.pop("all obstacles", None)
    # What costs nothing is named first, and a rate of looks below the usual before what one look would do.
    heard = [name for name in gains if name.startswith("heard: ")] or [name for name in gains if name == "look rate"]
    if heard or gains:
        most = max(gains[name] for name in heard or gains)
        best = min((name for name in heard or gains if gains[name] >= most - TIE), key=_special_first)
        return Due(best, answers[best][0])
    if gaits is not None:
        return gaits
    return Due("all obstacles", answers["all obstacles"][0]) if together is not None else None


def _special_first(name: str) -> int:
    """Of gains alike, what is true of few nights is named before what is true of all."""
    air = ("precipitation", "front window", "fog", "haze")
    order = ("time window", "wet clothing", "crossover", *air, "threshold", "sensor noise", "clutter")
    return order.index(name) if name in order else -1


def answers_of(results: Results, place: Place) -> dict[str, tuple[float, float]] | None:
    """Of a named place, by what was lifted: (Pd, gain). None when it was not asked."""
    if "lift_pd" not in results:
        return None
    for k in range(results.sizes["diagnosed"]):
        if (results.at("diagnosed_weather", diagnosed=k), results.at("diagnosed_segment", diagnosed=k)) == (
            place.weather,
            place.segment,
        ):
            pd, gain = results.at("lift_pd", diagnosed=k), results.at("lift_gain", diagnosed=k)
            names = results["lift"].values
            return {str(names[n]): (float(pd[n]), float(gain[n])) for n in range(len(names)) if not np.isnan(pd[n])}
    return None


def _gait_of(results: Results, answers: dict[str, tuple[float, float]]) -> Due | None:
    """The one or two gaits that hold most misses, where all others together meet the requirement."""
    shares = results.site.intruder.gaits
    gaits = {
        name.removeprefix("gait: "): (float(shares.get(name.removeprefix("gait: ").replace(" ", "_"), 0.0)), pd)
        for name, (pd, _) in answers.items()
        if name.startswith("gait: ")
    }
    misses = {gait: share * (1.0 - pd) for gait, (share, pd) in gaits.items()}
    total = sum(misses.values())
    order = sorted(misses, key=lambda gait: -misses[gait])
    for count in (1, 2):
        named, others = order[:count], order[count:]
        weight = sum(gaits[gait][0] for gait in others)
        if total <= 0.0 or weight <= 0.0 or sum(misses[gait] for gait in named) <= 0.5 * total:
            continue
        pd = sum(gaits[gait][0] * gaits[gait][1] for gait in others) / weight
        if pd >= results.requirement:
            return Due(" and ".join(named), pd, gaits=True)
    return None

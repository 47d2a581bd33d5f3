"""Cameras to choose from: new ones on the kit's mounts, and existing ones turned or with another lens.

Many more can be thought of than are worth simulating. By geometry (`views`) each meets the requirement on some segments (it
holds them, for short); those are kept that together hold every segment many times over, first where the site needs it most.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.decide.layout import changed, free_marks, price_with_lens
from fencecast.decide.place.kit import Kit, make_choice
from fencecast.decide.place.reach import Reach
from fencecast.decide.place.views import Targets, bearings_deg, clear, held_from, hiders
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.pack_inputs import pack_cameras
from fencecast.site.schema import Camera

NEW = -1
MOST = 200
_AGAIN = 0.5  # what a metre counts that one more kept candidate holds already
_EVERYWHERE = 0.02  # weight of metres that need nothing: what is turned away from them must not be forgotten


@dataclass(frozen=True)
class Candidate:
    """One camera to choose, `cost` beside the site as it is, `kind`: "as it is", "new", "turned" or "lens".

    group: NEW, or the number of the existing camera whose place it would take (the camera itself included, at cost 0).
    """

    camera: Camera
    cost: float
    kind: str
    group: int = NEW


@dataclass
class _Option:
    camera: dict
    cost: float
    kind: str
    group: int
    held: np.ndarray


def existing(site) -> list[Candidate]:
    """The site's own cameras."""
    return [Candidate(camera, 0.0, "as it is", k) for k, camera in enumerate(site.camera)]


def useful(found: list[Reach]) -> list[Reach]:
    """Of each lens at each height the depressions whose interval lies in no other's."""
    kept = []
    for reach in found:
        rivals = [r for r in found if r is not reach and (r.choice, r.height_m) == (reach.choice, reach.height_m)]
        inside = any(
            r.near_m <= reach.near_m
            and r.far_m >= reach.far_m
            and (r.length_m > reach.length_m or found.index(r) < found.index(reach))
            for r in rivals
        )
        if reach.length_m > 0.0 and not inside:
            kept.append(reach)
    return kept


def new_options(site, kit: Kit, found: list[Reach], targets: Targets) -> list[_Option]:
    """Every mount, lens, height, useful depression and bearing that holds any segment."""
    blocks, options = hiders(site), []
    for mount in kit.mounts:
        for height in mount.heights_m:
            in_sight = clear(blocks, mount.x_m, mount.y_m, height, targets.points)
            for reach in (r for r in found if r.height_m == height and kit.choice(r.choice.sensor, r.choice.lens)):
                for bearing in bearings_deg(reach, mount.x_m, mount.y_m, targets.points[in_sight], step_share=1.0 / 3.0):
                    held = held_from(reach, mount.x_m, mount.y_m, bearing, targets.points, in_sight)
                    if held.any():
                        camera = _camera(reach, mount.x_m, mount.y_m, bearing)
                        options.append(_Option(camera, kit.camera_cost(reach.choice, mount.price), "new", NEW, held))
    return options


def changed_options(site, kit: Kit, found: list[Reach], targets: Targets) -> list[_Option]:
    """Every existing camera turned, and with every other lens of the kit; place, height and sensor stay."""
    blocks, options = hiders(site), []
    for k, camera in enumerate(site.camera):
        x, y = camera.position_m
        in_sight = clear(blocks, x, y, camera.height_m, targets.points)
        for lens in dict.fromkeys((camera.lens, *(choice.lens for choice in kit.choices))):
            turned = lens == camera.lens
            if not turned and make_choice(site, camera.sensor, lens, kit.priced) is None:
                continue
            cost = kit.reaim_cost() if turned else kit.swap_cost(site, lens)
            fits = [r for r in found if (r.choice.sensor, r.choice.lens, r.height_m) == (camera.sensor, lens, camera.height_m)]
            for reach in fits:
                grid = bearings_deg(reach, x, y, targets.points[in_sight])
                for bearing in dict.fromkeys((*grid, camera.bearing_deg)):
                    held = held_from(reach, x, y, bearing, targets.points, in_sight)
                    if held.any():
                        aim = {"bearing_deg": round(bearing, 2), "depression_deg": round(reach.depression_deg, 2), "lens": lens}
                        options.append(_Option(aim, cost, "turned" if turned else "lens", k, held))
    return options


def _camera(reach: Reach, x: float, y: float, bearing: float) -> dict:
    return {
        "position_m": (round(x, 3), round(y, 3)),
        "height_m": reach.height_m,
        "bearing_deg": round(bearing, 2),
        "depression_deg": round(reach.depression_deg, 2),
        "sensor": reach.choice.sensor,
        "lens": reach.choice.lens,
    }


def thinned(options: list[_Option], targets: Targets, need: np.ndarray, most: int) -> list[_Option]:
    """At most `most` options, in the order of what they hold for their cost where `need` (targets,) is large.

    Each one kept halves the weight of what it holds, so that every segment ends up held from several sides.
    """
    if len(options) <= most:
        return options
    held = np.array([option.held for option in options], dtype=np.float32)
    cost = np.maximum([option.cost for option in options], 1e-3)
    weight = (targets.lengths * (_EVERYWHERE + need)).astype(np.float32)
    free = np.ones(len(options), dtype=bool)
    order = []
    while len(order) < most:
        worth = np.where(free, held @ weight / cost, -1.0)
        best = int(np.argmax(worth))
        if worth[best] <= 0.0:
            break
        free[best] = False
        order.append(best)
        weight = np.where(held[best] > 0.0, _AGAIN * weight, weight)
        if weight.max() < 1e-6 * targets.lengths.max():
            weight *= np.float32(1e5)
    return [options[k] for k in sorted(order)]


def candidates(
    site,
    kit: Kit,
    found: list[Reach],
    targets: Targets,
    need: np.ndarray,
    most: int = MOST,
    new: bool = True,
    change: bool = True,
) -> list[Candidate]:
    """The site's cameras, then at most `most` others; need (targets,): how much each segment lacks, 0 to 1."""
    found = useful(found)
    added = new_options(site, kit, found, targets) if new else []
    altered = changed_options(site, kit, found, targets) if change and site.camera else []
    share = most if not added else most // 3
    altered = thinned(altered, targets, need, share)
    added = thinned(added, targets, need, most - len(altered))
    result = existing(site)
    for option in altered:
        before = site.camera[option.group]
        price = price_with_lens(site, before, option.camera["lens"])
        camera = changed(before, **option.camera, **({} if price is None else {"price": price}))
        result.append(Candidate(camera, option.cost, option.kind, option.group))
    for option, mark in zip(added, free_marks(site, len(added))):
        choice = kit.choice(option.camera["sensor"], option.camera["lens"])
        # The camera alone: its mast and the work are lines of their own in a bill.
        price = {"price": round(choice.price - site.kit.camera_price, 2)} if kit.priced else {}
        result.append(Candidate(Camera(mark=mark, **option.camera, **price), option.cost, "new"))
    return result


def candidate_plan(site, chosen: list[Candidate], classes):
    """The packed plan of a site in which every candidate is a camera, each with the rules that it would serve.

    A changed camera keeps its mark, so its hashed draws, and its rules; a new one serves every rule, as in `with_cameras`.
    """
    plan = pack_plan(site, classes)
    cameras, bands = pack_cameras(site, [candidate.camera for candidate in chosen])
    serves = [[c.group == NEW or c.camera.mark in rule.cameras for c in chosen] for rule in site.rule]
    table = np.array(serves, dtype=np.uint8).reshape(len(site.rule), len(chosen))
    return plan._replace(cameras=cameras, bands=bands, scene=plan.scene._replace(rule_camera=table))

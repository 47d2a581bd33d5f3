"""Invented plans for cards: of any site, with claims, ladders, later rungs, controls and calibration; nothing is simulated."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence

import numpy as np

from fencecast.cautions import CAUTION
from fencecast.prove.walks.planfile import Asked, Chance, Claim, Expected, Kind, Place, Trial, WalkPlan
from fencecast.site import Site
from fencecast.site.geometry import inward_normal_at, point_at
from prove.aimyards import hostile

SPEED = {"walk": 1.3, "run": 4.5, "crouch": 0.8, "crawl": 0.8, "flat_crawl": 0.3}
START_M = 0.3


def place_of(
    site: Site, section: str, chainage_m: float, role: str = "pool", path_m: float = 8.0, slant_deg: float = 0.0
) -> Place:
    """A place of a section; slant: of the walk to the left of the inward normal, seen by the walker."""
    fence = next(each for each in site.perimeter if each.name == section)
    line, normal = point_at(fence, chainage_m), inward_normal_at(fence, chainage_m)
    left = np.array([-normal[1], normal[0]])
    slant = math.radians(slant_deg)
    finish = line + path_m * (math.cos(slant) * normal + math.sin(slant) * left)
    start = line + START_M * normal
    return Place(
        place=f"{section} {chainage_m:g}", section=section, chainage_m=chainage_m, x_m=line[0], y_m=line[1],
        start_m=tuple(start), finish_m=tuple(finish), role=role,
    )  # fmt: skip


def kind_of(number: int, place: Place, gait: str, marks: Sequence[str], pd: float, direction: str = "in") -> Kind:
    """A kind of walk whose first camera alone alarms."""
    path_s = math.dist(place.start_m, place.finish_m) / SPEED[gait]
    return Kind(
        kind=f"K{number}", place=place.place, gait=gait, direction=direction, angle_deg=0.0, path_s=path_s, pd=pd,
        pd_low=max(0.0, pd - 0.2), pd_high=min(1.0, pd + 0.02), pd_camera={marks[0]: pd}, patterns={"": 1.0 - pd, marks[0]: pd},
    )  # fmt: skip


def claim_of(name: str, of: str, where: str, kinds: Sequence[Kind], stops: Sequence[int], chance: float = 0.5) -> Claim:
    return Claim(
        claim=name, of=of, where=where, kinds=tuple(kind.kind for kind in kinds), stops=tuple(stops), confidence=0.95,
        chance=Chance(predicted=chance, low_end=0.002, over_prior=0.9 * chance, at=((0.90, 0.05),)), expected_walks=stops[0],
    )  # fmt: skip


def trials_of(claims: Sequence[Claim], free: Sequence[Kind] = (), controls: Sequence[Kind] = ()) -> tuple[Trial, ...]:
    """First rungs of all claims mixed, kinds in turn, then walks for calibration, then controls; later rungs at the end."""
    first, later = [], []
    for claim in claims:
        for walk in range(claim.stops[-1]):
            rung = 1 + next(k for k, stop in enumerate(claim.stops) if walk < stop)
            row = (claim.kinds[walk % len(claim.kinds)], claim.claim, rung, False)
            (first if rung == 1 else later).append(row)
    first += [(kind.kind, None, 1, False) for kind in free] + [(kind.kind, None, 1, True) for kind in controls]
    first = first[::3] + first[1::3] + first[2::3]
    half = len(first) // 2
    return tuple(
        Trial(trial=k + 1, kind=kind, round=1 if k < half else 2, claim=claim, rung=rung, control=control)
        for k, (kind, claim, rung, control) in enumerate([*first, *later])
    )


def plan_of(site: Site, marks: Sequence[str], places, kinds, trials, claims, **keys) -> WalkPlan:
    """The whole plan; keys replace fields."""
    text = f"invented text of {site.title}"
    fields = {
        "title": site.title, "version": "0.1.0", "seed": 7, "created": "2026-11-29T18:00:00", "site_toml": text,
        "site_sha256": hashlib.sha256(text.encode("utf-8")).hexdigest(), "weather": "clear night", "goal": "both",
        "from_fence": True, "together": False, "requirement": Asked(pd=0.90, confidence=0.95), "prior_median": 2.0,
        "prior_spread": 0.5, "path_m": 8.0, "marks": tuple(marks), "places": tuple(places), "kinds": tuple(kinds),
        "trials": tuple(trials), "claims": tuple(claims), "minutes": 120.0, "expected": Expected(sd_ln_n50=0.09, sd_r=0.21),
        "caution": CAUTION,
    }  # fmt: skip
    return WalkPlan(**(fields | keys))


def estuary_plan(site: Site) -> WalkPlan:
    """A weak place with a ladder, a pool round the yard, walks for N50, two controls: quay, gate, bend, slanting lanes."""
    marks = [camera.mark for camera in site.camera]
    weak = place_of(site, "quay", 24.5, "full", slant_deg=14.0)
    pooled = [
        place_of(site, "east fence", 12.0), place_of(site, "north fence", 36.5, slant_deg=-14.0),
        place_of(site, "west fence", 20.5), place_of(site, "quay", 40.5, path_m=5.5),
    ]  # fmt: skip
    free = place_of(site, "north fence", 8.5, "calibrate")
    full = [kind_of(k, weak, gait, marks, 0.74) for k, gait in enumerate(("walk", "crouch", "crawl"), start=1)]
    gaits = ("walk", "run", "crouch", "flat_crawl")
    pool = [kind_of(10 * k + i, place, gait, marks, 0.97) for k, place in enumerate(pooled, 1) for i, gait in enumerate(gaits)]
    learn = [kind_of(90 + k, free, gait, marks, 0.6) for k, gait in enumerate(("walk", "crouch"))]
    out = kind_of(99, pooled[2], "walk", marks, 0.02, "out")
    claims = [
        claim_of("C1", "place", "quay 24.5", full, (39, 53, 65), 0.50),
        claim_of("C2", "pool", "4 places round the yard", pool, (46, 46), 0.86),
    ]
    trials = trials_of(claims, learn * 3, [out] * 2)
    return plan_of(site, marks, [weak, *pooled, free], [*full, *pool, *learn, out], trials, claims)


def depot_plan(site: Site) -> WalkPlan:
    """Only to learn N50: no claim at all."""
    marks = [camera.mark for camera in site.camera]
    places = [place_of(site, "dyke fence", x, "calibrate") for x in (6.5, 12.5, 18.5)] + [
        place_of(site, "lane fence", 9.5, "calibrate")
    ]
    kinds = [
        kind_of(2 * k + i, place, gait, marks, 0.6) for k, place in enumerate(places) for i, gait in enumerate(("walk", "crouch"))
    ]
    return plan_of(site, marks, places, kinds, trials_of([], kinds * 3), [], goal="calibrate")


def hostile_site() -> Site:
    """Everything long, twenty cameras, feet beside metres."""
    site = hostile()
    cameras = [site.camera[k % 7].model_copy(update={"mark": f"{'M' * 21}{k:02d}"}) for k in range(20)]
    return site.replace(camera=tuple(cameras))


def hostile_plan(site: Site) -> WalkPlan:
    """Six claims of places and a pool, 240 walks and more later ones, lanes in every direction, names of sixty signs."""
    marks = [camera.mark for camera in site.camera]
    sections = [section.name for section in site.perimeter]
    full = [place_of(site, sections[k % 4], 9.0 + 3.13 * k, "full", slant_deg=55.0 - 20.0 * k) for k in range(6)]
    pooled = [place_of(site, sections[k % 4], 3.0 + 1.9 * k, path_m=3.0 + k, slant_deg=-70.0) for k in range(12)]
    gaits = list(SPEED)
    kinds, claims = [], []
    for k, place in enumerate(full):
        own = [kind_of(100 + 10 * k + i, place, gait, marks, 0.9345) for i, gait in enumerate(gaits)]
        kinds += own
        claims.append(claim_of(f"C{k + 1}", "place", place.place, own, (30, 34, 36, 38, 39, 40), 0.999))
    pool = [
        kind_of(300 + 10 * k + i, place, gait, marks, 0.001) for k, place in enumerate(pooled) for i, gait in enumerate(gaits)
    ]
    out = [kind_of(900 + k, place, "flat_crawl", marks, 0.02, "out") for k, place in enumerate(full)]
    claims.append(claim_of("C7", "pool", f"12 places of {', '.join(sections)}", pool, (60, 80, 100), 0.001))
    weather = "W" * 60
    return plan_of(
        site, marks, [*full, *pooled], [*kinds, *pool, *out], trials_of(claims, pool[:9], out), claims, weather=weather
    )

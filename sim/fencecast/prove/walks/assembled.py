"""The plan as it is written down: kinds with their predictions, walks in their order, claims with their chances.

Tests: tests/prove/walks/test_walk_plan.py.
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.prove.walks import chance
from fencecast.prove.walks.allot import Allotment, Draft
from fencecast.prove.walks.asfinished import Crossed
from fencecast.prove.walks.kinds import walk_lines
from fencecast.prove.walks.order import Step
from fencecast.prove.walks.patterns import site_pd
from fencecast.prove.walks.places import Spot
from fencecast.prove.walks.planfile import Asked, Chance, Claim, Expected, Kind, Place, Trial, WalkPlan
from fencecast.prove.walks.planned import record_sha256
from fencecast.prove.walks.predict import BAND, Simulated, kind_of
from fencecast.prove.walks.prior import Prior, quantiles
from fencecast.prove.walks.wishes import Wishes
from fencecast.site import Site

# Of the way from the requirement to 1: the true Pd at which chances of passing are written down.
AT = (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
# ln N50 differs between places by a standard deviation that is itself unknown, half-normal of scale 0.3 up to 0.7, and between
# people by 0.10 (judgement, no source), as the fit takes them; two people walk.
PLACE_SPREAD, MOST_SPREAD = 0.3, 0.7
WALKER_SPREAD, WALKERS = 0.10, 2
LARGER = 1.3  # times the file's N50: a bad surprise of half a standard deviation of the prior


@dataclass(frozen=True)
class Material:
    """All that a plan is written from. here: (walks, 2, 2) information of the first simulation's walks at the file's values."""

    site: Site
    wishes: Wishes
    prior: Prior
    spots: list[Spot]
    weather: str
    why: str
    from_fence: bool
    simulated: Simulated
    here: np.ndarray
    found: Allotment
    order: list[Step]
    hopeless: tuple[str, ...]

    def information(self, kind: str) -> np.ndarray:
        """Of one walk of a kind, (2, 2); a control's is nothing, for it is not fitted."""
        which, row = self.simulated.at[kind]
        return self.here[row] if which == 0 else np.zeros((2, 2))


def assembled(test: Material) -> WalkPlan:
    """The plan."""
    site, wishes, prior, order = test.site, test.wishes, test.prior, test.order
    labels = [spot.label for spot in test.spots if any(step.place == spot.label for step in order)]
    gaits = [*wishes.gaits]
    keys = sorted(
        {step.kind for step in order},
        key=lambda key: (not key.endswith(wishes.direction), labels.index(key.split("\t")[0]), gaits.index(key.split("\t")[1])),
    )
    names = {key: f"K{number}" for number, key in enumerate(keys, start=1)}
    informed = sum((test.information(s.kind) for s in order if s.rung == 1 and not s.control), np.zeros((2, 2)))
    sd = np.sqrt(np.diag(np.linalg.inv(prior.precision + informed)))
    text = site.text
    return WalkPlan(
        title=site.title,
        version=__version__,
        seed=wishes.seed,
        created=datetime.now(UTC).isoformat(timespec="seconds"),
        site_sha256=hashlib.sha256(text.encode("utf-8")).hexdigest(),
        site_toml=text,
        weather=test.weather,
        goal=wishes.goal,  # type: ignore[arg-type]  # checked there
        from_fence=test.from_fence,
        together=wishes.together,
        requirement=Asked(pd=site.requirement.pd, confidence=site.requirement.confidence),
        prior_median=prior.median,
        prior_spread=prior.spread,
        path_m=float(site.intruder.path_m),
        marks=tuple(camera.mark for camera in site.camera),
        places=_places(test, labels),
        kinds=tuple(_kind(test, names[key], key) for key in keys),
        trials=tuple(
            Trial(trial=n, kind=names[step.kind], round=step.round, claim=step.claim, rung=step.rung, control=step.control)
            for n, step in enumerate(order, start=1)
        ),
        claims=tuple(_claim(test, f"C{number}", draft, names) for number, draft in enumerate(test.found.claims, start=1)),
        minutes=test.found.minutes,
        expected=Expected(sd_ln_n50=float(sd[0]), sd_r=float(sd[1]), sd_ln_n50_differing=differing(float(sd[0]), order)),
        caution=CAUTION,
        most_minutes=test.found.most_minutes,
        budget_minutes=None if wishes.walks is not None else wishes.minutes,
        weather_why=test.why,
        fence_asked=wishes.from_fence,
        hopeless=test.hopeless,
        left_out=test.found.left_out,
        heard=wishes.heard,
        weather_sha256=record_sha256(site),
        prior_from="calibration" if prior.calibrated else "file",
        prior_correlation=prior.correlation,
        prior_correlation_sd=prior.correlation_sd,
    )


def differing(sd_ln_n50: float, order: list[Step]) -> float:
    """The standard error of ln N50 where places and people differ as they usually do: that of a mean over so many of each."""
    places = len({step.place for step in order if step.rung == 1 and not step.control})
    return math.sqrt(sd_ln_n50**2 + place_variance() / max(places, 1) + WALKER_SPREAD**2 / WALKERS)


def place_variance() -> float:
    """Mean square of the half-normal standard deviation between places, cut off at its most."""
    most = MOST_SPREAD / PLACE_SPREAD
    within = math.erf(most / math.sqrt(2.0))
    return PLACE_SPREAD**2 * (1.0 - most * math.sqrt(2.0 / math.pi) * math.exp(-0.5 * most**2) / within)


def _kind(test: Material, name: str, key: str) -> Kind:
    steps, row = test.simulated.of(key)
    return kind_of(name, key.split("\t")[0], test.simulated.walks[key], steps, row, test.prior, test.information(key))


def _claim(test: Material, name: str, draft: Draft, names: dict[str, str]) -> Claim:
    """A claim with its chances: walk by walk in the order in which they are walked."""
    prior, requirement = test.prior, test.site.requirement.pd
    mine = [step.kind for step in test.order if step.claim == name]
    kinds = list(dict.fromkeys(mine))
    turn = np.array([kinds.index(kind) for kind in mine])
    cells = test.simulated.over_prior(kinds, prior)
    pd = test.simulated.predicted(kinds, prior)
    low = np.array([quantiles(each, prior.weight, BAND)[0] for each in cells])
    larger = LARGER * prior.median
    harder = np.array([site_pd(*test.simulated.of(k), np.array([larger]), np.array([prior.correlation]))[0, 0] for k in kinds])
    went = chance.course_of_walks(draft.stops, pd[turn])
    over = chance.course_of_walks(draft.stops, cells.reshape(len(kinds), -1)[turn]).chance @ prior.weight.reshape(-1)
    at = [round(requirement + share * (1.0 - requirement), 6) for share in AT]
    return Claim(
        claim=name,
        of="place" if draft.of == "place" else "pool",
        where=_where([spot.label for spot in test.spots if spot.label in draft.places]),
        kinds=tuple(sorted((names[kind] for kind in kinds), key=lambda each: int(each[1:]))),
        stops=draft.stops,
        confidence=draft.confidence,
        chance=Chance(
            predicted=float(went.chance),
            low_end=float(chance.course_of_walks(draft.stops, low[turn]).chance),
            over_prior=float(over),
            at=tuple((each, chance.chance_of(draft.stops, each)) for each in at),
        ),
        expected_walks=float(went.expected_walks),
        no_miss=tuple((n50, float(np.prod(each[turn[: draft.base]]))) for n50, each in ((prior.median, pd), (larger, harder))),
    )


def _where(places: list[str]) -> str:
    return places[0] if len(places) == 1 else f"{len(places)} places: {', '.join(places)}"


def _places(test: Material, labels: list[str]) -> tuple[Place, ...]:
    at = {spot.label: spot for spot in test.spots}
    walks = [Crossed(at[each].name, at[each].chainage_m, test.wishes.gaits[0], test.wishes.direction) for each in labels]
    lines = walk_lines(test.site, walks, from_fence=test.from_fence)
    pooled = {place for draft in test.found.claims if draft.of == "pool" for place in draft.places}
    own = {place for draft in test.found.claims if draft.of == "place" for place in draft.places}
    return tuple(
        Place(
            place=label,
            section=at[label].name,
            chainage_m=at[label].chainage_m,
            x_m=at[label].x_m,
            y_m=at[label].y_m,
            start_m=line.start_m,
            finish_m=line.finish_m,
            role="full" if label in own else "pool" if label in pooled else "calibrate",
        )
        for label, line in zip(labels, lines)
    )

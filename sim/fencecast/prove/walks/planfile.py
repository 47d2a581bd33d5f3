"""plan.json: a walk test as it was fixed before anyone walked, predictions and site text included.

`score` and `fit` read this file and nothing newer: a prediction made after the walks would be none.

Tests: tests/prove/walks/test_planfile.py.
"""

from __future__ import annotations

import datetime
import hashlib
import json
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from fencecast.errors import InputError, UsageError

SCHEMA = 1
KIND = "walk plan"
MOST_NAMED = 8  # cameras named in a kind: those with the highest Pd


class Part(BaseModel):
    """A part of the plan: frozen, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Asked(Part):
    """The requirement that claims speak of."""

    pd: float
    confidence: float


class Place(Part):
    """Where walks cross: `place` is its name (section and metre, `front 14`), unique in the plan."""

    place: str
    section: str
    chainage_m: float
    x_m: float
    y_m: float
    start_m: tuple[float, float]
    finish_m: tuple[float, float]
    role: Literal["full", "pool", "calibrate"]


class Kind(Part):
    """Walks of one kind: place, gait, direction and angle; what the file's own values say of them.

    patterns: probability of each set of cameras that alarm ("" none, "W+E" both, marks in file order), adding up to 1; cameras
    with a Pd of less than 0.001 are not named, nor any beyond the best MOST_NAMED. delay_s: (seconds from the crossing of the
    line to the alarm, share), given one.
    pd_low, pd_high: ends of Pd over the prior of N50 and correlation (95 %).
    """

    kind: str
    place: str
    gait: str
    direction: Literal["in", "out"]
    angle_deg: float
    path_s: float
    pd: float
    pd_low: float
    pd_high: float
    pd_camera: dict[str, float]
    patterns: dict[str, float]
    delay_s: tuple[tuple[float, float], ...] = ()
    information_ln_n50: float = 0.0
    information_r: float = 0.0


class Trial(Part):
    """One card. rung: which rung of its claim's ladder needs it (1 first); walks of later rungs only follow a miss.

    control: walked against the rule's direction; an alarm there is a fault, and it counts for no claim and no fit.
    """

    trial: int
    kind: str
    round: int
    claim: str | None = None
    rung: int = 1
    control: bool = False


class Chance(Part):
    """The chance that a claim passes: as predicted, at the low end, over the prior; at [[true Pd, chance], ...]."""

    predicted: float
    low_end: float
    over_prior: float
    at: tuple[tuple[float, float], ...]


class Claim(Part):
    """One claim: stops[k] walks with at most k misses pass; len(stops) misses end it.

    no_miss: (N50, chance that none of the walks of its first rung is missed), as predicted and at a larger N50.
    """

    claim: str
    of: Literal["place", "pool"]
    where: str
    kinds: tuple[str, ...]
    stops: tuple[int, ...]
    confidence: float
    chance: Chance
    expected_walks: float
    no_miss: tuple[tuple[float, float], ...] = ()


class Expected(Part):
    """What the walks are expected to leave uncertain.

    sd_ln_n50: were places and people alike; sd_ln_n50_differing: as they usually differ, None in plans of an earlier version.
    """

    sd_ln_n50: float
    sd_r: float
    sd_ln_n50_differing: float | None = None

    @property
    def to_promise(self) -> float:
        """The standard error of ln N50 that may be promised: with places and people that differ, where that was worked out."""
        return self.sd_ln_n50 if self.sd_ln_n50_differing is None else self.sd_ln_n50_differing


class WalkPlan(Part):
    """The whole file. site_sha256: of site_toml as UTF-8. weather: the class that the walks are meant for, and why that one.

    minutes: of all walks but those that only follow a miss; most_minutes: of all; budget_minutes: what there was, None when a
    number of walks was asked for. fence_asked: whether from_fence was asked for, or came of a fence without open places.
    hopeless: weak places without a claim, because one would hardly ever pass; left_out: those for which there was no time.
    heard: the one direction in which every rule of the site listens, or `both` (an area, a line for both, rules that differ);
    None in plans of an earlier version.

    weather_sha256: of the site's hourly weather record, which is not in the plan; None where there is none.
    prior_from: the site's [decision], or the posterior in its [calibration]; prior_correlation and its sd: None in older plans.
    """

    schema_version: Literal[1] = SCHEMA
    kind: Literal["walk plan"] = KIND
    title: str
    version: str
    seed: int
    created: str
    site_sha256: str
    site_toml: str
    weather: str
    goal: Literal["both", "accept", "calibrate"]
    from_fence: bool
    together: bool
    requirement: Asked
    prior_median: float
    prior_spread: float
    path_m: float
    marks: tuple[str, ...]
    places: tuple[Place, ...]
    kinds: tuple[Kind, ...]
    trials: tuple[Trial, ...]
    claims: tuple[Claim, ...]
    minutes: float
    expected: Expected
    caution: str
    most_minutes: float = 0.0
    budget_minutes: float | None = None
    weather_why: str = ""
    fence_asked: bool = True
    hopeless: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    weather_sha256: str | None = None
    prior_from: Literal["file", "calibration"] = "file"
    prior_correlation: float | None = None
    prior_correlation_sd: float | None = None
    heard: Literal["in", "out", "both"] | None = None

    def is_against(self, direction: str) -> bool:
        """Whether a walk in this direction goes against every rule, so that an alarm is a fault."""
        if self.heard is None:  # as an earlier version took it: the cards know
            kinds = {kind.kind: kind.direction for kind in self.kinds}
            return direction not in {kinds[trial.kind] for trial in self.trials if not trial.control}
        return self.heard not in ("both", direction)

    def claim_pd(self, claim: Claim) -> float:
        """Mean Pd of the walks of a claim's first rung, as predicted."""
        walks = [trial.kind for trial in self.trials if trial.claim == claim.claim and trial.rung == 1 and not trial.control]
        pd = {kind.kind: kind.pd for kind in self.kinds}
        return sum(pd[kind] for kind in walks) / max(len(walks), 1)

    def kind_of(self, name: str) -> Kind:
        """The kind of a name: KeyError when there is none."""
        return {each.kind: each for each in self.kinds}[name]


def write_plan(plan: WalkPlan) -> str:
    """The text of the file; `schema_version` is written as `schema`."""
    data = plan.model_dump(mode="json")
    return json.dumps({"schema": data.pop("schema_version"), **data}, indent=1, ensure_ascii=False) + "\n"


def plan_sha256(text: str) -> str:
    """Fingerprint of a plan's text, as `score` and `fit` quote it."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def read_plan(path: str | Path) -> WalkPlan:
    """The plan in a file: InputError, with every problem, when it is none or its site text was changed since."""
    name = str(path)
    try:
        data = json.loads(Path(path).read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise UsageError(f"{name} cannot be read: {error.strerror}; type the path of a plan.json that walk plan wrote") from None
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError):
        raise InputError(["is no JSON file: type the path of a plan.json that walk plan wrote"], name) from None
    if not isinstance(data, dict) or data.get("kind") != KIND:
        raise InputError(["is no walk plan: type the path of a plan.json that walk plan wrote"], name)
    data["schema_version"] = data.pop("schema", None)
    try:
        plan = WalkPlan.model_validate(data)
    except ValidationError as error:
        problems = [f"{'.'.join(map(str, each['loc']))}: {each['msg']}; make the plan anew" for each in error.errors()[:20]]
        raise InputError(problems, name) from None
    if hashlib.sha256(plan.site_toml.encode("utf-8")).hexdigest() != plan.site_sha256:
        raise InputError(["site_toml is not the text that site_sha256 is of: the plan was changed; make it anew"], name)
    problems = _at_odds(plan)
    if problems:
        raise InputError([f"{each}: the plan was changed; make it anew" for each in problems[:20]], name)
    return plan


def _at_odds(plan: WalkPlan) -> list[str]:
    """What in a plan does not agree with itself: parts that are named and not there, numbers that no plan has."""
    places, kinds = {each.place for each in plan.places}, {each.kind for each in plan.kinds}
    claims, marks = {each.claim for each in plan.claims}, set(plan.marks)
    found = [f"{key} is empty" for key in ("places", "kinds", "trials", "marks") if not getattr(plan, key)]
    for key, least, most in (("prior_median", 0.01, 1000.0), ("prior_spread", 1e-3, 10.0), ("path_m", 0.1, 1000.0)):
        if not least <= getattr(plan, key) <= most:
            found.append(f"{key} is {getattr(plan, key):g}; allowed: {least:g} to {most:g}")
    try:
        datetime.datetime.fromisoformat(plan.created)
    except ValueError:
        found.append("created is no date")
    found += [f"kind {each.kind} is at {each.place}, which is no place" for each in plan.kinds if each.place not in places]
    found += [f"kind {each.kind} names cameras that are no marks" for each in plan.kinds if not set(each.pd_camera) <= marks]
    found += [f"trial {each.trial} is of {each.kind}, which is no kind" for each in plan.trials if each.kind not in kinds]
    found += [
        f"trial {each.trial} is for {each.claim}, which is no claim"
        for each in plan.trials
        if each.claim and each.claim not in claims
    ]
    found += [f"claim {each.claim} has no stops" for each in plan.claims if not each.stops]
    return found

"""score.json read again: every verdict and interval is held against its own counts, so that an edited file is refused.

Tests: tests/prove/proof/test_proof_files.py.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from os import PathLike
from typing import Literal

from pydantic import Field

from fencecast.errors import InputError
from fencecast.prove.log.walked import WalkLog
from fencecast.prove.proof.reading import Count, Part, Share, Words, read_part
from fencecast.prove.score.claims import ClaimScore, Judged
from fencecast.prove.score.delay import DelayScore, Middle
from fencecast.prove.score.outside import OutsideScore
from fencecast.prove.score.places import PlaceScore
from fencecast.prove.score.predictive import Group, PredictionScore
from fencecast.prove.score.score import WalkScore
from fencecast.prove.walks.chance import interval, lower_limit
from fencecast.prove.walks.planfile import WalkPlan

Verdict = Literal["shown", "walk on", "not shown", "refuted"]
_ROUNDED = 5e-4  # of intervals, in a file whose numbers were rounded


class ClaimPart(Part):
    """A claim as it was judged."""

    claim: Words
    n: Count
    misses: Count
    low_one_sided: Share
    low: Share
    high: Share
    verdict: Verdict
    next_rung: Count | None = None
    verdict_voids_missed: Verdict
    voids: Count = 0
    voids_walked_again: Count = 0
    walks_after: Count = 0
    cards_left_out: tuple[int, ...] = ()


class GroupPart(Part):
    """Walks of one group of predicted Pd of a camera."""

    low: Share = Field(alias="from")
    high: Share = Field(alias="to")
    expected: Share | None = None
    n: Count
    alarms: Count
    band_low: Count
    band_high: Count


class PredictionPart(Part):
    """How the log agrees with the prediction."""

    walks: Count | None = None
    expected_alarms: float = Field(ge=0.0)
    alarms: Count
    p_total: Share
    log_score: float
    p_log_score: Share
    camera_alarms: Count
    expected_camera_alarms: float = Field(ge=0.0)
    p_camera_alarms: Share
    p: Share
    p_within_prior: Share | None = None
    replicates: Count
    sees_change_of_n50: float | None = None
    no_chance: dict[str, Count] = {}
    groups: tuple[GroupPart, ...]


class PlacePart(Part):
    """A place that stands out."""

    place: Words
    n: Count
    alarms: Count
    pd: Share
    p: Share
    p_holm: Share


class WalkedPart(Part):
    """How often a place was walked, and how often that raised an alarm."""

    place: Words
    n: Count
    alarms: Count


class MiddlePart(Part):
    """A median with its interval."""

    median: float = Field(alias="median_s")
    low: float | None = Field(default=None, alias="low_s")
    high: float | None = Field(default=None, alias="high_s")
    walks: Count
    unit_s: float = 1.0
    latest_s: float | None = None
    kept: Literal["yes", "no", "open"] | None = None
    later: Count | None = None
    p_shape: Share | None = None


class ControlsPart(Part):
    """Walks against the rule's direction."""

    walks: Count = 0
    alarms: Count = 0


class HeldPart(Part):
    """On what days, in which weather, by whom and how it was walked."""

    dates: tuple[Words, ...] = ()
    weather: tuple[Words, ...] = ()
    walkers: tuple[Words, ...] = ()
    gaits: tuple[Words, ...] = ()


class ScorePart(Part):
    """The file."""

    title: Words = ""
    plan_sha256: Words
    log_sha256: Words
    walks: Count
    void: Count = 0
    claims: tuple[ClaimPart, ...]
    prediction: PredictionPart | None
    places: tuple[PlacePart, ...] = ()
    walked: tuple[WalkedPart, ...] = ()
    held: HeldPart = HeldPart()
    void_reasons: dict[str, Count] = {}
    delay: MiddlePart | None = None
    controls: ControlsPart = ControlsPart()
    not_walked: tuple[int, ...] = ()
    watch_hours: float = Field(default=0.0, ge=0.0)
    alarms_outside_per_hour: dict[str, float] = {}
    chance_alarm: dict[str, Share] = {}
    alarms_unforeseen: dict[str, Count] = {}
    warnings: tuple[Words, ...] = ()
    remade: bool = True
    rehearsal: bool = False


@dataclass(frozen=True)
class ScoreFile:
    """A score with its plan: `score` is what `walk score` computed, but for the single walks, which the file does not hold
    (`score.log.walks` is empty).

    walks, void: how many count, how many do not. walked: (place, walks, alarms). held: days, weather, walkers, gaits.
    void_reasons: (reason, walks).
    """

    score: WalkScore
    log_sha256: str
    walks: int
    void: int
    walked: tuple[tuple[str, int, int], ...]
    held: HeldPart
    warnings: tuple[str, ...]
    void_reasons: tuple[tuple[str, int], ...] = ()


def read_score(path: str | PathLike[str], plan: WalkPlan, plan_sha256: str) -> ScoreFile:
    """The score at a path, of this plan. InputError when it is damaged, of another plan, or does not agree with itself."""
    found = read_part(path, "score", ScorePart)
    name = str(path)
    if found.plan_sha256 != plan_sha256:
        raise InputError(
            [f"is of another plan (plan_sha256 begins {found.plan_sha256[:8]}, that of --walk-plan {plan_sha256[:8]}): type "
             "--walk-plan and the plan that was scored, or score its log again"], name,
        )  # fmt: skip
    problems = list(_problems(found, plan))
    if problems:
        raise InputError([f"{each}; the file was changed: write it anew with fencecast walk score -o" for each in problems], name)
    walked = tuple((each.place, each.n, each.alarms) for each in found.walked)
    reasons = tuple(found.void_reasons.items())
    return ScoreFile(_score(found, plan), found.log_sha256, found.walks, found.void, walked, found.held, found.warnings, reasons)


def _problems(found: ScorePart, plan: WalkPlan) -> Iterator[str]:
    """What cannot be true of such a file."""
    known = {claim.claim: claim for claim in plan.claims}
    for each in found.claims:
        if each.claim not in known:
            yield f"claim {each.claim} is not in the plan, which has {', '.join(known) or 'none'}"
            continue
        if each.misses > each.n:
            yield f"claim {each.claim}: {each.misses} misses in {each.n} walks"
            continue
        confidence = known[each.claim].confidence
        low, high = interval(each.n, each.misses, confidence) if each.n else (0.0, 1.0)
        one = lower_limit(each.n, each.misses, confidence) if each.n else 0.0
        said = (each.low_one_sided, each.low, each.high)
        if any(not math.isclose(a, b, abs_tol=_ROUNDED) for a, b in zip(said, (one, low, high))):
            yield f"claim {each.claim}: its interval is not that of {each.misses} misses in {each.n} walks"
        stops = known[each.claim].stops
        passed = any(each.n == stop and each.misses <= k for k, stop in enumerate(stops))
        if (each.verdict == "shown") != passed:
            yield f"claim {each.claim}: {each.misses} misses in {each.n} walks is not {each.verdict} by the rungs of the plan"
    names = [each.claim for each in found.claims]
    if sorted(names) != sorted(set(names)):
        yield "a claim stands in it twice"
    if set(known) - set(names):
        yield f"of claim {', '.join(sorted(set(known) - set(names)))} nothing is said"
    places = {place.place for place in plan.places}
    for place in (*found.places, *found.walked):
        if place.place not in places:
            yield f"place {place.place!r} is not in the plan"
        elif place.alarms > place.n:
            yield f"place {place.place}: {place.alarms} alarms in {place.n} walks"
    for group in found.prediction.groups if found.prediction else ():
        if not (group.alarms <= group.n and group.band_low <= group.band_high <= group.n and group.low <= group.high):
            band = f"band {group.band_low} to {group.band_high}"
            yield f"the group from {group.low:g} to {group.high:g} counts {group.alarms} of {group.n}, {band}"


def _score(found: ScorePart, plan: WalkPlan) -> WalkScore:
    known = {claim.claim: claim for claim in plan.claims}
    claims = []
    for each in found.claims:
        judged = Judged(each.n, each.misses, each.verdict, each.next_rung, each.low_one_sided, each.low, each.high)
        strict = Judged(each.n, each.misses, each.verdict_voids_missed, None, each.low_one_sided, each.low, each.high)
        claims.append(
            ClaimScore(
                known[each.claim],
                judged,
                strict,
                each.voids,
                each.voids_walked_again,
                each.walks_after,
                0,
                each.cards_left_out,
                0,
            )
        )
    hours, rates = found.watch_hours, found.alarms_outside_per_hour
    outside = OutsideScore(
        hours, {mark: round(rate * hours) for mark, rate in rates.items()}, dict(rates), dict(found.chance_alarm)
    )
    log = WalkLog("", (), found.warnings, found.log_sha256, not_walked=found.not_walked, rehearsal=found.rehearsal)
    places = tuple(PlaceScore(p.place, p.n, p.alarms, p.pd, p.p, p.p_holm) for p in found.places)
    return WalkScore(
        plan, found.plan_sha256, log, tuple(claims), _prediction(found), places, _delay(found.delay), None, outside,
        dict(found.alarms_unforeseen), found.controls.walks, found.controls.alarms, found.remade,
    )  # fmt: skip


def _prediction(found: ScorePart) -> PredictionScore | None:
    p = found.prediction
    if p is None:
        return None
    groups = tuple(
        Group(g.low, g.high, g.n, g.alarms, 0.5 * (g.low + g.high) if g.expected is None else g.expected, g.band_low, g.band_high)
        for g in p.groups
    )
    return PredictionScore(
        found.walks if p.walks is None else p.walks, p.expected_alarms, p.alarms, p.p_total, p.log_score, p.p_log_score,
        p.camera_alarms, p.expected_camera_alarms, p.p_camera_alarms, p.p, p.p_within_prior, p.replicates, groups,
        p.sees_change_of_n50, p.no_chance,
    )  # fmt: skip


def _delay(found: MiddlePart | None) -> DelayScore | None:
    if found is None:
        return None
    middle = Middle(found.median, found.low, found.high, found.walks)
    return DelayScore(middle, found.unit_s, found.latest_s, found.kept, found.later, found.p_shape)

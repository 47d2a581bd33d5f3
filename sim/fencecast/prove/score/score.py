"""A log against its plan: what it shows of the requirement, how it agrees with the prediction, delays, alarms outside walks.

Tests: tests/prove/score.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fencecast.errors import UsageError
from fencecast.estimate.options import Progress
from fencecast.prove.log.read import AFTER_S, read_log
from fencecast.prove.log.walked import WalkLog
from fencecast.prove.log.walkersfile import read_walkers
from fencecast.prove.score.claims import ClaimScore, score_claims
from fencecast.prove.score.delay import DelayScore, Middle, score_delay, score_depth
from fencecast.prove.score.outside import OutsideScore, score_outside
from fencecast.prove.score.places import PlaceScore, score_places
from fencecast.prove.score.predictive import Patterns, PredictionScore, score_prediction
from fencecast.prove.score.tables import predicted_walks, unforeseen
from fencecast.prove.walks.planfile import WalkPlan, plan_sha256, read_plan, write_plan
from fencecast.prove.walks.planned import planned_site

MOST_LATEST_S = AFTER_S


@dataclass(frozen=True)
class WalkScore:
    """Everything that one log says. controls, control_alarms: walks against the rule's direction, where an alarm is a fault.

    remade: False when the plan's simulation, made again, does not give its patterns: another version made the plan.
    """

    plan: WalkPlan
    plan_sha256: str
    log: WalkLog
    claims: tuple[ClaimScore, ...]
    prediction: PredictionScore | None
    places: tuple[PlaceScore, ...]
    delay: DelayScore | None
    depth: Middle | None
    outside: OutsideScore
    unforeseen: dict[str, int]
    controls: int
    control_alarms: int
    remade: bool = True

    @property
    def shown(self) -> bool:
        """Every claim is shown, and there is one."""
        return bool(self.claims) and all(claim.judged.verdict == "shown" for claim in self.claims)


def score_log(
    plan: WalkPlan,
    plan_sha256: str,
    log: WalkLog,
    latest_s: float | None = None,
    prior: Sequence[Patterns] | None = None,
    remade: bool = True,
) -> WalkScore:
    """Score one log. prior: as `score_prediction` takes it; without it the second question has no answer."""
    walks = predicted_walks(plan, log.walks)
    controls = [walk for walk in log.walks if walk.control and not walk.void]
    return WalkScore(
        plan, plan_sha256, log, score_claims(plan, log.walks), score_prediction(plan, walks, prior), score_places(walks),
        score_delay(plan, log, latest_s), score_depth(log), score_outside(plan, log), unforeseen(plan, log.walks),
        len(controls), sum(walk.alarm for walk in controls), remade,
    )  # fmt: skip


def walk_score(
    plan: str | Path | WalkPlan,
    log: str | Path,
    walkers: str | Path | None = None,
    latest_s: float | None = None,
    quick: bool = False,
    site: str | Path | None = None,
    threads: int | None = None,
    progress: Progress | None = None,
) -> WalkScore:
    """What `fencecast walk score` prints, from a plan and the log of its walks.

    plan: the file plan.json, or what `read_plan` made of it. walkers: walkers.csv; then every walker of the log must be in it.
    latest_s: the longest delay of the system that is allowed [s]. quick: nothing is simulated, and whether the test fell within
    what the prediction allowed stays open. site: a site file beside which the plan's hourly weather record lies, when it lies
    beside neither the plan nor where one stands. InputError, UsageError with all problems of files.
    """
    if latest_s is not None and not 0.0 < latest_s <= MOST_LATEST_S:
        raise UsageError(f"latest {latest_s:g} is not allowed: seconds above 0 and up to {MOST_LATEST_S:g}; type for instance 2")
    known = plan if isinstance(plan, WalkPlan) else read_plan(plan)
    planned = None if quick and site is None else planned_site(known, None if isinstance(plan, WalkPlan) else plan, site)
    people = None if walkers is None else read_walkers(walkers)
    sha = plan_sha256(write_plan(known) if isinstance(plan, WalkPlan) else Path(plan).read_text(encoding="utf-8-sig"))
    walked = read_log(log, known, people)
    names = [walk.walk.kind for walk in predicted_walks(known, walked.walks) if walk.walk.kind]
    prior = None
    if names and planned is not None and not quick:
        from fencecast.prove.score.prior import prior_patterns

        heard = None if progress is None else lambda done, expected: progress("walks", done, expected)
        prior = prior_patterns(known, planned, names, threads, heard)
    return score_log(known, sha, walked, latest_s, prior, remade=not names or quick or prior is not None)

"""What a walk test may say: its finding, its claims, and what the walks cannot show. Sentences as data.

Tests: tests/findings/test_walk_words.py.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from fencecast.findings.walkladder import level_text
from fencecast.findings.words import (
    confidence_text,
    in_class,
    interval_text,
    number_word,
    pd_text,
    plural,
    requirement_text,
)
from fencecast.prove.walks.cards import Rung, rungs_of
from fencecast.prove.walks.planfile import WalkPlan

WEAK_PLACES = "The list of weak places is for those who need it."
FEW_WALKS = 100  # below it the correlation of two cameras is hardly known
MOST_NAMED = 3
GAIT_NAMES = {"walk": "walk", "run": "run", "crouch": "crouch", "crawl": "crawl", "flat_crawl": "flat crawl"}


@dataclass(frozen=True)
class ClaimRow:
    """A row of the claims' table: texts. walks and misses: `39 / 53 / 65` and `0 / 1 / 2`, rung by rung;
    chance: as predicted, at the low end of Pd, over the prior."""

    claim: str
    where: str
    walks: str
    misses: str
    pd: str
    chance: str
    shows: str


@dataclass(frozen=True)
class PredictionRow:
    """The prediction of one card. gait: with `out` behind it where the walk leaves; weak: its Pd is below the requirement."""

    card: str
    place: str
    gait: str
    claim: str
    pd: str
    weak: bool


def counts(plan: WalkPlan) -> tuple[int, int, int]:
    """Walks of the first rungs, walks that later rungs may ask for, controls."""
    controls = sum(trial.control for trial in plan.trials)
    first = sum(trial.rung == 1 and not trial.control for trial in plan.trials)
    return first, len(plan.trials) - controls - first, controls


def finding(plan: WalkPlan) -> str:
    """The headline: how many walks, what they would show, and the chance of passing as predicted."""
    first, later, _ = counts(plan)
    walks = f"{first} walks" + (f", up to {later} more as the ladder asks," if later else "")
    start = f"{walks} {in_class(plan.weather)}"
    if not plan.claims:
        sd = f"{100 * plan.expected.to_promise:.0f} %"
        return f"{start} to learn N50: expected to leave it uncertain by {sd} (standard error); nothing is claimed"
    shown = f"Pd {requirement_text(plan.requirement.pd)} at {confidence_text(plan.requirement.confidence)}"
    if len(plan.claims) == 1:
        claim = plan.claims[0]
        rung = rungs_of(claim)[-1]
        passing = f"chance of passing as predicted {share(claim.chance.predicted)}"
        where = claim.where
        if claim.of == "pool":
            where = f"{plural(len({plan.kind_of(kind).place for kind in claim.kinds}), 'place')} together"
        return f"{start}: with {_misses(rung)} they show {shown} for {where}; {passing}"
    chances = sorted((claim.chance.predicted, claim.claim) for claim in plan.claims)
    if len(chances) <= MOST_NAMED:
        each = ", ".join(f"{claim.claim} {share(claim.chance.predicted)}" for claim in plan.claims)
    else:
        each = f"from {share(chances[0][0])} ({chances[0][1]}) to {share(chances[-1][0])} ({chances[-1][1]})"
    level = f"{shown}, all of them together" if plan.together else shown
    return f"{start} for {plural(len(plan.claims), 'claim')} of {level}; chance of passing as predicted: {each}"


def share(chance: float) -> str:
    """A chance in per cent; never 0 or 100."""
    if chance < 0.005:
        return "<1 %"
    return ">99 %" if chance >= 0.995 else f"{100 * chance:.0f} %"


def _misses(rung: Rung) -> str:
    if rung.misses == 0:
        return "no miss"
    return f"at most {'one miss' if rung.misses == 1 else f'{number_word(rung.misses)} misses'}"


def claim_rows(plan: WalkPlan) -> tuple[ClaimRow, ...]:
    """The claims, then walks that no claim counts, then controls."""
    rows = []
    for claim in plan.claims:
        rungs, chance = rungs_of(claim), claim.chance
        of = "this place" if claim.of == "place" else "these places together, not for each"
        rows.append(
            ClaimRow(
                claim.claim,
                claim.where,
                " / ".join(f"{rung.walks}" for rung in rungs),
                " / ".join(f"{rung.misses}" for rung in rungs),
                _mean_pd(plan, claim.claim, claim.kinds),
                " / ".join(share(each) for each in (chance.predicted, chance.low_end, chance.over_prior)),
                f"Pd {requirement_text(plan.requirement.pd)} at {level_text(claim.confidence)} for {of}",
            )
        )
    free = [trial for trial in plan.trials if trial.claim is None and not trial.control]
    if free:
        kinds = tuple(dict.fromkeys(trial.kind for trial in free))
        places = len({plan.kind_of(kind).place for kind in kinds})
        pd = _mean_pd(plan, None, kinds)
        shows = f"what N50 is on this site, to about {100 * plan.expected.to_promise:.0f} %"
        rows.append(ClaimRow("none", plural(places, "place"), f"{len(free)}", "no claim", pd, "", shows))
    controls = counts(plan)[2]
    if controls:
        shows = "whether the rule's direction holds: an alarm is a fault; counted for nothing"
        rows.append(ClaimRow("control", "against the rule's direction", f"{controls}", "no claim", "", "", shows))
    return tuple(rows)


def _mean_pd(plan: WalkPlan, claim: str | None, kinds: tuple[str, ...]) -> str:
    """Mean Pd and its ends over the walks of a claim's first rung, each kind as often as it is walked there."""
    walked = Counter(trial.kind for trial in plan.trials if trial.claim == claim and trial.rung == 1 and not trial.control)
    weights = {kind: walked[kind] or 1 for kind in kinds}
    total = sum(weights.values())
    ends = [
        sum(weight * getattr(plan.kind_of(kind), name) for kind, weight in weights.items()) / total
        for name in ("pd", "pd_low", "pd_high")
    ]
    return interval_text(*ends)


def prediction_rows(plan: WalkPlan) -> tuple[PredictionRow, ...]:
    """One row a card, in the order of the plan; of controls the Pd is left out: no alarm is meant to come."""
    rows = []
    for trial in plan.trials:
        kind = plan.kind_of(trial.kind)
        rows.append(
            PredictionRow(
                f"{trial.trial}",
                kind.place,
                GAIT_NAMES[kind.gait] + (", out" if kind.direction == "out" else ""),
                "control" if trial.control else trial.claim or "none",
                "–" if trial.control else pd_text(kind.pd),
                not trial.control and kind.pd < plan.requirement.pd,
            )
        )
    return tuple(rows)


def statements(plan: WalkPlan) -> tuple[str, ...]:
    """What the walks show and what they do not."""
    first, _, _ = counts(plan)
    as_walked = "as walked, without a climb"
    said = [f"A claim holds for this night, these walkers and these gaits, {as_walked}."] if plan.claims else []
    if not plan.claims:
        said.append("No claim is made: these walks are for N50, on this night, with these walkers and gaits.")
    elif len(plan.claims) > 1:
        level = confidence_text(plan.requirement.confidence)
        said.append(
            f"All claims hold together at {level}."
            if plan.together
            else f"Each claim holds by itself at {level}, not all of them at once."
        )
    said += [
        "The Pd of such a walk is not the Pd of one who climbs: N50 and the correlation alone tie them together.",
        "N50 from these walks includes all that the law of resolution gets wrong on this site.",
    ]
    if first < FEW_WALKS:
        said.append(f"{first} walks say hardly anything of how alike two cameras judge: that takes {FEW_WALKS} and more.")
    said += [
        "Walks on a clear night say next to nothing of threshold and clutter; weather that was not walked keeps its uncertainty.",
        "In a calibrated run every segment, walked or not, keeps the wider band of a place that nobody walked.",
        "Void walks are scored twice, left out and as misses; where that changes a verdict, both are printed.",
        "Write down who read the alarms, and whether he knew when walks came: an operator who knows sees more.",
        "Walks of one night or one walker count for less than their number: two walkers at least, two nights where it matters.",
        "Intruders may hide; walkers on cards do not.",
    ]
    return tuple(said)

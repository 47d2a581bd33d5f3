"""What the pictures of a scored walk test draw: groups against their bands, claims against the requirement."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from fencecast import __version__
from fencecast.errors import UsageError
from fencecast.findings.rehearsal import with_rehearsal
from fencecast.findings.walkscorewords import claims_title, prediction_title, requirement_words
from fencecast.findings.words import confidence_text, pd_text, plural
from fencecast.prove.score.predictive import BAND, PredictionScore
from fencecast.prove.score.score import WalkScore
from fencecast.prove.score.tables import predicted_walks
from fencecast.prove.walks.chance import alarms_distribution, interval

__all__ = ["ClaimRow", "ClaimsData", "ObservedRow", "PredictedObservedData", "claims_data", "predicted_observed_data"]


@dataclass(frozen=True)
class ObservedRow:
    """Shares [fraction] of n pairs of walk and camera, or of n walks: predicted, observed, and the band's ends.

    bar: the exact interval of the observed share; only where every walk counts once. outside: -1 below, 1 above the band.
    """

    label: str
    below: str
    count: str
    predicted: float
    observed: float
    band: tuple[float, float]
    outside: int
    bar: tuple[float, float] | None = None


@dataclass(frozen=True)
class PredictedObservedData:
    """What `plot_predicted_observed` draws: groups from low to high predicted Pd, then all walks by alarms of any camera."""

    title: str
    subtitle: str
    groups: tuple[ObservedRow, ...]
    total: ObservedRow
    attrs: Mapping[str, Any]


@dataclass(frozen=True)
class ClaimRow:
    """One claim: its count (observed NaN without a walk), limits, and the prediction with its range; all Pd [fraction]."""

    label: str
    below: str
    count: str
    verdict: str
    observed: float
    low_one_sided: float
    low: float
    high: float
    predicted: float
    predicted_low: float
    predicted_high: float


@dataclass(frozen=True)
class ClaimsData:
    """What `plot_claims` draws."""

    title: str
    subtitle: str
    rows: tuple[ClaimRow, ...]
    requirement: float
    confidence: str
    attrs: Mapping[str, Any]


def predicted_observed_data(score: WalkScore) -> PredictedObservedData:
    """Groups of pairs of walk and camera by predicted Pd, and all walks. UsageError when no walk is of a predicted kind."""
    found = score.prediction
    if found is None:
        raise UsageError("no walk of the log is of a kind that the plan predicts: there is nothing to compare")
    subtitle = (
        f"Share of alarms, {score.plan.title}: predicted in the plan before the walks, and observed. A walk counts once for each "
        "camera that could see it."
    )
    return PredictedObservedData(
        prediction_title(found), with_rehearsal(subtitle, score.log.rehearsal), group_rows(found), _total(score), _attrs(score)
    )


def group_rows(found: PredictionScore) -> tuple[ObservedRow, ...]:
    """A row for every group of predicted Pd, low to high."""
    return tuple(
        ObservedRow(
            pd_text(group.low) if pd_text(group.low) == pd_text(group.high) else f"{pd_text(group.low)} to {pd_text(group.high)}",
            f"{plural(group.n, 'walk')}, per camera", f"{group.alarms} of {group.n}", group.expected,
            group.alarms / group.n, (group.band_low / group.n, group.band_high / group.n), group.outside,
        )
        for group in found.groups
    )  # fmt: skip


def _total(score: WalkScore) -> ObservedRow:
    walks = predicted_walks(score.plan, score.log.walks)
    pd = [walk.pd for walk in walks]
    n, alarms = len(pd), sum(walk.alarm for walk in walks)
    below = np.cumsum(alarms_distribution(pd))
    low, high = (int(np.searchsorted(below, share)) for share in ((1.0 - BAND) / 2.0, (1.0 + BAND) / 2.0))
    high = min(high, n)
    outside = -1 if alarms < low else 1 if alarms > high else 0
    bar = interval(n, n - alarms, BAND)
    return ObservedRow(
        "any camera", plural(n, "walk"), f"{alarms} of {n}", sum(pd) / n, alarms / n, (low / n, high / n), outside, bar
    )


def claims_data(score: WalkScore) -> ClaimsData:
    """A row for every claim of the plan; none when it has none."""
    rows = []
    for each in score.claims:
        kinds = [score.plan.kind_of(kind) for kind in each.claim.kinds]
        judged = each.judged
        mean = [sum(getattr(kind, name) for kind in kinds) / len(kinds) for name in ("pd", "pd_low", "pd_high")]
        missed = plural(judged.misses, "miss", "misses")
        rows.append(
            ClaimRow(
                each.claim.where, f"claim {each.claim.claim}", f"{plural(judged.n, 'walk')}, {missed}",
                f"walk on to {judged.next_rung}" if judged.next_rung else judged.verdict,
                (judged.n - judged.misses) / judged.n if judged.n else float("nan"), judged.low_one_sided, judged.low,
                judged.high,
                mean[0], min(mean[1:]), max(mean[1:]),
            )
        )  # fmt: skip
    confidences = {each.claim.confidence for each in score.claims}
    confidence = confidence_text(confidences.pop()) if len(confidences) == 1 else "claim's own"
    subtitle = (
        f"Pd of each claim against {requirement_words(score)}: {score.plan.title}. Verdict by the rungs, interval by the count."
    )
    subtitle = with_rehearsal(subtitle, score.log.rehearsal)
    return ClaimsData(claims_title(score), subtitle, tuple(rows), score.plan.requirement.pd, confidence, _attrs(score))


def _attrs(score: WalkScore) -> dict[str, Any]:
    counted = plural(len(score.log.counted), "walk")
    return {
        "title": score.plan.title,
        "version": __version__,
        "what": f"{counted} · plan {score.plan_sha256[:8]}",
        "file_kind": "log",
        "site_sha256": score.log.sha256,
    }

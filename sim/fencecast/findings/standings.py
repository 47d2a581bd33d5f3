"""What a study found, in numbers and in a few plain sentences: which design ranks first, by how much, and in other weather?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fencecast.findings.words import listed, whole

if TYPE_CHECKING:  # of a study, which has other dimensions than a run
    import xarray as xr

# Below this many yards Student's t leans on differences being normal (common practice, no source).
FEW_YARDS = 10
# A design that leaves more than this of what another uses was not compared at equal means (judgement).
_UNEQUAL_SHARE = 0.05


@dataclass(frozen=True)
class Standing:
    """One design in one weather class at one allowance; gap, low, high: its mean Pd above the next design's, NaN for the last."""

    design: str
    pd: float
    rank: float
    rank_low: float
    rank_high: float
    first_share: float
    gap: float
    gap_low: float
    gap_high: float
    p_holm: float


def standings(results: xr.Dataset, weather: int, allowance: int = 0) -> list[Standing]:
    """The designs by rank in a weather class; those that were left out of ranking (no yard on which all have a layout) are not
    there."""
    names = [str(name) for name in results["design"].values]
    at = results.isel(allowance=allowance, weather=weather)
    columns = {name: at[name].values.reshape(-1) for name in ("rank", "rank_low", "rank_high", "first_share")}
    pd = at["mean_pd"].transpose("yard", "strategy", "lens").values.reshape(len(results["yard"]), -1)
    common = ~np.isnan(pd).any(axis=1)
    if not common.any():
        return []
    mean = pd[common].mean(axis=0)
    order = sorted(range(len(names)), key=lambda k: (columns["rank"][k], k))
    rows = []
    for k, following in zip(order, [*order[1:], None]):
        gap = [math.nan] * 4
        if following is not None:
            gap = [float(at[f"pair_{end}"].values[k, following]) for end in ("difference", "low", "high", "p_holm")]
        ranks = [float(columns[name][k]) for name in columns]
        rows.append(Standing(names[k], float(mean[k]), *ranks, *gap))
    return rows


def reference(results: xr.Dataset) -> int:
    """The class with the most hours: the weather in which rankings are usually made."""
    return int(np.argmax(results["weather_hours"].values[:-1]))


def allowance_words(results: xr.Dataset, allowance: int = 0) -> str:
    """`at most 4.5 cameras per 100 m`, `at most 12,000 per yard (cost)`."""
    amount = float(results["allowance"].values[allowance])
    each = "per 100 m" if results.attrs["per_100_m"] else "per yard"
    return f"{amount:g} cameras {each}" if results.attrs["equal_by"] == "cameras" else f"a cost of {whole(amount)} {each}"


def distinguishable(first: Standing, confidence: float) -> bool:
    """Whether a design is above the next one at the study's confidence, for all pairs and classes together."""
    return first.p_holm <= 1.0 - confidence


def winner_sentence(results: xr.Dataset) -> str:
    """Which design ranks first over the year, by how much; or that it is not distinguishable from the next."""
    rows = standings(results, results.sizes["weather"] - 1)
    with_all = common_yards(results)
    start = f"At {allowance_words(results)}"
    if not rows:
        return f"{start} no yard has a layout of every design; allow more in [equal]."
    first, confidence = rows[0], float(results.attrs["confidence"])
    if len(rows) == 1:
        return f"{start} {first.design} has mean Pd {mean_pd_words(first.pd)} over {with_all} yards."
    yards = f"over {with_all} yard{'s' if with_all != 1 else ''}"
    gap, mean, following = gap_words(first.gap, first.gap_low, first.gap_high), mean_pd_words(first.pd), rows[1].design
    if distinguishable(first, confidence):
        return f"{start} {first.design} ranks first {yards}: mean Pd over the year {mean}, {gap} above {following}, the next."
    return (
        f"{start} {first.design} ranks first {yards} with mean Pd {mean} over the year, but is not distinguishable from "
        f"{following}, which is {gap} below."
    )


def gap_words(gap: float, low: float, high: float) -> str:
    """`0.021 (0.015 to 0.027)`; without an interval where one yard is all there is."""
    words = f"{gap:.3f}" if math.isnan(low) else f"{gap:.3f} ({low:.3f} to {high:.3f})"
    return words.replace("-", "−")


def weather_sentences(results: xr.Dataset) -> list[str]:
    """For every class but the one with the most hours: is the ranking the same there?"""
    base = reference(results)
    usual = standings(results, base)
    if len(usual) < 2:
        return []
    name, confidence = str(results["weather"].values[base]), float(results.attrs["confidence"])
    said = []
    for k, other in enumerate(str(w) for w in results["weather"].values[:-1]):
        if k == base:
            continue
        rows = standings(results, k)
        first = rows[0]
        sure = f"it is first in {percent(first.first_share)} of the resampled sets of yards"
        lead = f"{gap_words(first.gap, first.gap_low, first.gap_high)} above {rows[1].design}"
        same = [r.design for r in rows] == [r.design for r in usual]
        if same:
            said.append(f"In {other} the ranking is that of {name}: {first.design} stays first, {lead}; {sure}.")
        elif first.design == usual[0].design:
            said.append(f"In {other} {first.design} stays first, {lead}, but the order behind it changes; {sure}.")
        elif distinguishable(first, confidence):
            said.append(f"In {other} the ranking is not that of {name}: {first.design} ranks first there, {lead}; {sure}.")
        else:
            said.append(
                f"In {other} {first.design} ranks first instead of {usual[0].design}, but is not distinguishable from "
                f"{rows[1].design}; {sure}."
            )
    return said


def mean_pd_words(pd: float) -> str:
    """A mean Pd with three decimals, as differences have; from 0.9995 `>0.999`: no simulation says 1."""
    return ">0.999" if pd >= 0.9995 else "<0.001" if pd < 0.0005 else f"{pd:.3f}"


def percent(share: float) -> str:
    """`97 %`; from 99.5 % `nearly all`, below 0.5 % `under 1 %`: a sampled share is never printed as all or none."""
    return "nearly all" if share >= 0.995 else "under 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def common_yards(results: xr.Dataset, allowance: int = 0) -> int:
    """On how many yards every design has a layout."""
    pd = results["mean_pd"].isel(allowance=allowance, weather=-1).transpose("yard", "strategy", "lens").values
    return int((~np.isnan(pd).any(axis=(1, 2))).sum())


def study_warnings(results: xr.Dataset) -> list[str]:
    """What a reader should know first: yards left out, few yards, unequal means, processes of several kinds."""
    warned = []
    total, common = results.sizes["yard"], common_yards(results)
    cameras = results["cameras"].isel(allowance=0).transpose("yard", "strategy", "lens").values.reshape(total, -1)
    names = [str(name) for name in results["design"].values]
    missing = {name: int(np.isnan(cameras[:, k]).sum()) for k, name in enumerate(names)}
    if any(missing.values()):
        words = ", ".join(f"{name} on {count}" for name, count in missing.items() if count)
        warned.append(
            f"within {allowance_words(results)} there is no layout of {words} of {total} yards: ranks are over the {common} "
            "that have all, and each difference over those that have both; such yards are not like the rest (often fewer corners)"
        )
    if 0 < common < FEW_YARDS:
        warned.append(
            f"only {common} yard{'s' if common != 1 else ''}: with so few, intervals over yards rely on differences having a "
            "normal distribution"
        )
    used = results["cost" if results.attrs["equal_by"] == "cost" else "cameras"].isel(allowance=0)
    used = used.transpose("yard", "strategy", "lens").values.reshape(total, -1)
    used = used[~np.isnan(used).any(axis=1)]
    if len(used):
        mean = used.mean(axis=0)
        little = [name for name, value in zip(names, mean) if value < (1.0 - _UNEQUAL_SHARE) * mean.max()]
        if little:
            what = "money" if results.attrs["equal_by"] == "cost" else "cameras"
            warned.append(
                f"not every design uses the {what} that it may: {listed(little)} used over 5 % less than another on average"
            )
    return warned

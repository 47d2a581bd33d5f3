"""What a study found, in numbers and in a few plain sentences: which design ranks first, by how much, and in other weather?"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fencecast.decide.study.results import common
from fencecast.estimate.places import stated_hours
from fencecast.findings.words import listed, whole
from fencecast.meteorology.year import LEAST_YEARS

if TYPE_CHECKING:  # of a study, which has other dimensions than a run
    import xarray as xr

# Below this many yards Student's t leans on differences being normal (common practice, no source).
FEW_YARDS = 10
# What every judgement of two designs of a study is adjusted by.
ADJUSTED = "Holm, all pairs and classes"
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
    """The designs by rank in a weather class; those that were left out of ranking (`common`) are not there."""
    names = [str(name) for name in results["design"].values]
    at = results.isel(allowance=allowance, weather=weather)
    columns = {name: at[name].values.reshape(-1) for name in ("rank", "rank_low", "rank_high", "first_share")}
    pd = at["mean_pd"].transpose("yard", "strategy", "lens").values.reshape(len(results["yard"]), -1)
    ranked, yards = common(pd)
    if not yards.any():
        return []
    mean = pd[yards].mean(axis=0)
    order = sorted(np.flatnonzero(ranked).tolist(), key=lambda k: (columns["rank"][k], k))
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
    """`4.5 cameras per 100 m`, `a cost of 12,000 per yard`: the most that a layout may use."""
    amount = float(results["allowance"].values[allowance])
    each = "per 100 m" if results.attrs["per_100_m"] else "per yard"
    return f"{amount:g} cameras {each}" if results.attrs["equal_by"] == "cameras" else f"a cost of {whole(amount)} {each}"


def distinguishable(first: Standing, confidence: float) -> bool:
    """Whether a design is above the next one at the study's confidence, for all pairs and classes together."""
    return first.p_holm <= 1.0 - confidence


def winner_sentence(results: xr.Dataset) -> str:
    """Which design ranks first over the year, by how much; or that it is not distinguishable from the next.

    Means and difference are over the same yards.
    """
    rows = standings(results, results.sizes["weather"] - 1)
    with_all = common_yards(results)
    start = f"With at most {allowance_words(results)}"
    if not rows:
        return f"{start} no design has a layout on any yard; allow more in [equal]."
    first, confidence = rows[0], float(results.attrs["confidence"])
    if len(rows) == 1:
        words = f"mean Pd {mean_pd_words(first.pd)} over {span_words(results)}"
        return f"{start} {first.design} has {words}, {with_all} yard{'s' if with_all != 1 else ''}."
    yards = f"over {with_all} yard{'s' if with_all != 1 else ''}"
    gap, following = gap_words(first.gap, first.gap_low, first.gap_high), rows[1].design
    mean = f"mean Pd over {span_words(results)} {mean_pd_words(first.pd)}"
    if distinguishable(first, confidence):
        return f"{start} {first.design} ranks first {yards}: {mean}, {gap} above {following}, the next ({ADJUSTED})."
    return f"{start} {first.design} has the highest {mean}, {yards}; {_not_apart(first, following, gap)}."


def _not_apart(first: Standing, following: str, gap: str) -> str:
    """That a design is not distinguishable from the next; an interval that leaves zero out all the same is said to be that pair's
    own."""
    own = f", {gap} below" if not first.gap_low > 0.0 else f": {gap} below by that pair alone"
    return f"it is not distinguishable from {following} ({ADJUSTED}){own}"


def span_words(results: xr.Dataset) -> str:
    """What the mean Pd that designs are ranked by is over: `the year`; of an hourly record `the 4,380 armed hours of a year`."""
    if "period_years" not in results.attrs:
        return "the year"
    years = float(results.attrs["period_years"])
    hours = whole(stated_hours(float(results["weather_hours"].values[-1]), years))
    return f"the {hours} armed hours of {'a year' if years >= LEAST_YEARS else 'the record'}"


def gap_words(gap: float, low: float, high: float) -> str:
    """`0.021 (0.015 to 0.027)`; without an interval where one yard is all there is."""
    words = f"{gap:.3f}" if math.isnan(low) else f"{gap:.3f} ({low:.3f} to {high:.3f})"
    return words.replace("-", "−")


def weather_sentences(results: xr.Dataset) -> list[str]:
    """For every class but the one with the most hours: which design is first there, and which change places.

    That a whole order stays is never said: of designs that are not distinguishable an order says nothing.
    """
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
        first, gap = rows[0], gap_words(rows[0].gap, rows[0].gap_low, rows[0].gap_high)
        alike = first.design == usual[0].design
        if not distinguishable(first, confidence):
            words = (
                f"{first.design} has the highest mean Pd, as in {name}" if alike else f"{first.design} has the highest mean Pd"
            )
            words += f"; {_not_apart(first, rows[1].design, gap)}"
        else:
            words = f"{first.design} ranks first, {gap} above {rows[1].design} ({ADJUSTED})"
            if distinguishable(usual[0], confidence):
                words = words.replace("first", f"first as in {name}" if alike else f"first instead of {usual[0].design}", 1)
        turned = "".join(f"; {above} is above {below}, in {name} below it" for above, below in changed_places(results, base, k))
        said.append(f"In {other} {words}{turned}.")
    return said


def changed_places(results: xr.Dataset, usual: int, other: int, allowance: int = 0) -> list[tuple[str, str]]:
    """Pairs of designs of which the first is above the second in class `other` and below it in class `usual`, both
    distinguishable for all pairs and classes together."""
    at = results.isel(allowance=allowance)
    alpha = 1.0 - float(results.attrs["confidence"])
    gap, p = (at[name].transpose("design", "other", "weather").values for name in ("pair_difference", "pair_p_holm"))
    sure = (p[:, :, usual] <= alpha) & (p[:, :, other] <= alpha)
    names = [str(name) for name in results["design"].values]
    return [(names[a], names[b]) for a, b in np.argwhere(sure & (gap[:, :, usual] < 0.0) & (gap[:, :, other] > 0.0))]


def mean_pd_words(pd: float) -> str:
    """A mean Pd with three decimals, as differences have; from 0.9995 `>0.999`: no simulation says 1."""
    return ">0.999" if pd >= 0.9995 else "<0.001" if pd < 0.0005 else f"{pd:.3f}"


def percent(share: float) -> str:
    """`97 %`; from 99.5 % `over 99 %`, below 0.5 % `under 1 %`: a sampled share is never printed as all or none."""
    return "over 99 %" if share >= 0.995 else "under 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def common_yards(results: xr.Dataset, allowance: int = 0) -> int:
    """On how many yards every ranked design has a layout."""
    pd = results["mean_pd"].isel(allowance=allowance, weather=-1).transpose("yard", "strategy", "lens").values
    return int(common(pd.reshape(len(pd), -1))[1].sum())


def study_warnings(results: xr.Dataset) -> list[str]:
    """What a reader should know first: yards left out, few yards, unequal means, processes of several kinds."""
    warned = []
    total, shared = results.sizes["yard"], common_yards(results)
    cameras = results["cameras"].isel(allowance=0).transpose("yard", "strategy", "lens").values.reshape(total, -1)
    names = [str(name) for name in results["design"].values]
    missing = {name: int(np.isnan(cameras[:, k]).sum()) for k, name in enumerate(names)}
    words = ""
    if any(missing.values()):
        words = ", ".join(f"{name} on {count}" for name, count in missing.items() if 0 < count < total)
        none = [name for name, count in missing.items() if count == total]
        if none:
            why = str(
                results["no_layout"].isel(allowance=0).transpose("yard", ...).values.reshape(total, -1)[0, names.index(none[0])]
            )
            warned.append(
                f"within {allowance_words(results)} there is no layout of {listed(none)} on any yard ({why}): ranked without "
                f"{'it' if len(none) == 1 else 'them'}"
            )
    if words:
        warned.append(
            f"within {allowance_words(results)} there is no layout of {words} of {total} yards: ranks and differences are over "
            f"the {shared} that have all that are ranked; such yards are not like the rest (often fewer corners)"
        )
    if 0 < shared < FEW_YARDS:
        warned.append(
            f"only {shared} yard{'s' if shared != 1 else ''}: with so few, intervals over yards rely on differences having a "
            "normal distribution"
        )
    used = results["cost" if results.attrs["equal_by"] == "cost" else "cameras"].isel(allowance=0)
    used = used.transpose("yard", "strategy", "lens").values.reshape(total, -1)
    ranked, yards = common(cameras)
    names = [name for name, is_ranked in zip(names, ranked) if is_ranked]
    used = used[np.ix_(yards, ranked)]
    if len(used):
        mean = used.mean(axis=0)
        little = [name for name, value in zip(names, mean) if value < (1.0 - _UNEQUAL_SHARE) * mean.max()]
        if little:
            what = "money" if results.attrs["equal_by"] == "cost" else "cameras"
            warned.append(
                f"not every design uses the {what} that it may: {listed(little)} used over 5 % less than another on average"
            )
    return warned

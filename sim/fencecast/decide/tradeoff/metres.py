"""Metres at the requirement under every setting, paired: all settings saw the same crossings.

A metre counts when its Pd, as estimated, is at or above the requirement in every weather class. How far crossings alone could
move the count is asked by resampling the independent scramblings (Efron 1979, the bootstrap, from memory), the same ones for all
settings, so that differences between settings keep what the shared crossings give them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from fencecast.estimate.intervals import half_width

RESAMPLES = 400
TENTH = 0.1
_CHUNK_CELLS = 400


@dataclass(frozen=True)
class Metres:
    """Metres by setting [m]; arrays (settings,) unless said.

    meets: at the requirement in every class, as estimated; low, high: with the whole interval of every class above it; with none
    wholly below it. by_class (settings, classes). half (settings, settings): half width of the interval of the difference of
    meets between two settings. weakest_tenth, weakest: Pd of the weakest tenth of the metres and of the weakest segment, each
    in its worst class.
    """

    meets: np.ndarray
    low: np.ndarray
    high: np.ndarray
    by_class: np.ndarray
    half: np.ndarray
    weakest_tenth: np.ndarray
    weakest: np.ndarray


def metres_of(each: np.ndarray, crossings: int, lengths: np.ndarray, need: float, confidence: float) -> Metres:
    """The metres of every setting.

    each (settings, classes, segments, scramblings): mean Pd of every scrambling, NaN where no rule watches; crossings: of each
    cell; lengths (segments,) [m]; need: the requirement; confidence: of every interval.
    """
    watched = ~np.isnan(each).any(axis=(0, 1, 3))
    each, lengths = each[:, :, watched], lengths[watched]
    scramblings = each.shape[3]
    pd = each.mean(axis=3)
    half = half_width(each.std(axis=3, ddof=1) / np.sqrt(scramblings), crossings, scramblings, confidence, pd)
    counts = resampled_metres(each, lengths, need)
    # Eight scramblings resampled spread by a factor sqrt(7/8) too little.
    spread = np.cov(counts.T).reshape(len(each), len(each)) * scramblings / (scramblings - 1)
    of_one = np.diag(spread)
    apart = np.sqrt(np.maximum(of_one[:, None] + of_one[None, :] - 2.0 * spread, 0.0))
    tenth, weakest = weakest_of(each, lengths)
    return Metres(
        meets=at_requirement(pd, need) @ lengths,
        low=(pd - half > need).all(axis=1) @ lengths,
        high=(pd + half >= need).all(axis=1) @ lengths,
        by_class=(pd >= need) @ lengths,
        half=ndtri(0.5 + 0.5 * confidence) * apart,
        weakest_tenth=tenth,
        weakest=weakest,
    )


def at_requirement(pd: np.ndarray, need: float) -> np.ndarray:
    """Which segments are at the requirement in every class: (settings, segments) from (settings, classes, segments)."""
    return (pd >= need).all(axis=1)


def resampled_metres(each: np.ndarray, lengths: np.ndarray, need: float) -> np.ndarray:
    """Metres at the requirement in every class by resampled scramblings, (RESAMPLES, settings).

    Every cell resamples its own scramblings (they are independent from cell to cell), with the same choice for all settings.
    """
    settings, classes, segments, scramblings = each.shape
    random = np.random.Generator(np.random.PCG64(20_251_129))  # any fixed stream: results must not change from run to run
    total = np.zeros((RESAMPLES, settings))
    step = max(1, _CHUNK_CELLS // classes)
    for first in range(0, segments, step):
        part = each[:, :, first : first + step]
        share = random.multinomial(scramblings, np.full(scramblings, 1.0 / scramblings), (RESAMPLES, classes, part.shape[2]))
        pd = np.einsum("bckr,sckr->bsck", share / scramblings, part)
        total += (pd >= need - 1e-12).all(axis=2) @ lengths[first : first + step]
    return total


def weakest_of(each: np.ndarray, lengths: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Mean Pd of the weakest tenth of the metres, and Pd of the weakest segment, each in its worst class, both (settings,).

    The lowest of many estimates is too low. So one half of the scramblings says which metres and classes are the lowest, the
    other half what their Pd is; then the halves change places.
    """
    if not len(lengths):
        nothing = np.full(len(each), np.nan)
        return nothing, nothing.copy()
    middle = each.shape[3] // 2
    halves = each[..., :middle].mean(axis=3), each[..., middle:].mean(axis=3)
    found = [_tenth(chooses, says, lengths) for chooses, says in (halves, halves[::-1])]
    tenth, weakest = (np.mean([one[k] for one in found], axis=0) for k in (0, 1))
    return tenth, weakest


def _tenth(chooses: np.ndarray, says: np.ndarray, lengths: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    worst = chooses.argmin(axis=1)
    low = np.take_along_axis(chooses, worst[:, None], axis=1)[:, 0]
    pd = np.take_along_axis(says, worst[:, None], axis=1)[:, 0]
    order = np.argsort(low, axis=1, kind="stable")
    metres = lengths[order]
    left = TENTH * lengths.sum() - (np.cumsum(metres, axis=1) - metres)
    share = np.clip(left, 0.0, metres)  # the last segment counts as far as the tenth reaches
    sorted_pd = np.take_along_axis(pd, order, axis=1)
    return (sorted_pd * share).sum(axis=1) / share.sum(axis=1), sorted_pd[:, 0]

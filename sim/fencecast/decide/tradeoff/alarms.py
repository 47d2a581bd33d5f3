"""Alarms a night that are nobody's, setting by setting, and how sure one setting has fewer than another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from fencecast.estimate.options import RunOptions
from fencecast.meteorology.year import Year
from fencecast.site import Site


@dataclass(frozen=True)
class Nights:
    """Nuisance alarms of one setting.

    year, low, high: mean of a night over the year with its interval [1/night]; bad_night: at most so many in 19 of 20 nights;
    causes: mean of a night by stimulus; se: what crossings alone leave open of `year`; by_draw (draws,): `year` under draws of
    the uncertain rates that are the same for every setting.
    """

    year: float
    low: float
    high: float
    bad_night: int
    causes: Mapping[str, float]
    se: float
    by_draw: np.ndarray


def ratio_half(nights: Sequence[Nights], confidence: float) -> np.ndarray:
    """Half width of the interval of ln(alarms of t / alarms of s), (settings, settings).

    Rates are uncertain by a factor, but by the same one for all settings: what is left of that in a ratio is how settings differ
    in the causes that they let through. Encounters are the same too, yet their error is added as if they were not: too wide
    rather than too narrow.
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.log([each.by_draw for each in nights])
        own = np.array([each.se / each.year if each.year > 0.0 else np.inf for each in nights]) ** 2
        spread = np.array([np.var(logs - logs[s], axis=1) for s in range(len(nights))])
    half = ndtri(0.5 + 0.5 * confidence) * np.sqrt(np.nan_to_num(spread + own[:, None] + own[None, :], nan=np.inf))
    np.fill_diagonal(half, 0.0)
    return half


def nights_of(site: Site, classes: Sequence, options: RunOptions, year: Year | None) -> Nights | None:
    """Nuisance alarms of a site; None when it names no stimulus, because then only sensor noise is known."""
    if not getattr(site, "stimulus", ()):
        return None
    raise NotImplementedError

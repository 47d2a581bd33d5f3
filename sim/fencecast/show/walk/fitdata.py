"""What the picture of a fit draws: prior and posterior of N50 and of the correlation, and the walks on the curve."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fencecast import __version__
from fencecast.findings.rehearsal import with_rehearsal
from fencecast.findings.walkfitwords import fit_title, n50_text
from fencecast.findings.words import plural
from fencecast.physics.discrimination import discrimination_probability
from fencecast.prove.fit.checks import Band
from fencecast.prove.fit.grid import correlation_weights
from fencecast.prove.fit.walkfit import WalkFit

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Density:
    """A curve before and after the walks: x, densities of equal areas, the 95 % ends and the middle; label of the middle."""

    x: Array
    before: Array
    after: Array
    low: float
    high: float
    middle: float
    label: str


@dataclass(frozen=True, eq=False)
class CalibrationData:
    """n50: over ln N50. correlation: over r. cycles, pd, pd_low, pd_high: the law at the median and at both ends of N50.

    bands: cells of walks by the Pd of a camera.
    """

    title: str
    subtitle: str
    n50: Density
    correlation: Density
    cycles: Array
    pd: Array
    pd_low: Array
    pd_high: Array
    bands: tuple[Band, ...]
    walks: int
    attrs: Mapping[str, Any]


def calibration_data(fit: WalkFit) -> CalibrationData:
    """The numbers of `calibration.png`."""
    known, grid = fit.cycles_50, fit.posterior.grid
    before = np.exp(grid.log_prior(fit.posterior.prior))
    after = fit.posterior.of_ln_cycles_50
    at = known.high if known.only_from_above else known.low if known.only_from_below else known.median
    word = "at most " if known.only_from_above else "at least " if known.only_from_below else ""
    n50 = Density(grid.ln_points, before / before.sum(), after / after.sum(), known.low, known.high, at, f"{word}{n50_text(at)}")
    r = fit.correlation
    widths = grid.r_widths / grid.r_widths.sum()
    before_r = correlation_weights(grid, fit.posterior.prior) / widths / 0.9
    correlation = Density(
        grid.r_points, before_r, fit.posterior.of_correlation / widths / 0.9, r.low, r.high, r.mean, f"mean {r.mean:.2f}"
    )
    low = min([known.low * 0.5, *(band.cycles for band in fit.checks.bands)])
    high = max([known.high * 2.0, *(band.cycles for band in fit.checks.bands)])
    cycles = np.geomspace(low * 0.9, high * 1.1, 161)
    curves = [
        np.array([discrimination_probability(n / n50_at) for n in cycles]) for n50_at in (known.median, known.high, known.low)
    ]
    question = fit.question
    subtitle = (
        f"{question.plan.title}: {plural(question.walks, 'walk')} at {plural(len(fit.posterior.places), 'place')}. Dashed: "
        f"assumed "
        "before the walks; shaded: after them, with 95 %. Below: cameras' alarms against the law of resolution."
    )
    attrs = {
        "title": question.plan.title,
        "version": __version__,
        "what": f"{plural(question.walks, 'walk')} · plan {question.plan_sha256[:8]}",
        "file_kind": "log",
        "site_sha256": question.logs[-1].sha256,
    }
    return CalibrationData(
        fit_title(fit),
        with_rehearsal(subtitle, question.rehearsal),
        n50,
        correlation,
        cycles,
        curves[0],
        curves[1],
        curves[2],
        fit.checks.bands,
        question.walks,
        attrs,
    )

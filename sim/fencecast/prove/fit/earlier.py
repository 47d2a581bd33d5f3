"""The prior of a fit: the plan's, or what walks before these left in the `[calibration]` of the site.

One log is never counted twice: a posterior that holds it already is no prior for it.

Tests: tests/prove/fit/test_earlier.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fencecast.errors import InputError
from fencecast.prove.fit.grid import Prior
from fencecast.prove.log.walked import WalkLog
from fencecast.prove.walks.prior import SPREAD, calibrated_prior
from fencecast.site import parse_site
from fencecast.site.calibration import Calibration

if TYPE_CHECKING:
    from fencecast.prove.fit.walkfit import Question

_SHOWN = 8  # digits of a fingerprint


def prior_of_fit(question: Question, median: float | None = None, spread: float | None = None) -> Prior:
    """The prior of ln N50 and correlation; median [cycles] and spread (sd of ln N50): as typed.

    Both typed: nothing of a calibration is in it. Otherwise the posterior of a calibrated site: ln N50 normal with its median and
    standard deviation, the correlation as its weights have it; that N50 and correlation depend on each other is left out.
    InputError for a log that is in that posterior.
    """
    known = calibration_of(question)
    if known is None or (median is not None and spread is not None):
        held = question.prior
        return Prior(held.median if median is None else float(median), held.spread if spread is None else float(spread))
    refuse_counted(question.logs, known)
    left = calibrated_prior(known)
    before = Prior.within(left.median, left.spread)
    return Prior(
        before.median if median is None else float(median),
        before.spread if spread is None else float(spread),
        earlier=known,
    )


def wide_prior(question: Question) -> Prior:
    """About the plan's median, as wide as before any walk: logs that are compared must not be pulled to what one of them gave."""
    plan = question.plan
    return Prior.within(plan.prior_median, plan.prior_spread if calibration_of(question) is None else SPREAD)


def calibration_of(question: Question) -> Calibration | None:
    """Of the site that is simulated, else of the plan's own: its median and spread are in the plan then."""
    if question.site.calibration is not None or not question.other_site:
        return question.site.calibration
    return parse_site(question.plan.site_toml, "site_toml of the plan").calibration


def refuse_counted(logs: Sequence[WalkLog], known: Calibration) -> None:
    """InputError with every log that [calibration] rests on."""
    problems = [
        f"{log.file} (SHA-256 {log.sha256[:_SHOWN]}...) is in [calibration] already and would count twice; type a log of other "
        "walks, or the plan and the site from before that fit with all logs at once"
        for log in logs
        if log.sha256 in known.log_sha256
    ]
    if problems:
        raise InputError(problems, "logs")


def same_days(logs: Sequence[WalkLog], known: Calibration) -> tuple[str, ...]:
    """Days of walks that [calibration] has too: a log that was saved again has another fingerprint."""
    days = {walk.crossed.date().isoformat() for log in logs for walk in log.counted}
    return tuple(sorted(days & set(known.dates)))

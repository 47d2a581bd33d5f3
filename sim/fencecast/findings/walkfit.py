"""What `fencecast walk fit` says in the terminal and as JSON.

Tests: tests/findings/test_walkfitwords.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from fencecast import __version__
from fencecast.cautions import CAUTION
from fencecast.findings import walkfitwords as words
from fencecast.findings.blocks import (
    BAD,
    CAUTION_ROLE,
    FINDING,
    LEFT,
    NOTE,
    RIGHT,
    TEXT,
    TITLE,
    Block,
    Cell,
    Heading,
    Line,
    Table,
    written_lines,
)
from fencecast.findings.rehearsal import NOBODY
from fencecast.findings.words import plural
from fencecast.prove.fit.calibrate import logs_of
from fencecast.prove.fit.walkfit import WalkFit
from fencecast.site import Site

SCHEMA = 1
_DIGITS = 9  # of weights


def fit_blocks(fit: WalkFit, files: Sequence[str] = (), left: Sequence[str] = ()) -> list[Block]:
    """N50, places, correlation, checks, what this log cannot tell."""
    question = fit.question
    where = f"{plural(question.walks, 'walk')} at {plural(len(fit.posterior.places), 'place')}"
    blocks: list[Block] = [
        Line(f"{question.plan.title}: N50 and correlation from {where}", TITLE),
        *([Line(NOBODY, BAD)] if question.rehearsal else []),
        Line(f"{words.fit_title(fit)}.", FINDING),
        *(Line(text) for text in words.n50_sentences(fit)),
        *(Line(text) for text in words.prior_notes(question.plan, fit.posterior.prior)),
        *(Line(text) for text in words.place_sentences(fit)),
        *(Line(text) for text in words.correlation_sentences(fit)),
        Heading("Do the walks look like walks of this model?"),
        _checks_table(fit),
        *(Line(text) for text in words.check_sentences(fit)),
    ]
    doubt = words.doubt_sentence(fit)
    if doubt:
        blocks.append(Line(doubt, BAD))
    twice = words.same_days_sentence(fit)
    if twice:
        blocks.append(Line(twice, BAD))
    blocks += [Line(f"Warning: {text}", BAD) for log in question.logs for text in log.warnings]
    blocks += [Heading("What this log cannot tell"), *(Line(text, NOTE) for text in words.not_known(fit))]
    if question.site.built is None:
        blocks.append(Line("N50 was fitted with cameras as drawn: a mount that hangs otherwise is in it.", NOTE))
    if files:
        blocks += written_lines(files, left)
        blocks.append(Line(next_after_fit(question.site, next(file for file in files if file.endswith(".toml")))))
    return [*blocks, Line(CAUTION, CAUTION_ROLE, apart=True)]


def next_after_fit(site: Site, calibrated: str) -> str:
    """`run` on a site whose cameras were measured; else first how they hang, where that was measured."""
    if site.built is not None:
        return f"Next: fencecast run {calibrated}"
    return (
        f"Next: where cameras were measured, fencecast built SITE.toml MARKS.csv and this fit again with --site SITE-built.toml; "
        f"else fencecast run {calibrated}"
    )


def _checks_table(fit: WalkFit) -> Table:
    rows: list[list[str | Cell]] = []
    for name, p in fit.checks.p.items():
        role = BAD if p is not None and p <= words.LEVEL else TEXT
        rows.append([f"by {name}", "" if p is None else f"{p:.2f}", Cell(words.check_words(name, p), role)])
    return Table.of([("check", LEFT), ("p", RIGHT), ("says", LEFT)], rows)


def fit_object(fit: WalkFit, files: Sequence[str] = ()) -> dict[str, Any]:
    """The JSON object of `walk fit --json`, and calibration.json (without `files`)."""
    question, known, prior = fit.question, fit.cycles_50, fit.posterior.prior
    low, high = fit.any_intruder
    found = {
        "schema": SCHEMA,
        "title": question.plan.title,
        "version": __version__,
        "plan_sha256": question.plan_sha256,
        "log_sha256": list(logs_of(fit)),
        "site_sha256": question.site.sha256,
        "rehearsal": question.rehearsal,
        "walks": question.walks,
        "places": len(fit.posterior.places),
        "walkers": len(question.names),
        "dates": list(question.dates),
        "weather": list(question.weather),
        "cycles_50": {
            "median": known.median,
            "low": known.low,
            "high": known.high,
            "mean_ln": known.mean_ln,
            "sd_ln": known.sd_ln,
            "only_from_above": known.only_from_above,
            "only_from_below": known.only_from_below,
            "low_any_intruder": low,
            "high_any_intruder": high,
        },
        "encounter_correlation": {
            "mean": fit.correlation.mean,
            "mode": fit.correlation.mode,
            "low": fit.correlation.low,
            "high": fit.correlation.high,
            "sd": fit.correlation.sd,
            "prior_sd": fit.correlation.prior_sd,
            "known": not fit.correlation.hardly_known,
            "hardly_known": fit.correlation.hardly_known,
            "mean_pd": [{"correlation": r, "pd": pd} for r, pd in fit.pd_by_correlation],
        },
        "place_spread_ln": {
            "median": fit.place_spread[0],
            "high": fit.place_spread[1],
            "known": not fit.posterior.spread_is_prior,
        },
        "contrast_factor": {
            "known": fit.contrast is not None,
            "median": fit.contrast[0] if fit.contrast else None,
            "low": fit.contrast[1] if fit.contrast else None,
            "high": fit.contrast[2] if fit.contrast else None,
            "information": fit.contrast_information,
            "cycles_50_at_1": _at_one(fit),
        },
        "walker_sd_ln": fit.walker_sd_ln,
        "prior": {
            "median": prior.median,
            "sd_ln": prior.spread,
            "place_spread": prior.place_spread,
            "earlier_walks": 0 if prior.earlier is None else prior.earlier.walks,
            "earlier_dates": [] if prior.earlier is None else list(prior.earlier.dates),
        },
        "prior_moved": [{"sd_ln": sd, "median": median} for sd, median in fit.prior_moved],
        "nuisance_per_hour": fit.nuisance_per_hour,
        "checks": dict(fit.checks.p),
        "without_place": [{"place": place, "median": median} for place, median in fit.without_place],
        "doubts": [{"trial": trial, "camera": camera} for trial, camera in fit.doubts],
        "grid": _grid(fit),
        "warnings": [text for log in question.logs for text in log.warnings] + words.prior_notes(question.plan, prior),
        "caution": CAUTION,
    }
    site = next((file for file in files if file.endswith(".toml")), None)
    return found | ({"site": site, "files": list(files)} if files else {})


def _at_one(fit: WalkFit) -> dict[str, float] | None:
    """N50 for the file's own threshold, which the calibrated file has; None where the factor was held anyway."""
    if fit.contrast is None:
        return None
    held = fit.at_the_files_threshold().cycles_50
    return {"median": held.median, "low": held.low, "high": held.high, "sd_ln": held.sd_ln}


def _grid(fit: WalkFit) -> dict[str, Any]:
    """The posterior on its fine grid; weights add up to 1 but for rounding."""
    points, weight = fit.posterior.of_unwalked_place()
    inside = np.searchsorted(points, fit.posterior.grid.ln_points[0] - 1e-9)
    count = len(fit.posterior.grid.ln_points)
    clipped = weight[inside : inside + count].copy()
    clipped[0] += weight[:inside].sum()
    clipped[-1] += weight[inside + count :].sum()
    return {
        "ln_cycles_50": np.round(fit.posterior.grid.ln_points, 9).tolist(),
        "correlation": np.round(fit.posterior.grid.r_points, 9).tolist(),
        "weight": np.round(fit.posterior.joint, _DIGITS).tolist(),
        "weight_place": np.round(clipped, _DIGITS).tolist(),
    }

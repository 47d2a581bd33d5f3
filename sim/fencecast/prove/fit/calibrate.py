"""The site file with what the walks taught: `[decision]` at the posterior, `[calibration]` with the posterior itself.

Comments, order and every other key stay (tomlkit). `run` on the new file takes the mean over the posterior and its spread into
every interval. Where the contrast factor joined the fit, all of it is for a factor of 1: the threshold of the file stays.
Tests: tests/prove/fit/test_calibrate.py.
"""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from os import PathLike
from pathlib import Path

import numpy as np

from fencecast.errors import InputError, as_toml
from fencecast.prove.fit.grid import Array
from fencecast.prove.fit.posterior import Posterior
from fencecast.prove.fit.walkfit import WalkFit
from fencecast.site import Site, parse_site
from fencecast.site.calibration import CORRELATIONS, GRID

DIGITS = 9  # of weights in the file
TAIL = 1e-3  # of an unwalked place's ln N50, either side, that may be put into the end values
_KEYS = ("cycles_50", "encounter_correlation")


@dataclass(frozen=True, eq=False)
class Projected:
    """The posterior on the grid of the file: ln_cycles_50 (25,), weight (25, 4), weight_place (25,)."""

    ln_cycles_50: Array
    weight: Array
    weight_place: Array


def project(fit: WalkFit) -> Projected:
    """Weights of the fine grid shared out to the two nearest values of the file's: that keeps means to the last digit.

    Walkers are in it: each weight goes half and half to ln N50 plus and minus their standard deviation, which keeps the mean and
    adds their variance, less what sharing out adds by itself (a sixth of a step squared on average). Equal steps between the ends
    that hold all but 1e-5 of either tail of ln N50 and all but 1e-3 of an unwalked place's.
    """
    known = fit.posterior
    joint, (far, of_place) = known.joint, known.of_unwalked_place()
    points, walker = known.grid.ln_points, fit.walker_sd_ln
    mine = _ends(points, joint.sum(axis=1), 1e-5)
    other = _ends(far, of_place, TAIL)
    low, high = min(mine[0], other[0]) - walker, max(mine[1], other[1]) + walker
    step = math.ceil((high - low) / (GRID - 1) * 1e6) / 1e6
    grid = round(low, 6) + np.arange(GRID) * step
    apart = math.sqrt(max(walker**2 - step**2 / 6.0, 0.0))
    shares = 0.5 * (_shares(points - apart, grid) + _shares(points + apart, grid))
    place = 0.5 * (_shares(far - apart, grid) + _shares(far + apart, grid))
    r_shares = _shares(known.grid.r_points, np.array(CORRELATIONS))
    return Projected(grid, _rounded(shares.T @ joint @ r_shares), _rounded(place.T @ of_place))


def _ends(points: Array, weight: Array, tail: float) -> tuple[float, float]:
    mass = np.cumsum(weight) / weight.sum()
    at = np.searchsorted(mass, (tail, 1.0 - tail))
    return float(points[at[0]]), float(points[min(at[1], len(points) - 1)])


def _shares(points: Array, grid: Array) -> Array:
    """(points, grid): hat functions, the ends for what lies beyond them."""
    at = np.clip(points, grid[0], grid[-1])
    return np.maximum(1.0 - np.abs(at[:, None] - grid) / (grid[1] - grid[0]), 0.0)


def _rounded(weight: Array) -> Array:
    """Weights as the file has them, adding up to 1: what rounding leaves goes to the largest."""
    found = np.round(weight / weight.sum(), DIGITS)
    found.flat[int(np.argmax(found))] += 1.0 - found.sum()
    return np.round(found, DIGITS)


def calibrated_text(fit: WalkFit, folder: str | PathLike[str] | None = None) -> str:
    """The text of SITE-calibrated.toml. InputError for a file that tomlkit would change elsewhere.

    folder: where the file will lie; the path of a weather record is then written from there.
    """
    import tomlkit

    fit = fit.at_the_files_threshold()
    site = fit.question.site
    document = tomlkit.parse(site.text)
    if tomlkit.dumps(document) != site.text:
        raise InputError(["tables of one kind are not together, and would be moved; put them together first"], "the site file")
    values = {"cycles_50": _significant(fit.cycles_50.median), "encounter_correlation": round(min(fit.correlation.mean, 0.9), 3)}
    if "calibration" in document:
        del document["calibration"]
    if "decision" not in document:
        document.append("decision", tomlkit.table())
    decision = document["decision"]
    for key in _KEYS:
        decision[key] = values[key]  # takes over the comment behind the old value
    if folder is not None and site.weather_path is not None and not Path(site.weather_file.path).is_absolute():
        document["weather_file"]["path"] = _from_folder(site.weather_path, Path(folder))
    text = tomlkit.dumps(document).rstrip("\n") + "\n\n" + calibration_text(fit)
    _check(site, text, values)
    return text


def _check(site: Site, text: str, values: dict[str, float]) -> None:
    """Nothing but the two keys and the table may differ from the old file."""
    made = parse_site(text, "the calibrated site file")
    keys = {name: getattr(site.decision, name) for name in site.decision.model_fields_set}
    expected = site.replace(decision=keys | values, calibration=made.calibration, weather_file=made.weather_file)
    if made != expected:
        raise InputError(
            [
                "cycles_50 and encounter_correlation could not be replaced where they stand; write both as plain numbers in "
                "[decision], such as cycles_50 = 2.0"
            ],
            "the site file",
        )


def _from_folder(path: Path, folder: Path) -> str:
    """How a path is typed in a file of that folder; in full where there is no other way (another drive)."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve())).as_posix()
    except ValueError:
        return path.resolve().as_posix()


def logs_of(fit: WalkFit) -> tuple[str, ...]:
    """Fingerprints of all logs that the posterior rests on, earlier ones last."""
    earlier = fit.posterior.prior.earlier
    return (*(log.sha256 for log in fit.question.logs), *(earlier.log_sha256 if earlier else ()))


def calibration_text(fit: WalkFit) -> str:
    """The `[calibration]` table, with a comment on what each part is."""
    question, grid = fit.question, project(fit)
    low, high = fit.any_intruder
    earlier = fit.posterior.prior.earlier
    keys: list[tuple[str, object]] = [
        ("cycles_50_low", _significant(low)),
        ("cycles_50_high", _significant(high)),
        ("cycles_50_sd_ln", round(math.hypot(fit.cycles_50.sd_ln, fit.walker_sd_ln), 4)),
        ("correlation_low", round(fit.correlation.low, 3)),
        ("correlation_high", round(fit.correlation.high, 3)),
        *((key, True) for key, holds in _doubts(fit).items() if holds),
        ("place_spread_ln", round(fit.place_spread[0], 4)),
        ("walks", question.walks + (earlier.walks if earlier else 0)),
        ("places", max(len(fit.posterior.places), earlier.places if earlier else 0)),
        ("walkers", max(len(question.names), earlier.walkers if earlier else 0)),
        ("dates", sorted({*question.dates, *(earlier.dates if earlier else ())})),
        ("weather", sorted({*question.weather, *(earlier.weather if earlier else ())})),
        ("log_sha256", list(logs_of(fit))),
        ("prior", _assumed(fit)),
    ]
    if question.rehearsal or (earlier is not None and earlier.rehearsal):
        keys.insert(0, ("rehearsal", True))
    lines = [
        "[calibration]",
        "# Written by fencecast walk fit from the logs named here. The first keys are for people; run uses the grid at the end:",
        "# how probable each ln N50 (row) and correlation (column) is after the walks, and each ln N50 at a place not walked.",
        *(f"{key} = {as_toml(value)}" for key, value in keys),
        "ln_cycles_50 = [",
        *_rows([[f"{value:.6f}" for value in grid.ln_cycles_50[k : k + 5]] for k in range(0, GRID, 5)]),
        "]",
        f"correlation = {as_toml(list(CORRELATIONS))}",
        "weight = [",
        *(f"    [{', '.join(_weight(value) for value in row)}]," for row in grid.weight),
        "]",
        "weight_place = [",
        *_rows([[_weight(value) for value in grid.weight_place[k : k + 5]] for k in range(0, GRID, 5)]),
        "]",
        *_spread_lines(fit.posterior),
    ]
    return "\n".join(lines) + "\n"


def _doubts(fit: WalkFit) -> dict[str, bool]:
    """What these walks do not say, so that nobody reads the judgement before them as a result."""
    known = fit.cycles_50
    return {
        "only_from_above": known.only_from_above,
        "only_from_below": known.only_from_below,
        "correlation_hardly_known": fit.correlation.hardly_known,
    }


def _spread_lines(known: Posterior) -> list[str]:
    """How probable each spread of places is: what the mean over a fence goes by."""
    if len(known.spreads) < 2:
        return []
    weights = ", ".join(_weight(value) for value in _rounded(known.of_spread))
    return [f"place_spreads = {as_toml([float(each) for each in known.spreads])}", f"weight_spread = [{weights}]"]


def _assumed(fit: WalkFit) -> str:
    """What was taken for granted, in one line."""
    prior = fit.posterior.prior
    parts = [
        f"ln N50 normal about ln {prior.median:.4g}, sd {prior.spread:.4g}",
        "correlation uniform from 0 to 0.9"
        if prior.earlier is None
        else f"both as {prior.earlier.walks} earlier walks left them (places and walkers: at least)",
        f"places differ by a half-normal sd of {prior.place_spread:g}",
        f"walkers by {prior.walker_spread:g}, of which {fit.walker_sd_ln:.3f} is left with {len(fit.question.names)}",
    ]
    if fit.nuisance_per_hour > 0.0:
        parts.append(f"{fit.nuisance_per_hour:g} alarms of one camera an hour that nobody caused (nuisance_per_hour)")
    if fit.contrast is not None:
        parts.append("contrast threshold held as in this file")
    return "; ".join(parts)


def _rows(rows: Sequence[Sequence[str]]) -> list[str]:
    return [f"    {', '.join(row)}," for row in rows]


def _weight(value: float) -> str:
    text = f"{value:.{DIGITS}f}".rstrip("0")
    return text + "0" if text.endswith(".") else text


def _significant(value: float) -> float:
    return float(f"{value:.4g}")

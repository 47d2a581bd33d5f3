"""Plan, score, calibration and cameras as built beside results: read, and held against each other and against the site.

Results of a calibrated site, or of one as built, have another fingerprint than the plan: N50, correlation and poses are what was
learnt. What must be the same is what was walked: fences, obstacles, rules and which cameras there are.

Tests: tests/prove/proof/test_proof.py.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import TypeVar

from fencecast.errors import FencecastError, InputError, UsageError
from fencecast.prove.proof.builtfile import BuiltPart, read_built
from fencecast.prove.proof.fitfile import FitPart, read_fit
from fencecast.prove.proof.scorefile import ScoreFile, read_score
from fencecast.prove.walks.planfile import WalkPlan, plan_sha256, read_plan
from fencecast.site import Site, parse_site

TextPath = str | PathLike[str]
_TABLES = (("perimeter", "fences"), ("obstacle", "obstacles"), ("rule", "rules"))
Read = TypeVar("Read")


@dataclass(frozen=True)
class Proof:
    """What was proved, as far as files of it were given. plan_sha256: of the plan's text; plan_is_of: the site of the results as
    "planned", "calibrated", "built" or "changed" since the plan; '' without a plan."""

    plan: WalkPlan | None = None
    plan_sha256: str = ""
    plan_is_of: str = ""
    score: ScoreFile | None = None
    fit: FitPart | None = None
    built: BuiltPart | None = None

    @property
    def calibrated_by_score(self) -> bool:
        """Whether the calibration rests on the very log that was scored."""
        return self.score is not None and self.fit is not None and self.score.log_sha256 in self.fit.log_sha256

    @property
    def rehearsal(self) -> bool:
        """Walks of the score or of the fit are simulated, and nobody walked them."""
        scored = self.score is not None and self.score.score.log.rehearsal
        return scored or (self.fit is not None and self.fit.rehearsal)


NOTHING = Proof()


def read_proof(
    site: Site,
    site_sha256: str,
    walk_plan: TextPath | None = None,
    score: TextPath | None = None,
    calibration: TextPath | None = None,
    built: TextPath | None = None,
) -> Proof:
    """The files, of this site (of the results) with this fingerprint. One InputError or UsageError with every problem of all."""
    problems: list[FencecastError] = []

    def tried(read: Callable[[], Read]) -> Read | None:
        try:
            return read()
        except FencecastError as error:
            problems.append(error)
            return None

    plan = None if walk_plan is None else tried(lambda: _plan(walk_plan, site, site_sha256))
    fit = None if calibration is None else tried(lambda: read_fit(calibration))
    as_built = None if built is None else tried(lambda: read_built(built))
    scored = None
    if score is not None and walk_plan is None:
        problems.append(UsageError(f"--score {score} names its claims by their plan: type --walk-plan PLAN.json as well"))
    elif score is not None and plan is not None:
        scored = tried(lambda: read_score(score, plan.plan, plan.sha256))
    if fit is not None and calibration is not None:
        tried(lambda: _check_fit(str(calibration), fit, site, plan, walk_plan is not None))
    if as_built is not None and built is not None:
        tried(lambda: _check_built(str(built), as_built, site, site_sha256, plan))
    if problems:
        raise _together(problems)
    if plan is None:
        return Proof(fit=fit, built=as_built)
    return Proof(plan.plan, plan.sha256, plan.is_of, scored, fit, as_built)


@dataclass(frozen=True)
class _Planned:
    plan: WalkPlan
    sha256: str
    is_of: str


def _plan(path: TextPath, site: Site, site_sha256: str) -> _Planned:
    plan = read_plan(path)
    sha = plan_sha256(Path(path).read_text(encoding="utf-8-sig"))
    if plan.site_sha256 == site_sha256:
        return _Planned(plan, sha, "planned")
    planned = parse_site(plan.site_toml, f"the site in {path}")
    problems = yard_differences(planned, site)
    if problems:
        end = "type the plan of this site, or results of the site that was walked: as planned, calibrated or built"
        raise InputError([f"is of another site: its {each}; {end}" for each in problems], str(path))
    return _Planned(plan, sha, _changed_how(planned, site))


def yard_differences(own: Site, other: Site) -> list[str]:
    """What of fences, obstacles, rules and marks of cameras is unlike; poses, lenses and settings may differ."""
    found = [
        f"{what} ([[{table}]]) are not those of the results"
        for table, what in _TABLES
        if getattr(own, table) != getattr(other, table)
    ]
    marks, others = ([camera.mark for camera in each.camera] for each in (own, other))
    if marks != others:
        found.append(f"cameras are {', '.join(marks) or 'none'}, those of the results {', '.join(others) or 'none'}")
    return found


def _changed_how(planned: Site, site: Site) -> str:
    """ "calibrated", "built", or "changed" where more than what walks and marks taught is another."""
    learnt = site.replace(
        calibration=planned.calibration,
        decision={
            name: getattr(planned.decision, name)
            if name in ("cycles_50", "encounter_correlation")
            else getattr(site.decision, name)
            for name in site.decision.model_fields_set | planned.decision.model_fields_set
        },
    )
    if site.calibration is not None and site.calibration != planned.calibration and learnt == planned:
        return "calibrated"
    if site.built is not None and site.built != planned.built:
        return "built"
    return "changed"


def _check_fit(name: str, fit: FitPart, site: Site, plan: _Planned | None, plan_asked: bool) -> None:
    if plan is not None and fit.plan_sha256 != plan.sha256:
        raise InputError(
            [f"is of another plan (plan_sha256 begins {fit.plan_sha256[:8]}): type --walk-plan and the plan that was walked"],
            name,
        )
    own = site.calibration
    if own is not None and set(own.log_sha256) != set(fit.log_sha256):
        raise InputError(
            ["rests on other logs than the [calibration] of the results: type results of the site file that this fit wrote, or "
             "the calibration.json beside that file"], name,
        )  # fmt: skip
    if own is None and not plan_asked:
        raise InputError(
            ["cannot be held against these results, whose site has no [calibration]: type --walk-plan PLAN.json as well, or "
             "results of the site file that this fit wrote"], name,
        )  # fmt: skip


def _check_built(name: str, built: BuiltPart, site: Site, site_sha256: str, plan: _Planned | None) -> None:
    known = {camera.mark for camera in site.camera}
    others = [camera.mark for camera in built.cameras if camera.mark not in known]
    if others:
        raise InputError(
            [f"is of another site: it has cameras {', '.join(others)}, the results have {', '.join(sorted(known)) or 'none'}"],
            name,
        )
    own = site.built is not None and site.built.marks_sha256 == built.marks_sha256
    of_design = built.site_sha256 is not None and built.site_sha256 in (site_sha256, plan.plan.site_sha256 if plan else "")
    if not (own or of_design):
        raise InputError(
            ["is of another site file: neither the site of the results nor their [built] marks are those it was made from; type "
             "results of its SITE.toml, or of the site file that it wrote"], name,
        )  # fmt: skip


def _together(problems: list[FencecastError]) -> FencecastError:
    """One report of several files."""
    if len(problems) == 1:
        return problems[0]
    texts: list[str] = []
    for error in problems:
        texts += [f"{error.file}: {each}" for each in error.problems] if isinstance(error, InputError) else [str(error)]
    return InputError(texts, "files of the proof")

"""Files of an invented walk test and of invented cameras as built, beside invented results: no simulation, never a reference.

`files(folder)` writes them for the short yard of tests/data/proof; what a test wants otherwise it changes in the objects.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import random
from pathlib import Path
from typing import Any

import xarray as xr

from fencecast.findings.walkscore import score_object
from fencecast.prove.log.walked import Walked, WalkLog
from fencecast.prove.score.score import WalkScore, score_log
from fencecast.prove.walks.chance import ladder
from fencecast.prove.walks.planfile import Claim, WalkPlan, plan_sha256, write_plan
from prove.invented_walks import SITE, invented_plan
from show import invented_results

LOG_SHA256 = "10f" + "0" * 61
MARKS_SHA256 = "3a7" + "0" * 61


def plan_of(**changes: Any) -> WalkPlan:
    """Six places, and a claim of the weakest one beside that of all of them."""
    plan = invented_plan()
    (pool,) = plan.claims
    stops = ladder(0.90, 0.95, 2)
    own = Claim(
        claim="C2", of="place", where="front 39", kinds=("K11", "K12"), stops=stops, confidence=0.95, chance=pool.chance,
        expected_walks=45.0,
    )  # fmt: skip
    trials = tuple(
        trial.model_copy(update={"claim": "C2"}) if plan.kind_of(trial.kind).place == "front 39" else trial
        for trial in plan.trials
    )
    first = sum(trial.claim == "C1" for trial in trials)
    pool = pool.model_copy(update={"where": "5 places of front", "kinds": pool.kinds[:10], "stops": (first,)})
    return plan.model_copy(update={"claims": (pool, own), "trials": trials, **changes})


def score_of(plan: WalkPlan, seed: int = 4, voids: int = 1, worse: float = 1.0) -> WalkScore:
    """A log drawn from the plan's own patterns; worse: chance that each alarm is heard at all."""
    drawn, walks = random.Random(seed), []
    for number, trial in enumerate(plan.trials):
        kind = plan.kind_of(trial.kind)
        alarmed = drawn.choices(list(kind.patterns), weights=list(kind.patterns.values()))[0].split("+")
        heard = {mark: 0.5 if mark in alarmed and drawn.random() < worse else "no" for mark in plan.marks}
        crossed = datetime.datetime(2026, 11, 29, 22, 0) + datetime.timedelta(seconds=150 * number)
        walks.append(
            Walked(
                trial.trial, kind.place, kind.gait, "in", "AB"[number % 2], crossed, heard, kind.kind, trial.claim, False,
                plan.weather, void="animal" if number < voids else "", row=number + 2,
            )
        )  # fmt: skip
    log = WalkLog("log.csv", tuple(walks), (), LOG_SHA256, watch_h=1.5)
    return score_log(plan, plan_sha256(write_plan(plan)), log, latest_s=2.0)


def fit_object(plan: WalkPlan, **changes: Any) -> dict[str, Any]:
    """What `walk fit` writes, invented."""
    return {
        "schema": 1, "title": plan.title, "version": "0.1.0", "plan_sha256": plan_sha256(write_plan(plan)),
        "log_sha256": [LOG_SHA256], "walks": 36, "places": 6, "walkers": 2,
        "cycles_50": {"median": 2.58, "low": 2.16, "high": 3.09, "sd_ln": 0.091, "only_from_above": False,
                      "only_from_below": False, "low_any_intruder": 2.09, "high_any_intruder": 3.19},
        "encounter_correlation": {"mean": 0.41, "mode": 0.38, "low": 0.03, "high": 0.74, "sd": 0.21, "known": False},
        "place_spread_ln": {"median": 0.14, "high": 0.35, "known": True},
        "contrast_factor": {"median": None, "low": None, "high": None, "information": 0.02},
        "prior": {"median": 2.0, "sd_ln": 0.5, "place_spread": 0.3}, "checks": {"place": 0.44, "gait": 0.61},
        "caution": "Planning aid.",
    } | changes  # fmt: skip


def built_object(site_sha256: str, run: bool = True, **changes: Any) -> dict[str, Any]:
    """What `built --json` prints, invented: W looks 2.1 degrees lower, E fits no pose."""
    zero = {"bearing_deg": 0.0, "depression_deg": 0.0, "roll_deg": 0.0, "height_m": 0.0, "x_m": 0.0, "y_m": 0.0}
    sd = {"bearing_deg": 0.18, "depression_deg": 0.24, "roll_deg": 0.38, "height_m": 0.043, "x_m": 0.05, "y_m": 0.05}
    low = zero | {"depression_deg": 2.1, "bearing_deg": -0.2, "roll_deg": 0.4, "height_m": -0.02}
    cameras = [
        {"mark": "W", **zero, "sd": sd, "moved": low, "p": 0.36, "fits": True, "explanations": [], "written": {"roll_deg": 0.4}},
        {"mark": "E", **zero, "sd": sd, "moved": zero, "p": 0.0004, "fits": False, "written": {},
         "explanations": [{"what": "mark 3 was misread, or does not lie where the file says", "kind": "misread", "p": 0.4}]},
    ]  # fmt: skip
    segments = []
    for k in range(23):
        pd = 0.97 - (0.12 if 8 <= k <= 12 else 0.0)
        worse = pd - (0.10 if 8 <= k <= 14 else 0.0)
        each = [
            {"pd": value, "pd_low": value - 0.02, "pd_high": value + 0.02, "verdict": "meets" if value > 0.92 else "weak"}
            for value in (pd, worse)
        ]
        segments.append(
            {"section": "front", "chainage_m": 2.0 * k + 1.0, "place": f"A {2 * k}–{2 * k + 2} m", "weather": "clear night",
             "design": each[0], "built": each[1], "difference": {"mean": worse - pd, "low": -0.11, "high": -0.09}, "tested": None}
        )  # fmt: skip
    found: dict[str, Any] = {
        "schema": 1, "title": "Kelpen reed depot", "version": "0.1.0", "site_sha256": site_sha256,
        "marks_sha256": MARKS_SHA256,
        "cameras": cameras, "not_read": [], "not_fitted": ["E"], "warnings": [], "site": None, "files": [],
        "caution": "Planning aid.",
    }  # fmt: skip
    if run:
        found["run"] = {"seed": 1, "crossings": 64, "precision": 0.05, "confidence": 0.95, "segments": segments}
    return found | changes


def results_of_yard(
    site_toml: str | None = None, calibration: dict[str, Any] | None = None, names: tuple[str, str, str] = ("front", "W", "E")
) -> xr.Dataset:
    """Invented results of the short yard, or of another site text with the same fence; names: of its section and cameras."""
    text = SITE.read_text(encoding="utf-8") if site_toml is None else site_toml
    cameras = [invented_results.camera(names[1], 0, 1, 90), invented_results.camera(names[2], 46, 1, 270)]
    section = invented_results.section(names[0], [(0, 0), (46, 0)], inside="left")
    results = invented_results.build(
        "Kelpen reed depot", [section], cameras, [], segment_length=2.0, classes=(("clear night", 3000, 28.0),)
    )
    results.attrs |= {"site_toml": text, "site_sha256": hashlib.sha256(text.encode()).hexdigest()}
    if calibration is not None:
        results.attrs["calibration"] = json.dumps(calibration)
    return results


def write(path: Path, data: Any) -> Path:
    path.write_text(data if isinstance(data, str) else json.dumps(data, ensure_ascii=False), encoding="utf-8")
    return path


def files(folder: Path, plan: WalkPlan | None = None, score: WalkScore | None = None, run: bool = True) -> dict[str, Path]:
    """All four files, by the options of `fc.report`."""
    plan = plan_of() if plan is None else plan
    score = score_of(plan) if score is None else score
    return {
        "walk_plan": write(folder / "plan.json", write_plan(plan)),
        "score": write(folder / "score.json", score_object(score)),
        "calibration": write(folder / "calibration.json", fit_object(plan)),
        "built": write(folder / "built.json", built_object(plan.site_sha256, run)),
    }


def renamed(plan: WalkPlan, section: str, west: str, east: str) -> WalkPlan:
    """The plan of the same yard with other names of its section and cameras, in its site file too."""
    text = plan.site_toml
    for old, new in (("front", section), ("W", west), ("E", east)):
        text = text.replace(f'"{old}"', json.dumps(new, ensure_ascii=False))
    marks = {"": "", "W": west, "E": east, "W+E": f"{west}+{east}"}

    def place(name: str) -> str:
        return name.replace("front", section)

    kinds = tuple(
        kind.model_copy(
            update={
                "place": place(kind.place),
                "pd_camera": {marks[mark]: pd for mark, pd in kind.pd_camera.items()},
                "patterns": {marks[mark]: share for mark, share in kind.patterns.items()},
            }
        )
        for kind in plan.kinds
    )
    places = tuple(each.model_copy(update={"place": place(each.place), "section": section}) for each in plan.places)
    claims = tuple(each.model_copy(update={"where": place(each.where)}) for each in plan.claims)
    return plan.model_copy(
        update={
            "site_toml": text, "site_sha256": hashlib.sha256(text.encode()).hexdigest(), "marks": (west, east), "kinds": kinds,
            "places": places, "claims": claims,
        }
    )  # fmt: skip


CALIBRATION = {
    "cycles_50": 2.58, "cycles_50_low": 2.16, "cycles_50_high": 3.09, "encounter_correlation": 0.41, "correlation_low": 0.03,
    "correlation_high": 0.74, "place_spread_ln": 0.14, "walks": 36, "places": 6, "walkers": 2, "dates": ["2026-11-29"],
    "weather": ["clear night"], "log_sha256": [LOG_SHA256], "prior": "N50 2.0",
}  # fmt: skip


def calibrated_text(log_sha256: str = LOG_SHA256, decision: str = "cycles_50 = 2.58") -> str:
    """The site file of the yard as `walk fit` would write it, with invented weights."""
    text = SITE.read_text(encoding="utf-8").replace("cycles_50 = 2.0", decision)
    grid = [round(0.5 + 0.04 * k, 6) for k in range(25)]
    weight = [[0.01] * 4 for _ in range(25)]
    return text + "\n".join(
        [
            "", "[calibration]", "cycles_50_low = 2.16", "cycles_50_high = 3.09", "cycles_50_sd_ln = 0.1",
            "correlation_low = 0.03", "correlation_high = 0.74", "place_spread_ln = 0.14", "walks = 36", "places = 6",
            "walkers = 2", 'dates = ["2026-11-29"]', 'weather = ["clear night"]', f'log_sha256 = ["{log_sha256}"]',
            'prior = "N50 2.0"', f"ln_cycles_50 = {grid}", "correlation = [0.0, 0.3, 0.6, 0.9]", f"weight = {weight}",
            f"weight_place = {[0.04] * 25}", "",
        ]
    )  # fmt: skip

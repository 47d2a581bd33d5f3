"""The pieces of a study: one yard with one strategy and one lens, computed from plain data alone, kept whole in a file.

A piece is a function of its inputs (a dictionary of plain values) and of the code; both are hashed into its key. So a piece that
is there under its key need not be computed again, wherever and by whatever worker it was made.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import re
import time
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path

import numpy as np

import fencecast
from fencecast.decide.layout import with_cameras
from fencecast.decide.place.kit import kit_of
from fencecast.decide.study.file import Study
from fencecast.decide.study.own import StrategyError, check_places, sources_hash
from fencecast.decide.study.record import with_hours
from fencecast.decide.study.strategies import STRATEGIES, strategy_of
from fencecast.decide.study.yards import Yards, make_yard, yard_name
from fencecast.errors import UsageError, show_value
from fencecast.estimate.intervals import interval, verdicts
from fencecast.estimate.simulate import REPLICATES, advance, new_tally
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections
from fencecast.meteorology.load import classes_of
from fencecast.provenance import library_versions
from fencecast.site import Site, parse_site, site_to_toml
from fencecast.site.geometry import section_length_m
from fencecast.sources import COMPUTED, fingerprint

# Points of a scrambling with which the lowest segment of each class is run again, on crossings of its own.
FRESH_POINTS = 32
# How much wider or closer than its reach allows a layout is tried, and steps between the best and the next closer one.
STRETCHES = tuple(2.0 ** (k / 4.0) for k in range(-12, 13))
_HALVINGS = 4
# Of so many layouts the best one counts, on crossings of their own: points of a scrambling of each segment and class.
_TRIED, _TRIAL_POINTS = 3, 1


@lru_cache(maxsize=1)
def code_hash() -> str:
    """Version and SHA-256 of the sources and tables that numbers come from, as `0.1.0+1f2e3d4c5b6a7980`."""
    return f"{fencecast.__version__}+{fingerprint(COMPUTED)}"


def study_pieces(study: Study) -> Iterator[tuple[str, dict]]:
    """(file name, inputs) of every piece of a study: yard by yard, strategy by strategy, lens by lens.

    Inputs hold what the piece depends on and nothing else: not the count of yards, the other lenses or strategies, the title.
    """
    names = study.yard_names
    invented = study.yards.count if study.yards else 0
    shared = {"seed": study.seed, "crossings": study.crossings, "by": study.by, "per_100_m": study.per_100_m}
    shared |= {"allowances": list(study.allowances), "design_weather": study.design_weather, "code": code_hash()}
    if study.record is not None:
        shared["record"] = study.record.as_inputs()
    like = study.yards and {k: v for k, v in study.yards.model_dump().items() if k != "count"}
    sources = {name: _source_hash(name) for name in study.strategies}
    for number, name in enumerate(names):
        for lens in study.lenses:
            if number < invented:
                tables = {**study.tables, "lenses": {lens: study.tables["lenses"][lens]}}
                tables["kit"] = {**tables.get("kit", {}), "lenses": [lens]}
                yard = {"yards": like, "number": number, "tables": tables}
            else:
                yard = {"site_toml": site_to_toml(_one_lens(study.sites[number - invented][1], lens))}
            for strategy in study.strategies:
                inputs = {**shared, "yard": name, "lens": lens, "strategy": strategy, "source": sources[strategy], **yard}
                yield _file_name(inputs), inputs


def _one_lens(site: Site, lens: str) -> Site:
    kit = site.kit.model_copy(update={"lenses": (lens,)})
    return site.replace(lenses={lens: site.lenses[lens]}, kit=kit)


def _source_hash(strategy: str) -> str:
    """SHA-256 of the files of a user's own function; nothing for a strategy of the package, whose code is in `code_hash`."""
    if strategy in STRATEGIES:
        return ""
    strategy_of(strategy)
    return sources_hash(strategy.partition(":")[0])


def piece_key(inputs: Mapping) -> str:
    """SHA-256 of the inputs; a record counts by its own."""
    if "record" in inputs:
        inputs = {**inputs, "record": inputs["record"]["sha256"]}
    return hashlib.sha256(json.dumps(inputs, sort_keys=True).encode()).hexdigest()


def _file_name(inputs: Mapping) -> str:
    words = "--".join(re.sub(r"[^A-Za-z0-9]+", "-", str(inputs[k]))[:40] for k in ("yard", "strategy", "lens"))
    return f"{words}--{piece_key(inputs)[:16]}.json"


def piece_site(inputs: Mapping) -> Site:
    """The yard of a piece as a site without cameras; with an hourly record its hours are known in this process."""
    if "site_toml" in inputs:
        site = parse_site(inputs["site_toml"], inputs["yard"])
    else:
        tables = {"site": {"ground": "gravel", "segment_length_m": 4.0}, **inputs["tables"]}
        yards = Yards(**{**inputs["yards"], "count": 1})
        site = Site(title=yard_name(inputs["number"]), **{**tables, **make_yard(yards, inputs["number"])})
    return with_hours(site, inputs["record"]) if "record" in inputs else site


def crossing_seed(seed: int, yard: str) -> int:
    """The seed of a yard's crossings: all layouts of a yard meet the same ones, and yards are independent of each other."""
    return int.from_bytes(hashlib.sha256(f"fencecast study {seed} {yard}".encode()).digest()[:8], "big") >> 1


def compute_piece(inputs: Mapping) -> dict:
    """Lay out and simulate one piece: a dictionary of plain values, the same to the last bit on one kind of processor.

    For every allowance a row: cameras, cost, and lists over weather classes; or `no_layout`, why the strategy has none. The
    libraries stand with it, because pieces of a study may come from several processes.
    Raises UsageError when this process runs other code than the one that asked.
    """
    if inputs["code"] != code_hash():
        raise UsageError(f"a worker runs fencecast {code_hash()}, the study needs {inputs['code']}; install the same everywhere")
    start = time.process_time()
    site = piece_site(inputs)
    kit, strategy = kit_of(site), strategy_of(inputs["strategy"])
    options = {"lens": inputs["lens"], "weather": inputs["design_weather"], "seed": inputs["seed"], "threads": 1}
    by_cost = inputs["by"] == "cost"

    def layout(stretch: float) -> tuple:
        cameras = strategy(site, kit, site.requirement, stretch=stretch, **options)
        if inputs["strategy"] not in STRATEGIES:
            check_places(site, cameras, inputs["strategy"], by_cost)
        return cameras

    layouts = _Layouts(layout, by_cost)
    fence_m = sum(section_length_m(s) for s, watched in zip(site.perimeter, watched_sections(site)) if watched)
    rows = []
    for amount in inputs["allowances"]:
        amount = amount * fence_m / 100.0 if inputs["per_100_m"] else amount
        try:
            laid = _best(site, fullest(layouts, amount if by_cost else max(1, math.floor(amount + 1e-9))), inputs)
        except StrategyError:
            raise
        except UsageError as error:
            rows.append({"no_layout": str(error)})
            continue
        cameras = laid.camera
        cost = sum(camera.price or 0.0 for camera in cameras) if kit.priced else None
        rows.append({"cameras": len(cameras), "cost": cost, **_measured(laid, inputs), "site_toml": site_to_toml(laid)})
    return {"fence_m": fence_m, "allowances": rows, "libraries": library_versions(), "cpu_s": time.process_time() - start}


class _Layouts:
    """A strategy's layouts of one yard by stretch, each made once; `refused` and `fewest` say why none fits."""

    def __init__(self, make, priced: bool):
        self.make, self.priced = make, priced
        self.made: dict[float, tuple] = {}
        self.refused: UsageError | None = None

    def at(self, stretch: float) -> tuple:
        """The layout of a stretch; empty where the strategy has none."""
        if stretch not in self.made:
            try:
                self.made[stretch] = self.make(stretch)
            except StrategyError:
                raise
            except UsageError as error:
                self.made[stretch], self.refused = (), error
        return self.made[stretch]

    def use(self, stretch: float) -> float:
        """What it uses of an allowance: money or cameras; infinite where there is none."""
        layout = self.at(stretch)
        return sum(c.price or 0.0 for c in layout) if layout and self.priced else float(len(layout) or math.inf)


def fullest(layouts: _Layouts, allowance: float) -> list[tuple]:
    """Layouts that fit into an allowance: those that use the most of it, and the one nearest to the plain reach; `_TRIED` in all.

    Less stretch asks for more cameras, but not always (from buildings a camera that holds little is not worth hanging). So
    stretches over the whole range are asked, and then between the fullest and its closer neighbour. UsageError when none fits.
    """

    def fitting() -> list[float]:
        fits = [s for s in sorted(layouts.made) if layouts.use(s) <= allowance + 1e-9]
        return sorted(fits, key=lambda s: (-layouts.use(s), abs(math.log(s))))

    for stretch in STRETCHES:
        layouts.at(stretch)
    if not fitting():
        fewest = min((len(each) for each in layouts.made.values() if each), default=None)
        raise UsageError(f"it needs at least {fewest} cameras here; allow more in [equal]") if fewest else layouts.refused
    for _ in range(_HALVINGS):
        best = fitting()[0]
        closer = max((s for s in layouts.made if s < best), default=best)
        layouts.at(math.sqrt(closer * best))
        if fitting()[0] == best and layouts.use(math.sqrt(closer * best)) <= allowance:
            break
    fits = fitting()
    unlike = {layouts.use(s): s for s in reversed(fits)}
    chosen = [unlike[use] for use in sorted(unlike, reverse=True)[: _TRIED - 1]]
    chosen += [min(fits, key=lambda s: abs(math.log(s)))]
    return [layouts.at(s) for s in dict.fromkeys(chosen)]


def _best(site: Site, layouts: list[tuple], inputs: Mapping) -> Site:
    """The site with the best of a few layouts, by mean Pd over fence and year on crossings kept for this choice."""
    laid = [with_cameras(site, cameras) for cameras in layouts]
    if len(laid) == 1:
        return laid[0]
    classes = classes_of(site)
    cells = pack_cells(site, crossing_seed(inputs["seed"], inputs["yard"]), classes, purpose="study choice")
    active = watched_sections(site)[cells.section]
    hours = np.array([w.hours_per_year for w in classes], dtype=float)
    weights = (cells.end_m - cells.start_m) * (hours if hours.any() else np.ones(len(hours)))[cells.weather]
    worth = []
    for each in laid:
        tally = new_tally(len(active), len(each.camera))
        advance(pack_plan(each, classes), cells, tally, np.flatnonzero(active), _TRIAL_POINTS, 1)
        worth.append(float(tally.mean(SUM_PD)[active] @ weights[active]))
    return laid[int(np.argmax(worth))]


def _measured(site: Site, inputs: Mapping) -> dict:
    """What the layout is worth: lists over weather classes (of lists over scramblings for `replicates`)."""
    classes = classes_of(site)
    seed, points = crossing_seed(inputs["seed"], inputs["yard"]), inputs["crossings"] // REPLICATES
    need = site.requirement
    plan, cells = pack_plan(site, classes), pack_cells(site, seed, classes)
    active = watched_sections(site)[cells.section]
    tally = new_tally(len(active), len(site.camera))
    advance(plan, cells, tally, np.flatnonzero(active), points, 1)
    shape = (len(classes), -1)
    watched = active.reshape(shape)[0]
    metres = (cells.end_m - cells.start_m).reshape(shape)[0][watched]
    pd = tally.mean(SUM_PD).reshape(shape)[:, watched]
    by_scrambling = (tally.sums[:, :, SUM_PD] / points).reshape(len(classes), -1, REPLICATES)[:, watched]
    replicates = np.einsum("s,wsr->wr", metres / metres.sum(), by_scrambling)
    words = verdicts(*interval(pd, tally.half_width(need.confidence).reshape(shape)[:, watched]), need.pd)
    # The lowest of many estimates is too low by selection: it is taken from fresh crossings.
    lowest = np.arange(len(classes)) * (len(active) // len(classes)) + np.flatnonzero(watched)[pd.argmin(axis=1)]
    fresh = new_tally(len(active), len(site.camera))
    advance(plan, pack_cells(site, seed, classes, purpose="fresh"), fresh, lowest, FRESH_POINTS, 1)
    return {
        "mean_pd": replicates.mean(axis=1).tolist(),
        "replicates": replicates.tolist(),
        **{f"{word}_m": (words == word).astype(float).dot(metres).tolist() for word in ("weak", "undecided", "meets")},
        "weakest_pd": fresh.mean(SUM_PD)[lowest].tolist(),
        "crossings": int(tally.crossings.sum() + fresh.crossings.sum()),
        "looks": tally.looks + fresh.looks,
    }


def write_piece(folder: Path, name: str, inputs: Mapping, result: Mapping) -> None:
    """Keep a piece: under its name only when it is whole. The part has one name, so that nothing of a killed run piles up."""
    text = json.dumps(result)
    content = {"key": piece_key(inputs), "sha256": hashlib.sha256(text.encode()).hexdigest(), "result": result}
    part = folder / f".{name}.part"
    part.write_text(json.dumps(content), encoding="utf-8")
    os.replace(part, folder / name)


def read_piece(folder: Path, name: str, inputs: Mapping) -> dict | None:
    """A piece that is there, whole and made from these inputs by this code; None otherwise."""
    try:
        content = json.loads((folder / name).read_text(encoding="utf-8"))
        result = content["result"]
        whole = content["sha256"] == hashlib.sha256(json.dumps(result).encode()).hexdigest()
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return result if whole and content["key"] == piece_key(inputs) else None


def piece_words(inputs: Mapping) -> str:
    """How messages name a piece."""
    return f"{show_value(inputs['yard'])} with {show_value(inputs['strategy'])} and lens {show_value(inputs['lens'])}"

"""What the pictures of looks draw: Pd against distance, one look, the camera's view."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from fencecast.decide.compare.designs import as_run
from fencecast.estimate.distance import lens_cameras
from fencecast.estimate.places import ClassSummary, site_of, worst_first
from fencecast.estimate.results import Results
from fencecast.findings.lensdistances import BridgeRow, bridge_rows
from fencecast.findings.lenstitles import distance_note, distance_subtitle, distance_title, range_words, spans_in
from fencecast.findings.looktext import phrase
from fencecast.findings.lookwords import body_sentence, finding, key_words, largest_loss, subtitle
from fencecast.findings.spans import shown_stretches
from fencecast.findings.viewwords import view_subtitle, view_titles
from fencecast.onelook import ViewFrame
from fencecast.show.look.sketchdata import Sketch, sketch_of
from fencecast.site import Site, site_to_toml
from fencecast.site.without import no_stimuli

ACROSS = 3  # panels side by side
MOST_ROWS = 4  # of panels on a page
MOST_DISTANCES = 4  # in a camera's view


@dataclass(frozen=True)
class Lens:
    """One lens in a picture: A is drawn solid, B dashed or hatched."""

    name: str  # its name in the site file
    focal: str  # '3 mm'
    description: str  # '3 mm, f/1.0'
    by_focal: bool  # whether focal lengths alone distinguish the lenses drawn
    dashed: bool

    @property
    def spoken(self) -> str:
        """In a title, which is read without the key: never a letter."""
        return self.focal if self.by_focal else self.name


@dataclass(frozen=True, eq=False)
class Curve:
    """Pd against distance of one lens in one class (distances,), NaN where nothing was simulated; from where to where the curve
    reaches the requirement [m], where its complete interval does, and the former in words."""

    lens: Lens
    pd: np.ndarray
    low: np.ndarray
    high: np.ndarray
    reaches: tuple[tuple[float, float], ...]
    shown: tuple[tuple[float, float], ...]
    words: str


@dataclass(frozen=True, eq=False)
class DistancePanel:
    """One weather class: its name and hours, and a curve for each lens of the block."""

    summary: ClassSummary
    curves: tuple[Curve, ...]


@dataclass(frozen=True, eq=False)
class DistanceData:
    """What `plot_distance` draws: distances (distances,) [m], the lenses of each block, and its panels, worst class first."""

    title: str
    subtitle: str
    note: str
    bridge: tuple[BridgeRow, ...]
    distance_m: np.ndarray
    blocks: tuple[tuple[Lens, ...], ...]
    panels: tuple[tuple[DistancePanel, ...], ...]
    requirement: float
    units: str
    attrs: Mapping[str, Any]


def distance_data(results: Results | xr.Dataset, pairs: Sequence[Sequence[str]] | None = None) -> DistanceData:
    """Curves of one lens or two by weather class. pairs: as in `plot_distance`."""
    results = Results.of(results)
    blocks = lens_pairs(results, pairs)
    distances = results.array("distance", "distance").astype(float)
    classes = worst_first(results)
    drawn = classes[: ACROSS * max(1, MOST_ROWS // len(blocks))]
    shown = list(dict.fromkeys(lens.name for block in blocks for lens in block))
    panels = tuple(
        tuple(DistancePanel(c, tuple(_curve(results, lens, c.index, distances) for lens in block)) for c in drawn)
        for block in blocks
    )
    return DistanceData(
        title=distance_title(results, [(lens.name, lens.spoken) for lens in blocks[0]], classes),
        subtitle=distance_subtitle(results, shown, len(drawn), len(classes)),
        note=distance_note(results, shown),
        bridge=tuple(bridge_rows(results, shown)),
        distance_m=distances,
        blocks=blocks,
        panels=panels,
        requirement=results.requirement,
        units=results.units,
        attrs=results.attrs,
    )


def _curve(results: Results, lens: Lens, weather: int, distances: np.ndarray) -> Curve:
    at = {"lens": [str(name) for name in results["lens"].values].index(lens.name), "weather": weather}
    pd, low, high = (results.at(f"pd_distance{end}", **at).astype(float) for end in ("", "_low", "_high"))
    spans = spans_in(results, **at)
    reaches = tuple(span.metres(distances) for span in spans or ())
    shown = tuple(shown_stretches(distances, low, results.requirement))
    return Curve(lens, pd, low, high, reaches, shown, range_words(spans, distances, results.units))


def lens_pairs(results: Results, pairs: Sequence[Sequence[str]] | None = None) -> tuple[tuple[Lens, ...], ...]:
    """The lenses to draw together: those that the user names, or the two that most cameras have, the shorter one first."""
    known = [str(name) for name in results["lens"].values]
    lenses = results.site.lenses
    if pairs is None:
        used = {name: sum(camera.lens == name for camera in results.site.camera) for name in known}
        pairs = [sorted(sorted(known, key=lambda name: -used[name])[:2], key=lambda name: lenses[name].focal_length_mm)]
    for pair in pairs:
        wrong = [name for name in pair if name not in known]
        if wrong or not 1 <= len(pair) <= 2:
            raise ValueError(
                f"a block of panels shows one or two of the lenses {', '.join(known)}, not {', '.join(map(str, pair))}"
            )
    focal = {name: f"{lenses[name].focal_length_mm:g} mm" for pair in pairs for name in pair}
    by_focal = len(set(focal.values())) == len(focal)
    return tuple(
        tuple(
            Lens(name, focal[name], f"{focal[name]}, f/{lenses[name].f_number:.1f}", by_focal, dashed=i == 1)
            for i, name in enumerate(pair)
        )
        for pair in pairs
    )


# --- lenses of two designs -----------------------------------------------------------------------------------------------


def curves_differ(results: Results | xr.Dataset, compared: int = 0) -> bool:
    """Whether the two curves are not the same numbers: designs that differ in their aims alone share a lens and its curve."""
    return bool(np.any(results["pd_distance_difference"].values[compared] != 0.0))


def comparison_distance_data(results: Results | xr.Dataset, compared: int = 0) -> DistanceData:
    """The curve of the base's lens as A and of the variant's as B, both on the same crossings."""
    results = Results.of(results)
    names = tuple(str(results.at("variant", variant=k)) for k in (0, compared + 1))
    return distance_data(_two_lenses(results, compared, names), [names])


def _two_lenses(results: Results, compared: int, names: tuple[str, ...]) -> xr.Dataset:
    """Results as of a run of a site with one camera for each of the two lenses, which are named by their designs."""

    run = Results.of(as_run(results, 0))
    rows = [0, compared + 1]
    sensors, lenses = {}, {}
    cameras: list[dict[str, Any]] = []
    for k, name in zip(rows, names):
        site = site_of(as_run(results, k))
        shown = str(results.at("shown_lens", variant=k))
        camera = next(each for each in lens_cameras(site) if each.lens == shown)
        sensors[name], lenses[name] = site.sensors[camera.sensor], site.lenses[shown]
        mount = {"position_m": camera.position_m, "height_m": camera.height_m, "bearing_deg": 0.0}
        cameras.append(
            {"mark": "AB"[len(cameras)], **mount, "depression_deg": camera.depression_deg, "sensor": name, "lens": name}
        )
    base = run.site
    rules = [{"kind": "line", "perimeter": base.perimeter[0].name}]
    emptied = {"obstacle": (), "mounting": (), "kit": {}, "variant": (), **no_stimuli(base)}
    site = base.replace(sensors=sensors, lenses=lenses, camera=cameras, rule=rules, **emptied)
    data = run.data.assign_coords(lens=np.array(names), distance=results["distance"].values)
    for end in ("", "_low", "_high"):
        curves = results.array(f"pd_distance{end}", "weather", "variant", "distance")[:, rows]
        data[f"pd_distance{end}"] = (("weather", "lens", "distance"), curves)
    return data.assign_attrs(site_toml=site_to_toml(site))


# --- one look ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ContrastStep:
    """One step of the contrast: before it (None in the first) and after it [K, signed], their factor (None in the first). check:
    a line that a reviewer can redo with a pocket calculator."""

    name: str
    detail: str
    check: str
    before_k: float | None
    after_k: float
    factor: float | None
    largest_loss: bool


@dataclass(frozen=True)
class ShareStep:
    """One step from contrast to a look that counts: a share or a probability [fraction]."""

    name: str
    detail: str
    check: str
    value: float


@dataclass(frozen=True)
class OneLookData:
    """What `plot_one_look` draws: the steps of both parts, noise and threshold [K]; key, key_off_axis: what bars mean, the latter
    where a contrast is too small for the axis; warmth: of a body that is no person, in a sentence."""

    title: str
    subtitle: str
    contrast: tuple[ContrastStep, ...]
    shares: tuple[ShareStep, ...]
    noise_k: float
    threshold_k: float
    key: str
    key_off_axis: str
    picture: Sketch | None
    warmth: str


def one_look_data(explanation: Mapping[str, Any], site: Site) -> OneLookData:
    """The steps of a look with their words. explanation: of `fencecast.explain`."""
    rungs = explanation["rungs"]
    worst = largest_loss(rungs)
    contrast, shares = [], []
    for i, rung in enumerate(rungs):
        words = (rung["name"], phrase(rung, "detail", site.units), str(rung.get("check") or ""))
        if rung["part"] == 0:
            continue  # warmth of surfaces: `warmth` says it
        if rung["part"] == 1:
            contrast.append(ContrastStep(*words, rung["before_k"], rung["after_k"], rung["factor"], i == worst))
        else:
            shares.append(ShareStep(*words, rung["value"]))
    return OneLookData(
        finding(explanation),
        subtitle(explanation, site),
        tuple(contrast),
        tuple(shares),
        explanation["noise_k"],
        explanation["threshold_k"],
        key_words(rungs, off_axis=False),
        key_words(rungs, off_axis=True),
        sketch_of(explanation, site),
        body_sentence(explanation, site.units),
    )


# --- the camera's view -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class ViewData:
    """What `plot_view` draws: frames of the asked class and of the one beside it, nearest first; noise: one draw of unit noise
    for each of the two, (2, rows, columns); titles of falling length."""

    titles: tuple[str, ...]
    subtitle: str
    asked: tuple[ViewFrame, ...]
    beside: tuple[ViewFrame, ...]
    noise: np.ndarray
    site: Site


def view_data(frames: Sequence[ViewFrame], site: Site) -> ViewData:
    """The frames of `fencecast.view` in the order in which they are drawn, 1 to 4 of the asked class; the noise is drawn from the
    site's seed."""
    asked = tuple(sorted((f for f in frames if not f.comparison), key=lambda f: f.distance_m))
    beside = tuple(sorted((f for f in frames if f.comparison), key=lambda f: f.distance_m))
    if not 1 <= len(asked) <= MOST_DISTANCES or len(beside) > MOST_DISTANCES:
        raise ValueError(f"the camera's view draws 1 to {MOST_DISTANCES} distances, not {len(asked)}")
    noise = np.random.default_rng(site.seed).standard_normal((2, *asked[0].contrast_k.shape))
    return ViewData(tuple(view_titles(asked, beside)), view_subtitle(asked, site), asked, beside, noise, site)

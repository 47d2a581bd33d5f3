"""What a stimulus is with all of its numbers: `resolve` fills in what its kind brings (`site.stimuluskinds`); a file's keys win.

The tables are in `stimulustables`, the filled-in forms in `stimulusforms`; both are named here too.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from fencecast.errors import UsageError
from fencecast.site.quantity import Quantity
from fencecast.site.stimulusfields import BARRIERS, SEASONS
from fencecast.site.stimulusforms import BodyStimulus, BurstStimulus, Item, Rate
from fencecast.site.stimuluskinds import (
    COAT_SIGMA_LN,
    ITEM_HEIGHT_M,
    KINDS,
    SIZE_SIGMA_LN,
    SPEED_SIGMA_LN,
    TURNED_OFFSET_M,
    UNCERTAINTY,
    Sourced,
)
from fencecast.site.stimulustables import SENSOR_NOISE, Nuisance, Soak, Stimulus

if TYPE_CHECKING:
    from fencecast.site.whole import Site

__all__ = [
    "SENSOR_NOISE", "BodyStimulus", "BurstStimulus", "Item", "Nuisance", "Rate", "Soak", "Stimulus", "missing_keys",
    "needed_keys", "rate_of", "resolve", "resolved",
]  # fmt: skip


def default_of(kind: str, key: str) -> Any:
    """The value that a kind brings for a key, as the row holds it; None when it brings none."""
    row = KINDS.get(kind)
    value = getattr(row, "law" if key == "rate_follows" else key, None) if row else None
    return value.value if isinstance(value, Sourced) else value


def _of(stimulus: Stimulus, key: str) -> Any:
    given = getattr(stimulus, key)
    return default_of(stimulus.kind, key) if given is None else given


def rate_of(stimulus: Stimulus) -> Rate:
    """The user's rate, or the kind's; of an animal's two numbers the kind's stands for one that the user left out."""
    keys = ("per_night_100m", "per_night", "density_km2", "km_per_night")
    given = {key: getattr(stimulus, key) for key in keys if getattr(stimulus, key) is not None}
    if not given:
        asked: tuple[str, ...] = keys
    elif given.keys() & {"density_km2", "km_per_night"}:
        asked = ("density_km2", "km_per_night")
    else:
        asked = tuple(given)
    return Rate(**{key: _quantity(_of(stimulus, key)) for key in asked if _of(stimulus, key) is not None})


def needed_keys(stimulus: Stimulus) -> tuple[str, ...]:
    """Keys without which the stimulus is not described, rates aside: asked of kinds that do not bring them."""
    if stimulus.family == "burst":
        return ("duration_s", "cycles", "contrast_k", "relative_size", "on_line_share", "confused", "shape_cycles", "bursts")
    keys = ["silhouette", "way", "confused", "bursts"]
    silhouette, way = _of(stimulus, "silhouette"), _of(stimulus, "way")
    if silhouette != "person":
        keys += ["size_m", "speed_m_s"]
        keys += ["coat_m2k_w"] * (silhouette != "vehicle") + ["leg_m2k_w"] * (silhouette == "four-legged")
    by_way = {"cross": ["through"], "over": ["base_m"], "along": [] if stimulus.at else ["offset_m"]}
    return (*keys, *by_way.get(way, ()))


def missing_keys(stimulus: Stimulus) -> tuple[str, ...]:
    """Those of `needed_keys` that neither the user nor the kind gives."""
    return tuple(key for key in needed_keys(stimulus) if _of(stimulus, key) is None)


def resolve(stimulus: Stimulus, uncertainty: float = UNCERTAINTY.value) -> BodyStimulus | BurstStimulus:
    """The stimulus with every number filled in: the user's keys, else the kind's. uncertainty: of `[nuisance]`.

    Raises UsageError when a number is missing, which the loader would have reported.
    """
    missing = missing_keys(stimulus)
    if missing or not rate_of(stimulus).parts:
        raise UsageError(f'stimulus of kind "{stimulus.kind}" lacks {", ".join(missing or ("a rate",))}')
    common = {
        "name": stimulus.name or stimulus.kind,
        "kind": stimulus.kind,
        "rate": rate_of(stimulus),
        "confused": float(_of(stimulus, "confused")),
        "shape_cycles": _of(stimulus, "shape_cycles"),
        "bursts": float(_of(stimulus, "bursts")),
        "by_hour": stimulus.by_hour,
        "months": _of(stimulus, "months"),
        "active": dict(_of(stimulus, "active") or {}),
        "at": _item(stimulus),
        "rate_uncertainty": float(uncertainty),
    }
    return _burst(stimulus, common) if stimulus.family == "burst" else _body(stimulus, common)


def resolved(site: Site) -> tuple[BodyStimulus | BurstStimulus, ...]:
    """All stimuli of a site in the order of its file, with the uncertainty of its `[nuisance]`."""
    return tuple(resolve(each, site.nuisance.uncertainty) for each in site.stimulus)


def _body(stimulus: Stimulus, common: dict) -> BodyStimulus:
    silhouette = _of(stimulus, "silhouette")
    person = silhouette == "person"
    speed = _of(stimulus, "speed_m_s")
    over_air = default_of(stimulus.kind, "over_air_k") or default_of("vehicle", "over_air_k")
    offset = stimulus.offset_m or _range(default_of(stimulus.kind, "offset_m") or TURNED_OFFSET_M.value)
    return BodyStimulus(
        **common,
        silhouette=silhouette,
        perimeters=stimulus.perimeters,
        way=_of(stimulus, "way"),
        through=_shares(stimulus.through, default_of(stimulus.kind, "through")),
        offset_m=offset,
        base_m=stimulus.base_m or _range(default_of(stimulus.kind, "base_m") or (0.0, 0.0)),
        base_of_barrier=stimulus.base_m is None and bool(default_of(stimulus.kind, "base_of_barrier")),
        pause_s=_quantity(_of(stimulus, "pause_s") or 0.0),
        size_m=None if person else _of(stimulus, "size_m"),
        size_sigma_ln=0.0 if person else _number(stimulus.size_sigma_ln, SIZE_SIGMA_LN),
        speed_m_s=_spread(speed, SPEED_SIGMA_LN) if speed is not None else None,
        coat_m2k_w=None if person or silhouette == "vehicle" else _coats(_of(stimulus, "coat_m2k_w")),
        leg_m2k_w=_of(stimulus, "leg_m2k_w") if silhouette == "four-legged" else None,
        over_air_k=over_air if silhouette == "vehicle" else None,
        rain_share=1.0 if _of(stimulus, "rain_share") is None else float(_of(stimulus, "rain_share")),
    )


def _burst(stimulus: Stimulus, common: dict) -> BurstStimulus:
    spreads = ("duration_s", "cycles", "contrast_k", "relative_size")
    values = {key: _of(stimulus, key) for key in spreads}
    return BurstStimulus(
        **common,
        **{key: each if isinstance(each, Quantity) else Quantity.lognormal(*each) for key, each in values.items()},
        law=_of(stimulus, "rate_follows") or "fixed",
        on_line_share=float(_of(stimulus, "on_line_share")),
        cameras=stimulus.cameras,
    )


def _item(stimulus: Stimulus) -> Item | None:
    if not stimulus.at:
        return None
    at = stimulus.at
    name = at.get("name") or stimulus.name or stimulus.kind
    return Item(str(name), tuple(at["points_m"]), float(at.get("height_m", ITEM_HEIGHT_M.value)))


def _number(given: float | None, default: Sourced) -> float:
    return float(default.value if given is None else given)


def _quantity(value: Quantity | float) -> Quantity:
    return value if isinstance(value, Quantity) else Quantity.fixed(value)


def _spread(value: Quantity | float, sigma_ln: Sourced) -> Quantity:
    """A user's quantity as it is; a kind's number as the median of a lognormal."""
    return value if isinstance(value, Quantity) else Quantity.lognormal(value, sigma_ln.value)


def _range(value: tuple[float, float]) -> Quantity:
    low, high = value
    return Quantity.fixed(low) if low == high else Quantity.uniform(low, high)


def _coats(value: Any) -> tuple[Quantity, Quantity]:
    if isinstance(value, Mapping):
        winter, summer = (value[season] for season in SEASONS)
    else:
        winter, summer = value if isinstance(value, tuple) else (value, value)
    return _spread(winter, COAT_SIGMA_LN), _spread(summer, COAT_SIGMA_LN)


def _shares(given: float | Mapping[str, float] | None, brought: tuple[float, ...] | None) -> dict[str, float]:
    """By barrier: the user's, else the kind's, else nothing is in the way. Where there is no barrier, nothing ever is."""
    shares = dict(zip(BARRIERS, brought or (1.0,) * len(BARRIERS), strict=True))
    shares |= given if isinstance(given, Mapping) else {} if given is None else dict.fromkeys(BARRIERS, given)
    return {"none": 1.0, **shares}

"""Results with INVENTED Pd against distance, to test the distance picture with: near ends, gaps, many lenses, nothing held."""

from __future__ import annotations

import numpy as np
import xarray as xr

from show import invented_results

DISTANCES_M = np.arange(2.0, 91.0, 2.0)


# Metres to half Pd, in the order of the invented yard's classes: clear night, heavy rain, warm dusk, fogs, wet snow.
HALVES_M = (110, 68, 52, 60, 84, 76)


def curve(near_m: float, half_m: float, steep: float = 3.0, top: float = 0.99) -> np.ndarray:
    """Rises at the near end, falls to half at `half_m`."""
    rise = 1 / (1 + np.exp(-(DISTANCES_M - near_m) / 0.8))
    return top * rise / (1 + (DISTANCES_M / half_m) ** steep)


def results(curves, lenses=("wide", "long"), half_width=0.02, toml=None, **changes) -> xr.Dataset:
    """An invented yard whose pd_distance is `curves`, (weather, lens, distance)."""
    base = invented_results.yard(**changes)
    pd = np.asarray(curves, dtype=float)
    gone = [name for name in base.variables if name.startswith("pd_distance")] + ["lens", "distance"]
    base = base.drop_vars(gone).assign_coords(lens=list(lenses), distance=DISTANCES_M)
    dims = ("weather", "lens", "distance")
    base["pd_distance"] = (dims, pd)
    base["pd_distance_low"] = (dims, np.clip(pd - half_width * (1.2 - pd), 0, 1))
    base["pd_distance_high"] = (dims, np.clip(pd + half_width * (1.2 - pd), 0, 1))
    if toml is not None:
        base.attrs["site_toml"] = toml(base.attrs["site_toml"])
    return base


def usual(scale=1.0, near=(5.0, 12.0), **changes) -> xr.Dataset:
    """Two lenses that both have a near end."""
    shape = [[curve(near[0], scale * h, 3.5), curve(near[1], 1.9 * scale * h, 3.5)] for h in HALVES_M]
    return results(shape, **changes)


def one_lens() -> xr.Dataset:
    return results([[curve(5, h)] for h in HALVES_M], lenses=("wide",))


THIRD = "\n[lenses.longest]\nfocal_length_mm = 9.0\nf_number = 1.2\n"


def three_lenses() -> xr.Dataset:
    shape = [[curve(5, h), curve(12, 1.9 * h), curve(19, 2.8 * h)] for h in HALVES_M]
    return results(shape, lenses=("wide", "long", "longest"), toml=lambda text: text + THIRD)


def same_focal_lengths() -> xr.Dataset:
    """The lenses differ in their f-number only; one has a long name."""

    def renamed(text: str) -> str:
        return text.replace(
            "[lenses.long]\nfocal_length_mm = 6.0\nf_number = 1.0", "[lenses.long]\nfocal_length_mm = 3.0\nf_number = 1.4"
        )

    return results([[curve(5, h), curve(5.5, 0.9 * h)] for h in HALVES_M], toml=renamed)


def long_lens_names() -> xr.Dataset:
    def renamed(text: str) -> str:
        text = text.replace("lenses.wide", "lenses.wide-angle-with-heater").replace(
            'lens = "wide"', 'lens = "wide-angle-with-heater"'
        )
        return text.replace("focal_length_mm = 6.0", "focal_length_mm = 3.0")

    shape = [[curve(5, h), curve(5.5, 0.9 * h)] for h in HALVES_M]
    return results(shape, lenses=("wide-angle-with-heater", "long"), toml=renamed)


def zero_everywhere() -> xr.Dataset:
    return results(np.zeros((6, 2, len(DISTANCES_M))))


def one_everywhere() -> xr.Dataset:
    return results(np.full((6, 2, len(DISTANCES_M)), 0.999), half_width=0.005)


def gaps() -> xr.Dataset:
    """A class without data, a stretch without data, and a curve that leaves the requirement and comes back."""
    data = usual()
    for name in ("pd_distance", "pd_distance_low", "pd_distance_high"):
        values = data[name].values.copy()
        values[1] = np.nan
        values[2, :, 30:] = np.nan
        values[4, 0, :6] = np.nan
        data[name] = (data[name].dims, values)
    for name, shift in (("pd_distance", 0.02), ("pd_distance_low", 0.0), ("pd_distance_high", 0.04)):
        values = data[name].values.copy()
        values[3, 0] = np.where((DISTANCES_M > 14) & (DISTANCES_M < 22), 0.86 + shift, values[3, 0])
        values[5, 1] = np.where((DISTANCES_M % 20) < 4, 0.86 + shift, values[5, 1])
        data[name] = (data[name].dims, values)
    return data


def only_one_distance_held() -> xr.Dataset:
    """Each lens meets the requirement at a single distance in one class."""
    shape = np.full((6, 2, len(DISTANCES_M)), 0.3)
    shape[:, 0, 10] = shape[:, 1, -1] = 0.98
    return results(shape)


def one_nowhere() -> xr.Dataset:
    shape = [[curve(5, h), 0.8 * curve(12, 1.9 * h)] for h in HALVES_M]
    return results(shape)


def worst_in_different_classes() -> xr.Dataset:
    shape = [[curve(5, h), curve(12, 1.9 * k)] for h, k in zip(HALVES_M, (110, 68, 76, 50, 84, 76))]
    return results(shape)


def thirteen_classes() -> xr.Dataset:
    classes = (*invented_results.TWELVE_CLASSES, ("dense fog, hardly ever here", 4, 7.0))
    return results([[curve(5, 50 + 3 * i), curve(12, 90 + 5 * i)] for i in range(13)], classes=classes)


ALL = {
    "usual": usual,
    "one lens": one_lens,
    "three lenses": three_lenses,
    "same focal lengths": same_focal_lengths,
    "long lens names": long_lens_names,
    "zero everywhere": zero_everywhere,
    "one everywhere": one_everywhere,
    "gaps": gaps,
    "only one distance": only_one_distance_held,
    "one nowhere": one_nowhere,
    "worst in different classes": worst_in_different_classes,
    "thirteen classes": thirteen_classes,
    "US units": lambda: usual(units="us"),
    "requirement 0.99": lambda: usual(requirement=0.99),
    "requirement 0.50": lambda: usual(requirement=0.5),
    "one class": lambda: results([[curve(5, 52), curve(12, 99)]], classes=invented_results.SIX_CLASSES[:1]),
}

"""Small invented sites for comparisons: one camera that looks along short pieces of fence, and its mirror image."""

import copy

import numpy as np

import fencecast as fc
from fencecast.estimate.simulate import new_tally
from statistical.trial import base, fence

# Metres from the mast: in its shadow, near, half way, far; Pd near 0, 1, and in between.
DISTANCES_M = (2.5, 3.0, 10.0, 20.0, 41.0, 60.0, 105.0)


def pieces(**decision) -> dict:
    """One 3 mm camera looking east along seven pieces of fence of 1 m, walked eastwards with the yard on the left."""
    table = base()
    table["site"]["segment_length_m"] = 1.0
    table["camera"] = [table["camera"][0] | {"position_m": [0.0, 0.0]}]
    table["perimeter"] = [fence(f"{d:g} m", [[d - 0.5, 0.0], [d + 0.5, 0.0]]) for d in DISTANCES_M]
    table["rule"] = [{"kind": "line", "points_m": [[-20.0, 0.0], [170.0, 0.0]]}]
    table["decision"] = decision
    return table


def mirrored(table: dict) -> dict:
    """The same site seen in a mirror along the y axis: the same Pd in every piece, by symmetry of everything that is drawn."""
    other = copy.deepcopy(table)
    for section in other["perimeter"]:
        section["points_m"] = [[-x, y] for x, y in section["points_m"]]
        section["inside"] = "right"
    for camera in other["camera"]:
        camera["position_m"] = [-camera["position_m"][0], camera["position_m"][1]]
        camera["bearing_deg"] = 360.0 - camera["bearing_deg"]
    for rule in other["rule"]:
        rule["points_m"] = [[-x, y] for x, y in reversed(rule["points_m"])]
    return other


def changed(table: dict, **parts) -> dict:
    """A copy with values of [sensors.core], [lenses.wide] or [decision] replaced."""
    other = copy.deepcopy(table)
    for name, values in parts.items():
        place = {"sensor": other["sensors"]["core"], "lens": other["lenses"]["wide"], "decision": other["decision"]}[name]
        place.update(values)
    return other


def site_of_table(table: dict):
    return fc.Site(**copy.deepcopy(table))


def invented_tally(means, points=64):
    """A tally whose scramblings have these mean Pd, (cells, scramblings)."""
    means = np.asarray(means, dtype=float)
    tally = new_tally(len(means), 1, means.shape[1])
    tally.points[:] = points
    tally.sums[:, :, 0] = means * points
    return tally

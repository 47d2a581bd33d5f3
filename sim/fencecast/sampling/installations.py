"""The draws of installations: what is fixed once for a yard as built, as scrambled Sobol points in dimensions of their own.

Each camera owns four dimensions and what is not known of the decision four more, each group with its own order of the points and
its own scrambles, keyed by the camera's mark: a camera more moves nobody else's draws, and installation i never depends on how
many are asked for. (Padding of shuffled Sobol points: Burley 2020, as `sobol`.)
"""

from __future__ import annotations

import numpy as np

from fencecast.sampling.sobol import owen_scramble, sobol_table, to_unit
from fencecast.sampling.variables import CAMERA_VARIABLES, DECISION_VARIABLES, key64

MOST_INSTALLATIONS = 1024
_GROUP = 4  # dimensions of a group: the first four of the sequence


def installation_units(seed: int, group: str, names: tuple[str, ...], count: int) -> np.ndarray:
    """Numbers in (0, 1), shape (count, len(names)), stratified over the first 2^k installations; at most 4 names."""
    table = sobol_table(MOST_INSTALLATIONS, _GROUP)
    # A nested shuffle of the order: any first 2^k of the shuffled points are a block of the sequence, as even as its start.
    shuffle = np.uint64(key64("installation", "order", seed, group))
    order = [int(owen_scramble(i, shuffle)) % MOST_INSTALLATIONS for i in range(count)]
    units = np.empty((count, len(names)))
    for v, name in enumerate(names):
        key = np.uint64(key64("installation", "value", seed, group, name))
        units[:, v] = [to_unit(owen_scramble(table[i, v], key)) for i in order]
    return units


def camera_units(seed: int, mark: str, count: int) -> np.ndarray:
    """Draws of one camera in each installation, (count, len(CAMERA_VARIABLES)), by its mark."""
    return installation_units(seed, f"camera {mark}", CAMERA_VARIABLES, count)


def decision_units(seed: int, count: int) -> np.ndarray:
    """Draws of the decision in each installation, (count, len(DECISION_VARIABLES))."""
    return installation_units(seed, "decision", DECISION_VARIABLES, count)

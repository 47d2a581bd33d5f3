"""What a state of the weather leaves of contrast and clutter, in logarithms that never saturate.

Likeness saturates as the simulation does, but not for everybody at once: of the states that leave a usual person at any distance
plain to see, some still hide the few in cold, thick clothing. These numbers tell such states apart.
"""

from __future__ import annotations

import numpy as np

from fencecast.hours.likeness import usual_view
from fencecast.meteorology.ease import scene_of
from fencecast.meteorology.year import HourStates

_BLOCK_ROWS = 4096


def signals(site, states: HourStates) -> np.ndarray:
    """Columns (n, 3), each ln(1 + x), x in units of the usual camera's noise and at no distance.

    x is the mean size of the contrast of clothing over kinds of people, its spread over them (standard deviation), and the
    clutter of the ground.
    """
    view = usual_view(site)
    columns = np.empty((len(states), 3))
    for start in range(0, len(states), _BLOCK_ROWS):
        block = np.arange(start, min(start + _BLOCK_ROWS, len(states)))
        part = states.take(block)
        scene = scene_of(view, part)
        contrast = (scene.clothing - scene.ground) / view.noise
        columns[block, 0] = np.abs(contrast).mean(axis=0)
        columns[block, 1] = contrast.std(axis=0)
        columns[block, 2] = part.clutter_k * scene.slope / view.noise
    return np.log1p(columns)

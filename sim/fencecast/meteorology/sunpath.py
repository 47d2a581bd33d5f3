"""Where the sun stands, at any moments: for reviews that ask when it shines into a camera.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

import numpy as np


def sun_positions_deg(utc: np.ndarray, latitude: float, longitude: float) -> tuple[np.ndarray, np.ndarray]:
    """Elevation above the horizon without refraction, and azimuth from true north clockwise [degrees], (moments,).

    utc: datetime64[s]. pvlib's NREL algorithm (Reda and Andreas 2004).
    """
    import pandas as pd
    from pvlib.solarposition import spa_python

    found = spa_python(pd.DatetimeIndex(utc, tz="UTC"), latitude, longitude)
    return found["elevation"].to_numpy(), found["azimuth"].to_numpy()

"""Where the sun stands, at any moments: for reviews that ask when it shines into a camera.

Tests: tests/review/test_picture.py.
"""

from __future__ import annotations

import numpy as np


def sun_positions_deg(utc: np.ndarray, latitude: float, longitude: float) -> tuple[np.ndarray, np.ndarray]:
    """Elevation above the horizon without refraction, and azimuth from true north clockwise [degrees], (moments,).

    utc: datetime64[s]. pvlib's `ephemeris`, good to 0.01 degrees: plenty for a disc of half a degree.
    """
    import pandas as pd
    from pvlib.solarposition import ephemeris

    found = ephemeris(pd.DatetimeIndex(utc, tz="UTC"), latitude, longitude)
    return found["elevation"].to_numpy(), found["azimuth"].to_numpy()

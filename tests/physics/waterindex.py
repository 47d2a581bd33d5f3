"""Complex refractive index of liquid water, for fog drops and for the film on a window.

Hale and Querry, Applied Optics 12, 555 (1973), at the wavelengths that the package uses. The tables made from it
(fog_ratio.csv, water_film.csv; tests/physics/make_fog_ratio.py) join these points by smooth monotone curves.
"""

from __future__ import annotations

import numpy as np

VISIBLE_UM = 0.55  # where visibility is defined
VISIBLE_INDEX = (1.333, 2.0e-9)
WAVELENGTH_UM = np.array([8.0, 9.0, 10.0, 10.6, 11.0, 12.0, 13.0, 14.0])
INDEX_N = np.array([1.291, 1.262, 1.218, 1.179, 1.153, 1.111, 1.146, 1.210])
INDEX_K = np.array([0.0343, 0.0399, 0.0508, 0.0723, 0.0968, 0.199, 0.305, 0.370])

"""How often what walks about an area crosses a line.

Tests: tests/physics/test_encounters.py.
"""

import math

from fencecast.jit import compiled


@compiled
def ways_a_night(density_km2, walked_km, length_m):
    """Ways across a line in a night: (2 / pi) D M L, both senses together.

    density_km2 D [1/km2]; walked_km M: what each of them walks in a night [km]; length_m L [m]. The track-count formula of
    wildlife surveys (Formozov, Malyshev and Pereleshin): crossings go by density and daily distance alone, not by how crooked a
    way is; positions and headings must be spread alike.
    Check: test_encounters.py::test_straight_walkers_on_a_torus, test_encounters.py::test_printed_ways_a_night.
    """
    return 2.0 / math.pi * density_km2 * walked_km * length_m * 1e-3

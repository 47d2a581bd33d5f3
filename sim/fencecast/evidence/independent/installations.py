"""What an installation fixes, by brute force: many installations, each on the same crossings."""

import numpy as np
from scipy.stats import qmc

from fencecast.evidence.independent.estimate import INSTALLATION, one_crossing
from fencecast.evidence.independent.scene import Scene
from fencecast.evidence.independent.site_reader import read_site

PERSON = ("clo", "climb_s", "speed_m_s", "gait", "position", "direction", "look_phase")


def crossing_draws(site, weather_name, points, rng):
    """`points` crossings' draws (points a power of two) as functions (name, mark=None) -> share: scipy's Sobol points for what
    a crossing draws, ordinary random numbers for what belongs to an installation."""
    names = [*site.weather[weather_name]["draws"], *site.intruder["draws"], *PERSON]
    table = qmc.Sobol(len(names), scramble=True, rng=rng).random(points)
    column = {name: k for k, name in enumerate(names)}

    def share_of(row):
        return lambda name, mark=None: rng.random() if name in INSTALLATION else row[column[name]]

    return [share_of(row) for row in table]


def one_installation(rng):
    """A share function for the variables of `INSTALLATION` that gives the same answer each time it is asked."""
    drawn = {}

    def share(name, mark=None):
        return drawn.setdefault((name, mark), rng.random())

    return share


def pd_of_installations(site, weather_name, segment_index, installations, points, rng):
    """Pd of each installation (installations,), all on the same `points` crossings."""
    site = read_site(site)
    scene, weather, segment = Scene(site), site.weather[weather_name], site.segments[segment_index]
    crossings = crossing_draws(site, weather_name, points, rng)
    found = np.zeros(installations)
    for i in range(installations):
        fixed = one_installation(rng)

        def share(name, mark=None, drawn=None, fixed=fixed):
            return fixed(name, mark) if name in INSTALLATION else drawn(name, mark)

        outcomes = [
            one_crossing(site, scene, weather, segment, lambda name, mark=None, d=d, s=share: s(name, mark, d)) for d in crossings
        ]
        found[i] = np.mean([outcome["pd"] for outcome in outcomes])
    return found

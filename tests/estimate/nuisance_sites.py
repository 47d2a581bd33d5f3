"""Small invented sites with stimuli, and encounters that were never simulated, for tests of nuisance alarms."""

from __future__ import annotations

import numpy as np

from fencecast.estimate.encounters import Encounters
from fencecast.estimate.exposure import Exposure
from fencecast.site import parse_site
from kernels.kernel_sites import NIGHT, _table, site_text

CAT = {"kind": "cat"}
INSECT = {"kind": "insect"}
WARM = NIGHT | {"name": "warm", "hours_per_year": 1000, "air_temperature_c": 20.0, "clutter_k": 0.2}


def nuisance_site(*stimuli, soak=(), nuisance=None, requirement=None, weather=(NIGHT, WARM), **tables):
    """A loaded site with these stimuli (dicts) and tables; the rest as `kernel_sites.site_text` has it."""
    parts = [site_text(weather=weather, **tables)]
    parts += [_table("[[stimulus]]", each) for each in stimuli]
    parts += [_table("[[soak]]", each) for each in soak]
    parts += [_table(f"[{name}]", table) for name, table in (("nuisance", nuisance), ("requirement", requirement)) if table]
    return parse_site("\n".join(parts))


def invented(exposure: Exposure, p: float = 0.1, se: float = 0.0, cameras: int = 1, seed: int | None = None) -> Encounters:
    """Encounters of every body of an exposure, in which one that takes place raises an alarm with chance p, or, when there is a
    seed, with chances from 0 to 2 p that differ from cell to cell. Each camera alone has half of it."""
    bodies = exposure.bodies
    shape = (len(bodies), len(exposure.classes), exposure.encounters.shape[1])
    chance = np.full(shape, p) if seed is None else 2.0 * p * np.random.default_rng(seed).random(shape)
    rows = [exposure.stimuli.index(body) for body in bodies]
    about = np.array([[d.weight @ a for d, a in zip(exposure.draws, exposure.activity[k])] for k in rows]).reshape(shape[:2])
    chance = chance * about[..., None]
    return Encounters(
        names=tuple(body.name for body in bodies),
        p=chance,
        p_se=np.full(shape, se) * about[..., None],
        p_camera=np.repeat(0.5 * chance[..., None], cameras, axis=-1),
        active_share=about,
        in_view=chance,
        believed=chance,
        crossings=np.full(shape, 32),
        looks=0,
    )

"""The independent side of the crossings: cells run by the slow Monte Carlo, in a process of its own while others are checked."""

from __future__ import annotations

import multiprocessing
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import numpy as np

from fencecast.evidence.independent.estimate import one_crossing
from fencecast.evidence.independent.scene import Scene
from fencecast.evidence.independent.site_reader import read_site

SITES = ("walled-yard", "thaw-line", "roof-corner", "hook-yard", "notch-dock")
# (site, weather class, segment): gaits, directions, climbs, areas, fog, rain, snow and mounting errors in turn; Pd neither 0
# nor 1, where an error would not show.
CELLS = (
    ("walled-yard", "clear night", 20),
    ("walled-yard", "radiation fog", 31),
    ("thaw-line", "heavy rain", 9),
    ("thaw-line", "thaw fog", 5),
    ("roof-corner", "mild night", 15),
    ("roof-corner", "snow squall", 8),
)
SCRAMBLINGS, POINTS = 8, 64
_SEED = 31

_ahead = None  # the reading end of the pipe from the process that works ahead


def site_file(name: str) -> Path:
    """One of the five invented sites."""
    return Path(__file__).with_name("sites") / f"{name}.toml"


@cache
def slow_site(name: str):
    """(site, scene) as the independent code reads them."""
    site = read_site(site_file(name))
    return site, Scene(site)


def _draws(names, points: int, rng):
    """`points` crossings' draws: site variables by scipy's Sobol sequence, camera variables by ordinary random numbers."""
    from scipy.stats import qmc

    table = qmc.Sobol(len(names), scramble=True, rng=rng).random(points)
    column = {name: k for k, name in enumerate(names)}
    for row in table:
        yield lambda name, mark=None, row=row: rng.random() if mark is not None else row[column[name]]


def run_cells() -> np.ndarray:
    """Mean Pd of each scrambling of each cell, (cells, scramblings), by the slow code on draws of its own."""
    means = np.zeros((len(CELLS), SCRAMBLINGS))
    for k, (name, weather_name, segment) in enumerate(CELLS):
        site, scene = slow_site(name)
        weather, rng = site.weather[weather_name], np.random.default_rng([_SEED, k])
        person = [*site.intruder["draws"], "clo", "climb_s", "speed_m_s", "gait", "position", "direction", "look_phase"]
        names = [*weather["draws"], *person]
        for scrambling in range(SCRAMBLINGS):
            outcomes = [
                one_crossing(site, scene, weather, site.segments[segment], share)["pd"] for share in _draws(names, POINTS, rng)
            ]
            means[k, scrambling] = np.mean(outcomes)
    return means


@cache
def means() -> np.ndarray:
    """`run_cells`, from the process that works ahead when there is one."""
    if _ahead is not None:
        try:
            return _ahead.recv()
        except EOFError:  # it was ended, or could not start: do its work here
            pass
    return run_cells()


def _send(pipe) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt from the keyboard is the parent's to handle: it ends this one
    pipe.send(run_cells())


@contextmanager
def working_ahead() -> Iterator[None]:
    """Meanwhile `means` is worked out by another process; it never outlives the block."""
    global _ahead
    context = multiprocessing.get_context("spawn")
    reading, writing = context.Pipe(duplex=False)
    process = context.Process(target=_send, args=(writing,), daemon=True)
    try:
        process.start()
    except OSError:  # no more processes allowed: `means` works alone
        yield
        return
    writing.close()
    _ahead = reading
    try:
        yield
    finally:
        _ahead = None
        process.terminate()
        process.join()
        reading.close()

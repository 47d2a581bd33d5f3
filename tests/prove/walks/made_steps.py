"""Steps made by hand, for tests of what is worked out from them: cameras of a wanted Pd, one step each, at an N50 of 2."""

from __future__ import annotations

import numpy as np

from fencecast.physics.discrimination import discrimination_ratio
from fencecast.prove.walks.kinds import Steps

CYCLES_50 = 2.0


def one_walk(cycles, gain, post=None) -> Steps:
    """A walk from (crossings, cameras, steps) of N and gain."""
    cycles, gain = np.asarray(cycles, dtype=float), np.asarray(gain, dtype=float)
    crossings, cameras, steps = cycles.shape
    room = np.zeros((2, 1, crossings, cameras, 16))
    room[0, 0, :, :, :steps], room[1, 0, :, :, :steps] = cycles, gain
    return Steps(
        cycles=room[0],
        gain=room[1],
        post=np.arange(cameras) if post is None else np.asarray(post),
        marks=tuple("ABCDEFGH"[:cameras]),
        delay=np.zeros((1, 31)),
        delay_s=0.5 * np.arange(31),
        in_view=(room[1][..., 0] > 0.0).mean(axis=1),
        path_s=np.full(1, 6.0),
    )


def sure_walk(pd, post=None, crossings=1) -> Steps:
    """Cameras whose alarm at N50 = 2 has the probabilities `pd`, the same in every crossing."""
    cycles = np.array([CYCLES_50 * discrimination_ratio(each) for each in pd])
    cycles = np.tile(cycles[None, :, None], (crossings, 1, 1))
    return one_walk(cycles, np.ones_like(cycles), post)

"""The named random variables of a crossing or an encounter: which are quasi-random, and how every stream is keyed.

Each variable that the whole site shares owns one fixed Sobol dimension for ever, by its place in this list; names may be added
at the end, never moved, so that two versions and two designs see the same crossings. Earlier dimensions of a Sobol sequence
are the better ones: the variables that decide most stand first. Per-camera variables are hashed draws keyed by the camera's
mark, so that adding a camera leaves the others' draws alone.
"""

from __future__ import annotations

import hashlib

import numpy as np

SITE_VARIABLES = (
    "position",
    "approach_angle",
    "gait",
    "speed",
    "visibility",
    "drop_radius",
    "look_phase",
    "stature",
    "clo",
    "ground_minus_air",
    "air_temperature",
    "wind",
    "clothing_emissivity",
    "rain",
    "clutter",
    "wetness",
    "relative_humidity",
    "snow",
    "bare_head_share",
    "turn",
    "pause",
    "climb",
    "direction",
    "depth_ratio",
    "hour",
)
# Of an encounter with what is no intruder: the same dimensions by meaning (a coat is its clothing, its size its stature), then
# what a crossing does not have. The crossing loop scrambles its own alone.
ENCOUNTER_VARIABLES = (*SITE_VARIABLES, "offset", "base", "way", "reach")
DIMENSION = {name: index for index, name in enumerate(ENCOUNTER_VARIABLES)}

# Where an encounter's feet seem to be in a camera's picture: hashed draws, keyed by the camera's mark too.
FOOT_POINT_VARIABLES = ("foot_point_u", "foot_point_v")
CAMERA_VARIABLES = ("netd", "bearing", "depression", "height")
# What is not known of the analytics of an installation: hashed draws, or one for each installation.
DECISION_VARIABLES = ("cycles_50", "encounter_correlation", "threshold_sigma", "clutter_factor")


def key64(*parts: object) -> int:
    """A 64-bit key of any values, the same on every machine and in every process (BLAKE2b of their text)."""
    text = "\x1f".join(repr(part) if not isinstance(part, str) else part for part in parts)
    return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest(), "little")


def stratum_key(seed: int, section: str, segment: int, weather: str, purpose: str = "main") -> np.uint64:
    """The key of one cell: the seed hashed with names and the segment's number in its section, never a place in the file.

    `purpose` separates streams that must be independent of the main one: the fresh run of the weakest places, the distance
    curves.
    """
    return np.uint64(key64("stratum", purpose, seed, section, segment, weather))


def variable_keys(names: tuple[str, ...] = SITE_VARIABLES) -> np.ndarray:
    """One uint64 key per variable, from its name, shape (len(names),)."""
    return np.array([key64("variable", name) for name in names], dtype=np.uint64)


def decision_keys() -> np.ndarray:
    """One uint64 key per variable of the decision, from its name, shape (len(DECISION_VARIABLES),)."""
    return np.array([key64("decision", name) for name in DECISION_VARIABLES], dtype=np.uint64)


def camera_keys(marks: tuple[str, ...]) -> np.ndarray:
    """One uint64 key per camera and camera variable, shape (cameras, len(CAMERA_VARIABLES))."""
    keys = [[key64("camera", mark, name) for name in CAMERA_VARIABLES] for mark in marks]
    return np.array(keys, dtype=np.uint64).reshape(len(marks), len(CAMERA_VARIABLES))

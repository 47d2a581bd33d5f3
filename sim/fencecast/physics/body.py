"""The intruder's body: an upright box, its silhouette of four rectangles, its sizes by gait.

Sources: stature ANSUR II 2012 (men 1.756 / 0.069 m, women 1.628 / 0.064 m); walking speed Bohannon & Williams Andrews 2011;
crawling Cao et al. 2018; the rest is judgement, no source.
"""

import math

import numpy as np

from fencecast.jit import compiled

WALK, RUN, CROUCH, CRAWL, FLAT_CRAWL, STAND = 0, 1, 2, 3, 4, 5
GAITS = ("walk", "run", "crouch", "crawl", "flat crawl")

# Metres and shares of stature; columns: height in statures, height in metres, breadth in statures, depth in statures, depth in
# metres. One of each metre / stature pair is zero.
BODY_SIZES = np.array(
    [
        [1.00, 0.0, 0.30, 0.28, 0.0],  # walk
        [1.00, 0.0, 0.30, 0.40, 0.0],  # run
        [0.65, 0.0, 0.30, 0.25, 0.0],  # crouch
        [0.00, 0.5, 0.30, 0.00, 1.2],  # crawl on hands and knees
        [0.00, 0.3, 0.30, 0.00, 1.7],  # flat crawl
        [1.00, 0.0, 0.30, 0.16, 0.0],  # standing still, and a climber
    ]
)

# Mean, sd, lower cut of the speed [m/s] and share of the default mix, by gait.
GAIT_SPEEDS = np.array([[1.3, 0.25, 0.3], [4.5, 1.0, 1.5], [0.8, 0.2, 0.2], [0.8, 0.15, 0.2], [0.3, 0.08, 0.1]])
GAIT_SHARES = np.array([0.45, 0.20, 0.20, 0.10, 0.05])

# Silhouettes: x from, x to (across), y from, y to (down from the top), as fractions of the body's image rectangle.
PARTS = ("head", "torso", "upper legs", "lower legs")
UPRIGHT = 0
CRAWLING = 1
SILHOUETTES = np.array(
    [
        [[0.33, 0.67, 0.00, 0.13], [0.06, 0.94, 0.13, 0.53], [0.14, 0.86, 0.53, 0.76], [0.22, 0.78, 0.76, 1.00]],
        [[0.00, 0.16, 0.10, 0.70], [0.16, 0.58, 0.00, 0.85], [0.58, 0.80, 0.20, 1.00], [0.80, 1.00, 0.55, 1.00]],
    ]
)


@compiled
def silhouette_kind(gait):
    """0 upright (walk, run, crouch, stand), 1 crawling with the head leading (crawl, flat crawl)."""
    return CRAWLING if gait in (CRAWL, FLAT_CRAWL) else UPRIGHT


@compiled
def body_size_m(gait, stature_m, depth_share):
    """Height, breadth and depth [m] of the box.

    `depth_share` [statures] replaces the table's depth for walk, run and crouch when it is not NaN (`depth_ratio` of a site).
    """
    height = BODY_SIZES[gait, 0] * stature_m + BODY_SIZES[gait, 1]
    breadth = BODY_SIZES[gait, 2] * stature_m
    depth = BODY_SIZES[gait, 3] * stature_m + BODY_SIZES[gait, 4]
    if gait <= CROUCH and not math.isnan(depth_share):
        depth = depth_share * stature_m
    return height, breadth, depth


@compiled
def part_middle_m(kind, part, base_m, height_m):
    """Height of the middle of one silhouette part over the ground [m]; base_m: of the foot point, height_m: of the body."""
    return base_m + height_m * (1.0 - 0.5 * (SILHOUETTES[kind, part, 2] + SILHOUETTES[kind, part, 3]))


@compiled
def box_extents_m(breadth_m, depth_m, cosine, sine):
    """Width across and thickness along the line of sight [m] of a box whose heading makes the angle psi with that line.

    W = |cos psi| breadth + |sin psi| depth; T = |sin psi| breadth + |cos psi| depth.
    """
    c, s = abs(cosine), abs(sine)
    return c * breadth_m + s * depth_m, s * breadth_m + c * depth_m

"""Bodies: an upright box and its silhouette of four rectangles; the intruder's sizes by gait.

A person's posture, an animal or a vehicle is one row of `SILHOUETTE_OF`; all are drawn, seen and measured in the same way.

Sources: stature ANSUR II 2012 (men 1.756 / 0.069 m, women 1.628 / 0.064 m); walking speed Bohannon & Williams Andrews 2011;
crawling Cao et al. 2018; the rest is judgement, no source.

Tests: tests/physics/test_body.py.
"""

import math

import numpy as np

from fencecast.jit import compiled

WALK, RUN, CROUCH, CRAWL, FLAT_CRAWL, STAND = 0, 1, 2, 3, 4, 5
GAITS = ("walk", "run", "crouch", "crawl", "flat crawl")
FOUR_LEGGED, FLYING, VEHICLE = 6, 7, 8  # bodies that are no person: rows of SILHOUETTE_OF after the postures

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

# Silhouettes: x from, x to (across), y from, y to (down from the top), as fractions of the body's image rectangle. The leading
# end of those that have one (HEAD_LEADS) is at the left, where it stays for a body that moves to the left of the picture.
PARTS = ("head", "torso", "upper legs", "lower legs")  # of a person
UPRIGHT, CRAWLING, QUADRUPED, WINGED, MOTOR = 0, 1, 2, 3, 4
SILHOUETTES = np.array(
    [
        [[0.33, 0.67, 0.00, 0.13], [0.06, 0.94, 0.13, 0.53], [0.14, 0.86, 0.53, 0.76], [0.22, 0.78, 0.76, 1.00]],
        [[0.00, 0.16, 0.10, 0.70], [0.16, 0.58, 0.00, 0.85], [0.58, 0.80, 0.20, 1.00], [0.80, 1.00, 0.55, 1.00]],
        # head, trunk, fore legs, hind legs
        [[0.00, 0.20, 0.00, 0.40], [0.20, 0.95, 0.15, 0.65], [0.20, 0.36, 0.65, 1.00], [0.76, 0.92, 0.65, 1.00]],
        # head, trunk, a wing, the other wing
        [[0.40, 0.60, 0.00, 0.25], [0.30, 0.70, 0.25, 1.00], [0.00, 0.30, 0.25, 0.60], [0.70, 1.00, 0.25, 0.60]],
        # bonnet, sides, cabin, wheels with what is warm between them
        [[0.00, 0.28, 0.40, 0.75], [0.28, 1.00, 0.40, 0.75], [0.28, 0.92, 0.00, 0.40], [0.10, 0.90, 0.75, 1.00]],
    ]
)

# Which silhouette a posture or a kind of body has, and whether that one leads with its head.
SILHOUETTE_OF = np.array([UPRIGHT, UPRIGHT, UPRIGHT, CRAWLING, CRAWLING, UPRIGHT, QUADRUPED, WINGED, MOTOR])
HEAD_LEADS = np.array([False, True, True, False, True])

# What a part radiates as: clothing, coat or sides; the head's mix with bare skin; legs, or a vehicle's bonnet and wheels.
COVER, FACE, LIMBS = 0, 1, 2
PART_SURFACE = np.array(
    [
        [FACE, COVER, COVER, COVER],
        [FACE, COVER, COVER, COVER],
        [FACE, COVER, LIMBS, LIMBS],
        [COVER, COVER, COVER, COVER],
        [LIMBS, COVER, COVER, LIMBS],
    ]
)


@compiled
def silhouette_kind(posture):
    """Row of `SILHOUETTES` of a posture or a kind of body.

    Check: test_body.py::test_kind_of_silhouette.
    """
    return SILHOUETTE_OF[posture]


@compiled
def body_size_m(gait, stature_m, depth_share):
    """Height, breadth and depth [m] of the box.

    `depth_share` [statures] replaces the table's depth for walk, run and crouch when it is not NaN (`depth_ratio` of a site).
    Check: test_body.py::test_sizes_by_hand.
    """
    height = BODY_SIZES[gait, 0] * stature_m + BODY_SIZES[gait, 1]
    breadth = BODY_SIZES[gait, 2] * stature_m
    depth = BODY_SIZES[gait, 3] * stature_m + BODY_SIZES[gait, 4]
    if gait <= CROUCH and not math.isnan(depth_share):
        depth = depth_share * stature_m
    return height, breadth, depth


@compiled
def part_middle_m(kind, part, base_m, height_m):
    """Height of the middle of one silhouette part over the ground [m]; base_m: of the foot point, height_m: of the body.

    Check: test_kernel_look.py::test_part_contrasts_*.
    """
    return base_m + height_m * (1.0 - 0.5 * (SILHOUETTES[kind, part, 2] + SILHOUETTES[kind, part, 3]))


@compiled
def box_extents_m(breadth_m, depth_m, cosine, sine):
    """Width across and thickness along the line of sight [m] of a box whose heading makes the angle psi with that line.

    W = |cos psi| breadth + |sin psi| depth; T = |sin psi| breadth + |cos psi| depth.
    Check: test_body.py::test_box_seen_*.
    """
    c, s = abs(cosine), abs(sine)
    return c * breadth_m + s * depth_m, s * breadth_m + c * depth_m

"""The body: boxes by gait, and silhouettes as four rectangles inside the box's image."""

import numpy as np

GAITS = ("walk", "run", "crouch", "crawl", "flat_crawl")
GAIT_SHARE = {"walk": 0.45, "run": 0.20, "crouch": 0.20, "crawl": 0.10, "flat_crawl": 0.05}
GAIT_SPEED = {  # mean, sd, cut below [m/s]
    "walk": (1.3, 0.25, 0.3),
    "run": (4.5, 1.0, 1.5),
    "crouch": (0.8, 0.2, 0.2),
    "crawl": (0.8, 0.15, 0.2),
    "flat_crawl": (0.3, 0.08, 0.1),
}
DEPTH_RATIO = {"walk": 0.28, "run": 0.40, "crouch": 0.25}
STANDING_DEPTH_RATIO = 0.16
PART_NAMES = ("head", "torso", "upper legs", "lower legs")

# The fill of 0.70 that the model names for the lower legs is already in their width: 0.56 = 0.70 x 0.80. The worked
# numbers say so (a second factor moves the seen share by up to 0.012).
# x0, x1 across, y0, y1 down from the top, as shares of the rectangle; crawl: the head leads, at x = 0.
UPRIGHT = np.array([[0.33, 0.67, 0.0, 0.13], [0.06, 0.94, 0.13, 0.53], [0.14, 0.86, 0.53, 0.76], [0.22, 0.78, 0.76, 1.0]])
CRAWLING = np.array([[0.0, 0.16, 0.1, 0.7], [0.16, 0.58, 0.0, 0.85], [0.58, 0.80, 0.2, 1.0], [0.80, 1.0, 0.55, 1.0]])


def box(gait, stature_m, depth_ratio):
    """(breadth, depth, height) in metres of a moving body. depth_ratio: dict for walk, run, crouch."""
    breadth = 0.30 * stature_m
    if gait == "crawl":
        return breadth, 1.2, 0.5
    if gait == "flat_crawl":
        return breadth, 1.7, 0.3
    height = 0.65 * stature_m if gait == "crouch" else stature_m
    return breadth, depth_ratio[gait] * stature_m, height


def standing_box(stature_m):
    """(breadth, depth, height) of a body that stands or climbs."""
    return 0.30 * stature_m, STANDING_DEPTH_RATIO * stature_m, stature_m


def silhouette(gait):
    """Part rectangles (4, 4) of a gait."""
    return CRAWLING if gait in ("crawl", "flat_crawl") else UPRIGHT

"""What the kernels take: plain arrays in NamedTuples (numba caches those on disk, not its own classes).

Everything is SI, radians, kelvin and fractions. `pack` makes these from a site; nothing here knows files.
"""

from typing import NamedTuple

import numpy as np

# Kinds of a packed distribution: rows of DISTRIBUTION_WIDTH floats [kind, a, b, c, d, e].
FIXED, UNIFORM, NORMAL, LOGNORMAL, TRIANGULAR, CHOICE, FOLLOWS = range(7)
DISTRIBUTION_WIDTH = 6

# Rows of Weather.quantity (per state) and of Intruder.quantity.
(
    AIR_TEMPERATURE_K,
    RELATIVE_HUMIDITY,
    WIND_M_S,
    VISIBILITY_M,
    RAIN_MM_H,
    SNOW_MM_H,
    GROUND_MINUS_AIR_K,
    CLUTTER_K,
    WETNESS,
    DROP_RADIUS_UM,
) = range(10)
WEATHER_QUANTITIES = 10
STATURE_M, CLO, CLOTHING_EMISSIVITY, BARE_HEAD_SHARE, APPROACH_RAD, TURN_RAD, PAUSE_S, CLIMB_S = range(8)
INTRUDER_QUANTITIES = 8

# Barrier kinds of an edge.
NO_BARRIER, SEE_THROUGH, WALL = 0, 1, 2
LINE_RULE, AREA_RULE = 0, 1


class Scene(NamedTuple):
    """Fences, obstacles and rules: everything that stands still."""

    edge: np.ndarray  # (edges, 4) x0, y0, x1, y1 [m] of every perimeter edge
    edge_normal: np.ndarray  # (edges, 2) inward unit normal
    edge_start_m: np.ndarray  # (edges,) chainage of the edge's first point in its section
    edge_barrier: np.ndarray  # (edges,) NO_BARRIER, SEE_THROUGH or WALL
    edge_height_m: np.ndarray  # (edges,) height of the barrier, 0 without
    edge_open: np.ndarray  # (edges,) open share of the barrier
    section_edge: np.ndarray  # (sections + 1,) first edge of each section
    section_depth_m: np.ndarray  # (sections,) how deep a path must get to have come in
    block_edge: np.ndarray  # (blocks, 5) x0, y0, x1, y1 and number of each edge of a section and of those that join it
    block_first: np.ndarray  # (sections + 1,) first of them of each section
    gate: np.ndarray  # (gates, 3) section, from, to [m]
    obstacle_edge: np.ndarray  # (obstacle edges, 4)
    obstacle_first: np.ndarray  # (obstacles + 1,)
    obstacle_height_m: np.ndarray  # (obstacles,)
    obstacle_circle: np.ndarray  # (obstacles, 3) centre x, y and radius [m]
    rule_kind: np.ndarray  # (rules,) LINE_RULE, AREA_RULE
    rule_edge: np.ndarray  # (rule edges, 4), inside on the left
    rule_first: np.ndarray  # (rules + 1,)
    rule_direction: np.ndarray  # (rules,) +1 inward, -1 outward, 0 both
    rule_time_window_s: np.ndarray  # (rules,)
    rule_dwell_s: np.ndarray  # (rules,)
    rule_camera: np.ndarray  # (rules, cameras) 1 when the rule listens to the camera
    travel: int  # +1 every path inward, -1 outward, 0 half of them each way
    ground_emissivity: float


class Cameras(NamedTuple):
    """One row per camera."""

    position: np.ndarray  # (cameras, 3) x, y, height [m]
    bearing_rad: np.ndarray
    depression_rad: np.ndarray
    focal_px: np.ndarray
    projection: np.ndarray
    noise_law: np.ndarray
    illumination_focal_px: np.ndarray  # focal length for the cos^4 law, 0 = flat
    columns: np.ndarray
    rows: np.ndarray
    blur_px2: np.ndarray  # static blur variance
    time_constant_s: np.ndarray
    netd_k: np.ndarray  # median, already scaled to the lens
    netd_spread: np.ndarray
    fixed_pattern: np.ndarray
    band: np.ndarray  # row of Bands
    key: np.ndarray  # (cameras, CAMERA_VARIABLES) uint64
    post: np.ndarray  # (cameras,) the first camera of the post (mast, wall) that the camera is on
    roll_rad: np.ndarray
    tolerance: np.ndarray  # (cameras, 3) one-sigma errors of mounting: bearing [rad], depression [rad], height [m]


class Optics(NamedTuple):
    """One camera's lens on its sensor: scalars from its row of `Cameras`."""

    focal_px: float
    projection: int
    noise_law: int
    illumination_focal_px: float
    columns: int
    rows: int
    blur_px2: float
    time_constant_s: float
    fixed_pattern: float
    band: int


class Pose(NamedTuple):
    """Where a camera is and how it is turned in one crossing; or, with one row per camera, where all are."""

    position: np.ndarray  # (3,) east, north, up [m]
    right: np.ndarray  # (3,) unit vectors of the camera frame
    down: np.ndarray
    forward: np.ndarray


class Motion(NamedTuple):
    """Where a body is on its way at one time, and how it moves there: metres, m/s; the heading is a unit vector."""

    x: float
    y: float
    base: float  # height of the foot point above the ground, on a climb
    heading_x: float
    heading_y: float
    velocity_x: float
    velocity_y: float
    velocity_z: float
    posture: int  # row of physics.body.SILHOUETTE_OF


class Body(NamedTuple):
    """The upright box that a camera looks at: a motion and its sizes [m]."""

    motion: Motion
    height: float
    breadth: float
    depth: float


class Bands(NamedTuple):
    """The distinct wavelength bands of the cameras."""

    low_um: np.ndarray
    high_um: np.ndarray
    slope_300k: np.ndarray  # dL/dT(300 K)


class Weather(NamedTuple):
    """One row per joint state of the weather; a class is a run of states, of which each crossing draws one by weight.

    A class that the user described is one state whose quantities vary; a class of real hours has a state or more for every hour.
    """

    class_first: np.ndarray  # (classes + 1,) first state of each class
    cumulative: np.ndarray  # (states,) weights added up within the class, 1 at its last state
    quantity: np.ndarray  # (states, WEATHER_QUANTITIES, DISTRIBUTION_WIDTH)
    choice: np.ndarray  # (values, 2) value and cumulative weight, for CHOICE rows
    fog_kind: np.ndarray
    convention: np.ndarray  # 0 optical range, 1 visual range
    visibility_given: np.ndarray  # 0 / 1
    low_sky_below_air_k: np.ndarray  # how much colder than air the low sky radiates
    window: np.ndarray  # share of contrast that the window passes


class Intruder(NamedTuple):
    """Who crosses, and how."""

    quantity: np.ndarray  # (INTRUDER_QUANTITIES, DISTRIBUTION_WIDTH)
    choice: np.ndarray  # (values, 2)
    gait_cumulative: np.ndarray  # (5,)
    speed: np.ndarray  # (5, DISTRIBUTION_WIDTH)
    depth_share: np.ndarray  # (3, DISTRIBUTION_WIDTH) walk, run, crouch; FIXED NaN = the table's
    outside_m: float  # lengths of the path's two legs, outside the fence and inside; both `path_m` but for walks of a test
    inside_m: float


# Rows of Decision.spread.
CYCLES_50, CORRELATION, THRESHOLD, CLUTTER_FACTOR = range(4)


class Decision(NamedTuple):
    """When a look counts and an alarm is raised. What has a spread is drawn by `kernels.decided`; the numbers are medians."""

    threshold: float
    min_pixels: int
    cycles_50: float
    correlation: float
    looks_per_s: float
    confirm_m: int
    confirm_n: int
    node_z: np.ndarray  # (nodes,) quadrature in z
    node_weight: np.ndarray
    size_gate: tuple[float, float]  # smallest and largest accepted size in shares of a person's, 0 = no such end
    size_spread: float  # of the logarithm of a size as the analytics estimate it
    drawn: int  # 1 when a row of spread is not FIXED
    spread: np.ndarray  # (4, DISTRIBUTION_WIDTH) of a correlation its values, of the others factors on the median
    choice: np.ndarray  # (values, 2)


class Plan(NamedTuple):
    """All that one call of the kernel needs besides its jobs."""

    scene: Scene
    cameras: Cameras
    bands: Bands
    weather: Weather
    intruder: Intruder
    decision: Decision


class Cells(NamedTuple):
    """One row per cell (segment x weather class)."""

    weather: np.ndarray  # (cells,) class
    section: np.ndarray  # (cells,) section
    start_m: np.ndarray  # (cells,) chainage of the segment's start
    end_m: np.ndarray
    key: np.ndarray  # (cells,) uint64 stratum key


# Rows of Stimuli.quantity.
(
    SPEED_M_S,
    SIZE_FACTOR,
    WINTER_COAT_M2K_W,
    SUMMER_COAT_M2K_W,
    COAT_EMISSIVITY,
    WAY_ANGLE_RAD,
    WAY_REACH_M,
    OFFSET_M,
    BASE_M,
    WAY_PAUSE_S,
) = range(10)
STIMULUS_QUANTITIES = 10
# How a stimulus meets the fence: through it or turned along it, along it, over it.
CROSS, ALONG, OVER = 0, 1, 2
# What covers it: the intruder's clothing on the intruder's size, a coat, or a vehicle's sides.
CLOTHED, COATED, COACHWORK = 0, 1, 2


class Stimuli(NamedTuple):
    """Bodies that are no intruders, one row each: what they are, how they go, when they are about."""

    posture: np.ndarray  # (stimuli,) row of physics.body.SILHOUETTE_OF
    cover: np.ndarray  # (stimuli,) CLOTHED, COATED or COACHWORK
    size_m: np.ndarray  # (stimuli, 3) height, length along its heading, breadth; not read of a person
    way: np.ndarray  # (stimuli,) CROSS, ALONG or OVER
    through: np.ndarray  # (stimuli, sections) share of the ways to the fence that go on through it
    base_of_barrier: np.ndarray  # (stimuli,) 1 when BASE_M is in heights of the barrier
    quantity: np.ndarray  # (stimuli, STIMULUS_QUANTITIES, DISTRIBUTION_WIDTH)
    choice: np.ndarray  # (values, 2)
    leg_m2k_w: np.ndarray  # (stimuli,)
    over_air_k: np.ndarray  # (stimuli, 2) a vehicle's sides, and its bonnet and wheels
    confused: np.ndarray  # (stimuli,) share taken for a person when the shape is fully resolved
    shape_cycles: np.ndarray  # (stimuli,)
    active: np.ndarray  # (stimuli, WEATHER_QUANTITIES, 2) from, to: out of these it is not about
    rain_share: np.ndarray  # (stimuli,) of its activity, in heavy rain
    road: np.ndarray  # (pieces, 4) x0, y0, x1, y1 [m] of what some keep to
    road_first: np.ndarray  # (stimuli + 1,) first piece of each
    heavy_rain_mm_h: float
    winter_coat_below_k: float
    foot_point_px: float  # one standard deviation of where its feet seem to be in a picture, each way

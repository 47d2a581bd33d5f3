"""The lens: where a point falls in the picture, how wide the field is, how large the blur.

Camera frame: X to the right of the picture, Y down the picture, Z along the optical axis, metres. Image: column u to the
right, row v downwards, pixel i covers [i, i + 1), so the axis meets the picture at (columns / 2, rows / 2). Bearings run
clockwise from grid north (y), depression is positive downwards, roll where the right side is lower.

Tests: tests/physics/test_optics.py.
"""

import math

from fencecast.jit import compiled, vectorised

RECTILINEAR = 0
EQUIDISTANT = 1
PROJECTIONS = {"rectilinear": RECTILINEAR, "equidistant": EQUIDISTANT}

# Farther off a rectilinear axis than this a point counts as not mappable (the tangent runs away).
RECTILINEAR_LIMIT_RAD = math.radians(89.0)
_COS_LIMIT = math.cos(RECTILINEAR_LIMIT_RAD)

# Diffraction of a round pupil as a Gaussian: sd 0.45 lambda F at the middle of the 8-14 um band.
BLUR_WAVELENGTH_M = 10.0e-6
DIFFRACTION_SD_FACTOR = 0.45


@compiled
def camera_axes(bearing_rad, depression_rad, roll_rad):
    """Unit vectors of the camera frame in the site frame (east, north, up).

    Returns nine floats: right (3), down (3), forward (3). Closed form: turned by bearing and depression, then rolled about its
    own axis, right' = cos(roll) right + sin(roll) down and down' = cos(roll) down - sin(roll) right, so that a positive roll
    lowers the camera's right side [rad]. A roll of 0 keeps every bit.
    Check: test_optics.py::test_axes_*, test_roll.py.
    """
    sb, cb = math.sin(bearing_rad), math.cos(bearing_rad)
    st, ct = math.sin(depression_rad), math.cos(depression_rad)
    sr, cr = math.sin(roll_rad), math.cos(roll_rad)
    down_x, down_y, down_z = -sb * st, -cb * st, -ct
    return (
        cr * cb + sr * down_x, sr * down_y - cr * sb, sr * down_z,
        cr * down_x - sr * cb, cr * down_y + sr * sb, cr * down_z,
        sb * ct, cb * ct, -st,
    )  # fmt: skip


@compiled
def project(x_m, y_m, z_m, focal_px, projection):
    """Image position of a point in the camera frame, in pixels from the optical axis.

    Arguments: X, Y, Z [m]; focal length [px]; projection 0 rectilinear r = f tan(theta), 1 equidistant r = f theta.
    Returns (u, v, ok); ok is False when the projection cannot map the point: 89 degrees or more off a rectilinear axis,
    or exactly behind an equidistant one. Source: definition of the projections; checked against a computer-vision library.
    Check: test_optics.py::test_projection_*.
    """
    radius2 = x_m * x_m + y_m * y_m
    if projection == RECTILINEAR:
        if z_m <= 0.0 or z_m * z_m <= _COS_LIMIT * _COS_LIMIT * (radius2 + z_m * z_m):
            return 0.0, 0.0, False
        scale = focal_px / z_m
        return scale * x_m, scale * y_m, True
    radius = math.sqrt(radius2)
    if radius < 1e-12:
        return 0.0, 0.0, z_m > 0.0
    scale = focal_px * math.atan2(radius, z_m) / radius
    return scale * x_m, scale * y_m, True


@compiled
def field_of_view_rad(pixels, focal_px, projection):
    """Full field [rad] over `pixels` centred on the axis: 2 atan(n / 2f) rectilinear, n / f equidistant (f in px).

    Check: test_optics.py::test_rectilinear_field_*.
    """
    if projection == RECTILINEAR:
        return 2.0 * math.atan(0.5 * pixels / focal_px)
    return pixels / focal_px


@compiled
def off_axis_angle_rad(radius_px, focal_px, projection):
    """Angle [rad] from the axis of a picture point at `radius_px`; inverse of the projection.

    Check: test_optics.py::test_field_and_angle_*.
    """
    if projection == RECTILINEAR:
        return math.atan(radius_px / focal_px)
    return radius_px / focal_px


@compiled
def relative_illumination(radius_px, focal_px, projection, cos4):
    """Share of the axial irradiance that reaches a pixel: cos^4 of the off-axis angle, or 1 when `cos4` is False.

    Source: the cosine-fourth law (any optics text); equidistant lenses are built to beat it, hence flat by default.
    Floor 1e-6 so that the noise at 90 degrees stays finite.
    Check: test_optics.py::test_illumination_*.
    """
    if not cos4:
        return 1.0
    cosine = max(math.cos(off_axis_angle_rad(radius_px, focal_px, projection)), 0.0)
    return max(cosine**4, 1e-6)


@compiled
def static_blur_variance_px2(f_number, pitch_m, aberration_px):
    """Variance [px^2] of the still picture's Gaussian blur: diffraction (0.45 lambda F / pitch)^2 plus aberration^2.

    Check: test_optics.py::test_diffraction_blur_*.
    """
    diffraction_px = DIFFRACTION_SD_FACTOR * BLUR_WAVELENGTH_M * f_number / pitch_m
    return diffraction_px * diffraction_px + aberration_px * aberration_px


@compiled
def blind_distance_m(height_m, depression_rad, vertical_field_rad, point_height_m):
    """Ground distance [m] from the camera within which a point at `point_height_m` lies below the frame.

    d0 = (h - z) / tan(t + v/2) on the camera's bearing. 0 when there is no blind ground (t + v/2 >= 90 degrees, or the
    point is as high as the camera); NaN when t + v/2 <= 0: the camera looks over the horizon and d0 is undefined.
    Check: test_optics.py::test_blind_ground_*.
    """
    lower_edge_rad = depression_rad + 0.5 * vertical_field_rad
    if lower_edge_rad <= 0.0:
        return math.nan
    if lower_edge_rad >= 0.5 * math.pi or height_m <= point_height_m:
        return 0.0
    return (height_m - point_height_m) / math.tan(lower_edge_rad)


@compiled
def top_of_frame_distance_m(height_m, depression_rad, vertical_field_rad, point_height_m):
    """Ground distance [m] beyond which a point at `point_height_m` is above the frame; inf when it never is.

    (h - z) / tan(t - v/2) when t > v/2. 0 when the frame's upper edge points down and the point is as high as the camera: then
    it is above the frame everywhere.
    Check: test_optics.py::test_blind_ground_*.
    """
    upper_edge_rad = depression_rad - 0.5 * vertical_field_rad
    if upper_edge_rad <= 0.0:
        return math.inf
    if height_m <= point_height_m:
        return 0.0
    return (height_m - point_height_m) / math.tan(upper_edge_rad)


relative_illumination_array = vectorised(relative_illumination)

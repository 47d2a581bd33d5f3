"""From a point in the site frame to a point in the picture."""

import numpy as np


class Eye:
    """One camera as it hangs in one crossing (mounting errors included)."""

    def __init__(self, camera, bearing=None, depression=None, height_m=None):
        self.camera = camera
        self.xy = camera.position
        self.height_m = camera.height_m if height_m is None else height_m
        b = camera.bearing if bearing is None else bearing
        t = camera.depression if depression is None else depression
        self.forward = np.array([np.sin(b) * np.cos(t), np.cos(b) * np.cos(t), -np.sin(t)])
        level = np.array([np.cos(b), -np.sin(b), 0.0])
        # Seen from behind, a camera whose right side is lower is turned clockwise: right goes towards down.
        below = np.cross(self.forward, level)
        self.right = level * np.cos(camera.roll) + below * np.sin(camera.roll)
        self.down = np.cross(self.forward, self.right)

    def project(self, points):
        """(u, v, mapped) of points (..., 3) in the site frame."""
        ray = points - np.array([self.xy[0], self.xy[1], self.height_m])
        x, y, z = ray @ self.right, ray @ self.down, ray @ self.forward
        across = np.hypot(x, y)
        angle = np.arctan2(across, z)
        if self.camera.projection == "rectilinear":
            mapped = angle < np.deg2rad(89.0)
            radius = np.tan(np.where(mapped, angle, 0.0))
        else:
            mapped = angle < np.deg2rad(179.999)
            radius = angle
        scale = self.camera.focal_px * radius / np.where(across > 0.0, across, 1.0)
        return 0.5 * self.camera.columns + scale * x, 0.5 * self.camera.rows + scale * y, mapped

    def relative_illumination(self, u, v):
        """Share of the on-axis irradiance at image points."""
        if self.camera.illumination == "flat":
            return np.ones(np.broadcast(u, v).shape)
        radius = np.hypot(u - 0.5 * self.camera.columns, v - 0.5 * self.camera.rows) / self.camera.focal_px
        if self.camera.projection == "rectilinear":
            return 1.0 / (1.0 + radius**2) ** 2
        return np.maximum(np.cos(np.minimum(radius, 0.5 * np.pi)) ** 4, 1e-12)

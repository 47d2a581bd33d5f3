"""How far off a camera may be mounted: its own standard deviations, or those of `[tolerance]`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fencecast.site.whole import Site


def mounting_errors(site: Site | Any, camera: Any) -> tuple[float, float, float]:
    """One-sigma errors of bearing [degrees], depression [degrees] and height [m] of one camera of a site.

    Each key that the camera has (`bearing_sd_deg`, `depression_sd_deg`, `height_sd_m`) replaces that of `[tolerance]`.
    """
    shared = site.tolerance
    own = (camera.bearing_sd_deg, camera.depression_sd_deg, camera.height_sd_m)
    return tuple(  # type: ignore[return-value]
        float(every if each is None else each)
        for each, every in zip(own, (shared.bearing_deg, shared.depression_deg, shared.height_m))
    )


def has_mounting_errors(site: Site) -> bool:
    """Whether any camera of a site may be mounted otherwise than drawn."""
    return any(max(mounting_errors(site, camera)) > 0.0 for camera in site.camera)

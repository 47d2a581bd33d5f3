"""The aerial picture that results carry, as it is drawn under the key plan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fencecast.estimate.results import Results


@dataclass(frozen=True, eq=False)
class DrawnPicture:
    """grey (rows, columns) uint8 as it is drawn; affine (2, 3): pixel (column, row, 1) to metres of the site."""

    grey: np.ndarray
    affine: np.ndarray


def drawn_picture(results: Results) -> DrawnPicture | None:
    """The picture that the results carry, its greys lifted to [fade, 1]; None without one."""
    if "picture" not in results or results.site.picture is None:
        return None
    fade = results.site.picture.fade
    lifted = 255.0 * fade + (1.0 - fade) * results["picture"].values.astype(float)
    affine = np.array(results["picture"].attrs["affine"], dtype=float).reshape(2, 3)
    return DrawnPicture(np.round(lifted).astype(np.uint8), affine)

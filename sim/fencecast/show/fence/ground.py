"""The aerial picture under the key plan: grey, light, clipped inside the plan's box."""

from __future__ import annotations

import numpy as np
from matplotlib.image import AxesImage
from matplotlib.patches import Rectangle
from matplotlib.transforms import Affine2D

from fencecast.show.fence.grounddata import DrawnPicture
from fencecast.show.fence.planview import PlanView

CLIP_MM = 2.0  # inside the plan's box: else it runs under the heading
_ABOVE_THE_YARD = 1.2


def draw_ground(view: PlanView, ground: DrawnPicture) -> None:
    """Draw it below fence and buildings; labels then get white plates."""
    rows, columns = ground.grey.shape
    origin, east, north = (np.asarray(view.to_page(*place)) for place in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)))
    page = np.column_stack([east - origin, north - origin, origin])  # metres to page, turned as the plan is
    matrix = np.vstack([page @ np.vstack([ground.affine, [0.0, 0.0, 1.0]]), [0.0, 0.0, 1.0]])
    axes = view.page.axes
    image = AxesImage(axes, interpolation="bilinear", origin="upper", extent=(-0.5, columns - 0.5, rows - 0.5, -0.5))
    image.set_data(np.repeat(ground.grey[:, :, None], 3, axis=2))
    image.set_transform(Affine2D(matrix) + axes.transData)
    box = Rectangle(
        (view.x + CLIP_MM, view.y + CLIP_MM), view.width - 2 * CLIP_MM, view.height - 2 * CLIP_MM, transform=axes.transData
    )
    image.set_clip_path(box)
    image.set_zorder(_ABOVE_THE_YARD)
    axes.add_image(image)
    view.plates = True

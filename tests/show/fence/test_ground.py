"""The picture under the key plan: where its pixels land on the page, and that it stays inside the plan's box."""

from __future__ import annotations

import numpy as np
from matplotlib.image import AxesImage

from fencecast.estimate.dataset import describe
from fencecast.estimate.results import Results
from fencecast.show.fence.data import plan_data
from fencecast.show.fence.plan import plot_plan
from show import invented_results


def with_picture():
    """A yard of 140 x 70 m with a picture of it, 1 m a pixel: dark where x is below 70 m."""
    results = invented_results.yard()
    head, rest = results.attrs["site_toml"].split("\n\n", 1)
    results.attrs["site_toml"] = f'{head}\n\n[picture]\npath = "a.png"\ncrs = "site"\nfade = 0.5\n\n{rest}'
    grey = np.full((90, 160), 255, dtype=np.uint8)
    grey[:, :80] = 0
    results["picture"] = (("picture_row", "picture_column"), grey, {"affine": [1.0, 0.0, -9.5, 0.0, -1.0, 79.5]})
    return describe(results)


def test_greys_are_lifted():
    """To [fade, 1]: catches a picture that drowns labels."""
    ground = plan_data(with_picture()).ground
    assert (ground.grey.min(), ground.grey.max()) == (128, 255)
    assert plan_data(invented_results.yard()).ground is None


def test_it_lies_where_the_site_lies():
    """A pixel's place on the page is that of its metres; catches a picture upside down, or off by the plan's margin."""
    results = with_picture()
    figure = plot_plan(results)
    image = next(child for child in figure.axes[0].get_children() if isinstance(child, AxesImage))
    limits = figure.axes[0].get_xlim(), figure.axes[0].get_ylim()
    assert limits[0] == (0.0, 180.0)
    assert limits[1][0] > limits[1][1] == 0.0
    to_page = image.get_transform() - figure.axes[0].transData
    west, east = to_page.transform([(9.5, 79.5), (149.5, 79.5)])  # x = 0 and x = 140 at y = 0
    north = to_page.transform([(9.5, 9.5)])[0]  # y = 70
    assert abs(west[1] - east[1]) < 1e-9
    scale = (east[0] - west[0]) / 140.0
    assert abs((west[1] - north[1]) / 70.0 - scale) < 1e-9
    # Clipped 2 mm inside the plan's box, whatever the picture reaches.
    box = image.get_clip_box().transformed(figure.axes[0].transData.inverted())
    assert box.x0 >= 4.0 + 2.0
    assert box.x1 <= 4.0 + 84.0
    assert len(Results.of(results)["picture"]) == 90


def test_only_the_key_plan_has_it():
    """Under the plans by class it would drown the pale steps."""
    figure = plot_plan(with_picture())
    assert sum(isinstance(child, AxesImage) for child in figure.axes[0].get_children()) == 1

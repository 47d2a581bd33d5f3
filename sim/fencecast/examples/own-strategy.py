"""A layout strategy of one's own, for `fencecast study`: two cameras on every mounting place that is a line, back to back.

`fencecast example own-strategy` writes it as own_strategy.py (a module's name has no hyphen). In the study file, where it lies in
the folder that you stand in:

    strategies = ["chain", "own_strategy:middle_masts"]

A strategy is a function

    strategy(site, kit, requirement, *, lens, weather, stretch, seed, threads) -> cameras

site: the yard without cameras (`site.perimeter`, `site.obstacle`, `site.mounting`); kit: what may be used (`kit.choices`: sensor
with lens and its price; `kit.camera_cost(choice, mounting_price)`; `kit.priced`); requirement: `requirement.pd`. Options come by
name: lens, the lens of this piece; weather, what layouts are made for; stretch, how much wider than usual masts may stand: the
study asks for many and takes the one that uses most of what is allowed; seed; threads. Take `**options` for those you do not use.

cameras: `Camera` objects, or dictionaries with the keys of `[[camera]]`. Each has a mark of its own, stands within 0.25 m of a
`[[mounting]]` place at one of its heights, or on the face of an obstacle below its roof, and has a price where the study is at
equal cost. Raise `fencecast.UsageError` where the strategy has no layout: the study says so and goes on without it.
"""

import math

from fencecast import UsageError


def middle_masts(site, kit, requirement, *, lens, stretch=1.0, **options):
    """Masts along every mounting line, 40 m times stretch apart at most, each with two cameras that look along the line."""
    choice = next(choice for choice in kit.choices if choice.lens == lens)
    cameras = []
    for mounting in site.mounting:
        if len(mounting.points_m) != 2:
            continue
        (x0, y0), (x1, y1) = mounting.points_m
        length = math.dist((x0, y0), (x1, y1))
        along = math.degrees(math.atan2(x1 - x0, y1 - y0)) % 360.0
        count = max(1, math.ceil(length / (40.0 * stretch)))
        for k in range(count):
            share = (k + 0.5) / count
            for bearing in (along, (along + 180.0) % 360.0):
                camera = {
                    "mark": f"S{len(cameras) + 1}",
                    "position_m": (x0 + share * (x1 - x0), y0 + share * (y1 - y0)),
                    "height_m": mounting.heights_m[0],
                    "bearing_deg": bearing,
                    "depression_deg": 12.0,
                    "sensor": choice.sensor,
                    "lens": choice.lens,
                }
                if kit.priced:
                    camera["price"] = kit.camera_cost(choice, mounting.price)
                cameras.append(camera)
    if not cameras:
        raise UsageError("no mounting place of this yard is a line between two points")
    return cameras

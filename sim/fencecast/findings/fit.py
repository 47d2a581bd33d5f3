"""What `from-map --fit` says: where a file was placed, and how well its points agree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fencecast.findings.blocks import LEFT, RIGHT, Block, Line, Table

if TYPE_CHECKING:
    from fencecast.maps.fit import Fitted


def fit_object(fitted: Fitted, file: str) -> dict[str, Any]:
    """The fit as the JSON object of `from-map --fit --json`."""
    return {
        "file": file,
        "map": {
            "latitude": fitted.grid.latitude,
            "longitude": fitted.grid.longitude,
            "grid_north_deg": fitted.grid.grid_north_deg,
        },
        "scale": fitted.scale,
        "points": [{"name": name, "residual_m": residual} for name, residual in fitted.residuals],
        "unknown": list(fitted.unknown),
        "place": fitted.place,
    }


def fit_blocks(said: dict[str, Any]) -> list[Block]:
    """The same for a terminal."""
    rows = [[point["name"], f"{point['residual_m']:.2f} m"] for point in said["points"]]
    blocks: list[Block] = [
        Line(f"{len(rows)} points, scale {said['scale']:.4f}; +y is {said['map']['grid_north_deg']:.2f} degrees from true north"),
        Table.of([("point", LEFT), ("off by", RIGHT)], rows),
    ]
    if said["unknown"]:
        blocks.append(Line(f"Not named like anything in the file: {', '.join(said['unknown'])}"))
    blocks.append(Line(f"x = 0, y = 0 lies at {said['place']}. Is that the place?", apart=True))
    blocks.append(Line(f"Written  {said['file']}"))
    return blocks

"""One camera, one person, one weather class, everything at its median: a look that a reviewer can check by hand."""

from fencecast.onelook.explanation import explain
from fencecast.onelook.frames import ViewFrame, view

__all__ = ["ViewFrame", "explain", "view"]

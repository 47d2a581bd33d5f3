"""SVG read back by itself: what a surface wrote, as shapes and texts in millimetres. Shares no code with the product.

A subpath is a list of corners (x, y); a shape is (fill or stroke, kind, corners). Steps in one direction are joined, as both
surfaces may cut a straight line differently.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass

TOKEN = re.compile(r"[MmLlHhVvZz]|-?(?:\d+\.?\d*|\.\d+)")
TOLERANCE_MM = 0.0101  # coordinates are hundredths: two rounded ends of one length are off by less than one


@dataclass(frozen=True)
class Mark:
    """One shape or text: what it is, its attributes, and its corners."""

    kind: str
    attributes: dict[str, str]
    corners: tuple[tuple[float, float], ...]
    text: str = ""


def tree(svg: str) -> ElementTree.Element:
    """The element, read by a strict reader: fails unless it is well formed."""
    return ElementTree.fromstring(svg)


def elements(svg: str) -> list[ElementTree.Element]:
    """Every element that is drawn, in the order of drawing; what stands in `defs` is not."""
    found = []

    def walk(node):
        for child in node:
            if child.tag != "defs":
                found.append(child)
                walk(child)

    walk(tree(svg))
    return found


def subpaths(d: str) -> list[list[tuple[float, float]]]:
    """The subpaths of path data, each without a repeated last corner."""
    tokens, i, at, command = TOKEN.findall(d), 0, (0.0, 0.0), ""
    assert "".join(tokens) == d.replace(" ", ""), f"not path data: {d[:80]}"
    found: list[list[tuple[float, float]]] = []

    def take():
        nonlocal i
        i += 1
        return float(tokens[i - 1])

    while i < len(tokens):
        if tokens[i].isalpha():
            command, i = tokens[i], i + 1
        relative, x, y = command.islower(), *at
        if command in "zZ":
            at = found[-1][0]
            continue
        if command in "hH":
            at = (take() + (x if relative else 0.0), y)
        elif command in "vV":
            at = (x, take() + (y if relative else 0.0))
        else:
            at = (take() + (x if relative else 0.0), take() + (y if relative else 0.0))
        if command in "mM":
            found.append([at])
        else:
            found[-1].append(at)
    return [straight(points) for points in found]


def straight(points) -> list[tuple[float, float]]:
    """Corners without those in the middle of a level or upright line, and without repeated ones."""
    kept: list[tuple[float, float]] = []
    for x, y in points:
        if kept and abs(kept[-1][0] - x) < 0.004 and abs(kept[-1][1] - y) < 0.004:
            continue
        if len(kept) > 1:
            (a, b), (c, d) = kept[-2:]
            level = abs(b - d) < 0.004 and abs(d - y) < 0.004 and (c - a) * (x - c) > 0
            upright = abs(a - c) < 0.004 and abs(c - x) < 0.004 and (d - b) * (y - d) > 0
            if level or upright:
                kept.pop()
        kept.append((float(x), float(y)))
    return kept


def marks(svg: str) -> list[Mark]:
    """Everything drawn, one mark a subpath, in the order of drawing."""
    found = []
    for node in elements(svg):
        a = dict(node.attrib)
        if node.tag == "path":
            found += [Mark("path", a, tuple(points)) for points in subpaths(a.get("d", ""))]
        elif node.tag == "circle":
            found.append(Mark("circle", a, ((float(a.get("cx", 0)), float(a.get("cy", 0))),)))
        elif node.tag == "text":
            found.append(Mark("text", a, ((float(a["x"]), float(a["y"])),), "".join(node.itertext())))
    return found


def words(svg: str) -> list[str]:
    """Texts and labels, as a reader has them."""
    root = tree(svg)
    return [root.attrib.get("aria-label", ""), *("".join(node.itertext()) for node in root.iter("text"))]


def unmatched(some, others, tolerance=TOLERANCE_MM):
    """Corner lists of each that have no partner in the other."""
    rest, alone = [normal(c) for c in others], []
    for corners in (normal(c) for c in some):
        partner = next((k for k, other in enumerate(rest) if near(corners, other, tolerance)), None)
        if partner is None:
            alone.append(corners)
        else:
            rest.pop(partner)
    return alone, rest


def normal(corners):
    """Corners sorted: polygons and lines have few of them, and two with the same corners are the same here."""
    return sorted((round(float(x), 4), round(float(y), 4)) for x, y in corners)


def near(some, others, tolerance) -> bool:
    """Whether two sets of corners are the same within a tolerance (sorting may differ by it)."""
    if len(some) != len(others):
        return False
    rest = list(others)
    for x, y in some:
        k = next((k for k, (u, v) in enumerate(rest) if abs(u - x) <= tolerance and abs(v - y) <= tolerance), None)
        if k is None:
            return False
        rest.pop(k)
    return True

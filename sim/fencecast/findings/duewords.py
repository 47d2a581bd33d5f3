"""What a place's misses are due to, in words: by what was lifted when its crossings were asked again."""

from __future__ import annotations

from fencecast.estimate.lift import Due
from fencecast.findings.words import listed, pd_text

LOW = {"crouch", "crawl", "flat crawl"}
_MOVING = {
    "walk": "walking",
    "run": "running",
    "crouch": "stooping",
    "crawl": "crawling",
    "flat crawl": "crawling flat",
}
_TAKEN = {
    "fog": "the fog takes it",
    "haze": "the haze takes it",
    "clutter": "it drowns in the clutter of the ground",
    "threshold": "it stays below a high threshold",
    "sensor noise": "it drowns in the sensor's noise",
    "wet clothing": "wet clothing is hardly warmer than the ground",
    "crossover": "ground and clothing are about as warm as each other",
}
_WITHOUT = {
    "fog": "without fog",
    "haze": "without haze",
    "clutter": "at 0.1 K of clutter",
    "threshold": "at 5 sigma",
    "sensor noise": "at 50 mK",
    "wet clothing": "dry",
    "crossover": "3 K apart",
    "front window": "with a clean window",
    "looks wanted": "with one look",
    "mounting errors": "without them",
}


def moving(what: str) -> str:
    """`crawling`, `crawling and crawling flat`: the gaits of a `Due`."""
    return listed([_MOVING[gait] for gait in what.split(" and ")])


def pd_without(due: Due) -> str:
    """`without fog Pd 0.95`; '' where nothing short can be said."""
    low = due.gaits and set(due.what.split(" and ")) <= LOW
    way = "upright" if low else _WITHOUT.get(due.what, "otherwise" if due.gaits else "without it")
    return f"{way} Pd {pd_text(due.pd)}"


def taken_words(due: Due | None, falling: str, window: str) -> str:
    """Why too little contrast is left. falling: what falls in that class ("rain"); window: what is on it ("drops")."""
    if due is None:
        return "several things together, none of which explains it alone"
    if due.gaits:
        return f"from people {moving(due.what)}, {pd_without(due)}"
    if due.what.startswith("fence: "):
        return f"the barrier of {due.what.removeprefix('fence: ')} thins it, {pd_without(due)}"
    taken = {
        **_TAKEN,
        "precipitation": f"the {falling} in the air takes it",
        "front window": f"{window} on the front window take it"
        if window == "drops"
        else f"{window} on the front window takes it",
    }[due.what]
    without = f"without {falling} Pd {pd_text(due.pd)}" if due.what == "precipitation" else pd_without(due)
    return f"{taken}, {without}"

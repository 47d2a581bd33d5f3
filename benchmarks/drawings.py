"""`fencecast from-map` on 10,000 mutated drawings (no traceback), and what large drawings cost: time and memory of being refused.

python benchmarks/drawings.py [COUNT]
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from fencecast.errors import FencecastError  # noqa: E402
from fencecast.maps.asked import Asked
from fencecast.maps.frommap import make_site  # noqa: E402
from maps.drawn import geojson, kmz  # noqa: E402
from maps.mutations import outcome  # noqa: E402


def refused(name: str, path: Path) -> None:
    start = time.perf_counter()
    try:
        make_site([str(path)], Asked())
        said = "taken"
    except FencecastError as error:
        said = str(error)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{name:28} {time.perf_counter() - start:6.2f} s  peak {memory:5.0f} MB  {said}")


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        big = home / "big.geojson"
        with big.open("wb") as file:
            file.truncate(300_000_000)
        refused("300 MB", big)
        points = ",".join(f"[6.41,{54.0 + k * 1e-8:.8f}]" for k in range(1_000_000))
        (home / "many.geojson").write_text('{"type":"LineString","coordinates":[' + points + "]}")
        refused("1e6 points", home / "many.geojson")
        (home / "bomb.kmz").write_bytes(kmz(b"<kml>" + b" " * 200_000_000 + b"</kml>"))
        refused("archive that unpacks to 200 MB", home / "bomb.kmz")
        (home / "empty.geojson").write_bytes(geojson())
        start = time.perf_counter()
        seen: Counter[str] = Counter()
        for number in range(count):
            seen[outcome(number, home)] += 1
        seconds = time.perf_counter() - start
        print(f"{count:,} mutated drawings: {dict(seen)}, {1e3 * seconds / count:.1f} ms each, no traceback")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)

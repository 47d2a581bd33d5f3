"""Speed, start-up and memory of the main job, as one table. See README.md beside this file.

Every figure comes from fresh processes (the same kernel was seen to vary by a quarter between processes); each child process
builds its inputs first, times only the work, and prints one JSON line.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

DEMO = Path(__file__).parents[1] / "configs" / "estuary-yard.toml"


# ------------------------------------------------------------------------------------------------ what a child process does


def child_looks(threads: int, points: int) -> dict:
    """Looks per second of the whole pipeline over all cells of the demo, compiled beforehand."""
    import numpy as np

    from fencecast import load_site
    from fencecast.estimate.simulate import advance, new_tally
    from fencecast.job import warm_up
    from fencecast.kernels.pack import pack_cells, pack_plan

    site = load_site(DEMO)
    plan, cells = pack_plan(site), pack_cells(site, 1)
    every = np.arange(len(cells.weather))
    warm_up(plan, cells)
    tally = new_tally(len(every), len(site.camera))
    advance(plan, cells, tally, every, 1, threads)
    before = tally.looks
    wall, cpu = time.perf_counter(), time.process_time()
    advance(plan, cells, tally, every, points, threads)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    return {"looks_per_s": (tally.looks - before) / wall, "cpu_per_wall": cpu / wall}


def child_precise(threads: int, precision: float) -> dict:
    """Seconds until every cell of the demo has the half width, and the whole of run() beside it."""
    from fencecast import load_site, run
    from fencecast.estimate.simulate import simulate
    from fencecast.job import warm_up
    from fencecast.kernels.pack import pack_cells, pack_plan, watched_sections

    site = load_site(DEMO)
    plan, cells = pack_plan(site), pack_cells(site, 1)
    warm_up(plan, cells)
    active = watched_sections(site)[cells.section]
    wall = time.perf_counter()
    tally = simulate(plan, cells, active, precision, 0.95, threads=threads)
    cells_s = time.perf_counter() - wall
    wall = time.perf_counter()
    run(site, precision=precision, threads=threads)
    return {"cells_s": cells_s, "run_s": time.perf_counter() - wall, "crossings": int(tally.crossings.sum())}


def child_memory(crossings: int) -> dict:
    """Peak resident memory of the process after simulating this many crossings of one cell."""
    import numpy as np

    from fencecast import load_site
    from fencecast.estimate.simulate import REPLICATES, advance, new_tally
    from fencecast.job import warm_up
    from fencecast.kernels.pack import pack_cells, pack_plan

    site = load_site(DEMO)
    plan, cells = pack_plan(site), pack_cells(site, 1)
    warm_up(plan, cells)
    tally = new_tally(len(cells.weather), len(site.camera))
    wall = time.perf_counter()
    advance(plan, cells, tally, np.zeros(1, dtype=np.int64), crossings // REPLICATES, 1)
    return {"seconds": time.perf_counter() - wall, "mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024}


CHILDREN = {"looks": child_looks, "precise": child_precise, "memory": child_memory}


# ------------------------------------------------------------------------------------------------ what the parent does


def in_child(name: str, *arguments: float) -> dict:
    """Run one measurement in a fresh process."""
    words = [sys.executable, __file__, "--child", name, *map(str, arguments)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    return json.loads(done.stdout.splitlines()[-1])


def medians(runs: int, name: str, *arguments: float) -> dict:
    """The median of each figure over fresh processes."""
    results = [in_child(name, *arguments) for _ in range(runs)]
    return {key: statistics.median(result[key] for result in results) for key in results[0]}


def command_seconds(runs: int, *words: str, env: dict | None = None, folder: str | None = None) -> float:
    """Median wall seconds of a whole command."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        subprocess.run(words, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=env, cwd=folder)
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def processor() -> str:
    """The processor's name, from the system where it tells."""
    try:
        lines = Path("/proc/cpuinfo").read_text().splitlines()
        return next(line.split(":", 1)[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or platform.machine()


def rows(smoke: bool):
    """(quantity, value, target) of every line of the table, measured as it goes."""
    runs = 1 if smoke else 5
    points = 2 if smoke else 33
    one = medians(runs, "looks", 1, points)
    two = medians(runs, "looks", 2, points)
    yield "looks a second, 1 thread", f"{one['looks_per_s'] / 1e6:.2f} M (cpu/wall {one['cpu_per_wall']:.2f})", ""
    yield "looks a second, 2 threads", f"{two['looks_per_s'] / 1e6:.2f} M (cpu/wall {two['cpu_per_wall']:.2f})", "1.9 M"
    yield "second core", f"{two['looks_per_s'] / one['looks_per_s']:.2f} times", "1.8 times"
    precise = medians(1 if smoke else 3, "precise", 2, 0.1 if smoke else 0.02)
    target = "" if smoke else "10 s"
    yield "every cell of the demo precise", f"{precise['cells_s']:.1f} s ({precise['crossings']:,.0f} crossings)", target
    yield "whole of run(), curves and fresh runs included", f"{precise['run_s']:.1f} s", ""
    for crossings in (1_000, 10_000) if smoke else (1_000, 10_000, 100_000):
        memory = medians(1, "memory", crossings)
        yield f"{crossings:,} crossings of one cell", f"{memory['seconds']:.2f} s, {memory['mib']:.0f} MiB peak", "500 MB"
    program = [sys.executable, "-m", "fencecast"]
    yield "fencecast --help", f"{command_seconds(2 if smoke else 7, *program, '--help'):.2f} s", "0.2 s"
    with tempfile.TemporaryDirectory() as folder:
        site = DEMO.with_name("one-camera.toml")
        job = [*program, "run", str(site), "--no-pictures", "--precision", "0.1", "--force"]
        cold = os.environ | {"FENCECAST_CACHE": str(Path(folder) / "cache")}
        yield "first run on a new machine (compiling)", f"{command_seconds(1, *job, env=cold, folder=folder):.1f} s", "45 s"
        yield "later runs, start to end", f"{command_seconds(runs, *job, env=cold, folder=folder):.1f} s", "4 s and simulation"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="everything once and small, to see that it works")
    parser.add_argument("--child", nargs="+", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        name, *arguments = options.child
        print(json.dumps(CHILDREN[name](*(float(a) if "." in a else int(a) for a in arguments))))
        return
    print(f"{processor()}, {os.cpu_count()} processors, Python {platform.python_version()}")
    print("smoke run: figures mean nothing" if options.smoke else "medians over fresh processes")
    print(f"{'quantity':50} {'measured':42} target")
    for quantity, value, target in rows(options.smoke):
        print(f"{quantity:50} {value:42} {target}", flush=True)


if __name__ == "__main__":
    main()

"""The product's look against what one would otherwise use, and against the processor, as one table. See README.md beside this.

Every rival gets the same looks of the demo and one thread; every figure comes from fresh processes, which build their inputs,
warm up or compile, check that they agree with the product, and only then start the clock. Ratios are of medians of one run.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import platform
import statistics
import subprocess
import sys
import time

from speed import processor

ONE_THREAD = {
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "XLA_FLAGS": "--xla_cpu_multi_thread_eigen=false",
    "JAX_PLATFORMS": "cpu",
}
AGREE = 1e-4
# Pixels a batch: NumPy's temporaries then stay in the second cache (of 2,000 to 64,000 the fastest or as fast as any).
NUMPY_BATCH_PIXELS = 16_000
# The renderer draws at its default accuracy, which is what somebody would use.
RENDERER_AGREES = 1e-3


# ------------------------------------------------------------------------------------------------ what a child process does


def looks_per_s(work, looks: int, seconds: float) -> dict:
    """Calls of `work`, each `looks` looks, for at least `seconds`: the rate, and processor time beside it."""
    work()
    calls, wall, cpu = 0, time.perf_counter(), time.process_time()
    while time.perf_counter() - wall < seconds:
        work()
        calls += 1
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    return {"looks_per_s": calls * looks / wall, "cpu_per_wall": cpu / wall}


def product(looks):
    """What the kernel finds, (looks, 4)."""
    import numpy as np

    from fencecast.kernels.work import aligned_pixels
    from looks import draw_all

    out = np.zeros((len(looks.focal_px), 4))
    draw_all(aligned_pixels(), looks, 1, out)
    return out


def assert_agreement(looks, theirs) -> float:
    """Seen share, perfect share and P_look within AGREE of the kernel's; the worst difference.

    A pixel whose covered share is 0.01 to the last digit may fall either way, one in a look, in at most one look of 200.
    """
    import numpy as np

    ours = product(looks)
    sides = np.maximum(looks.edges[:, :-1, 1::2] - looks.edges[:, :-1, 0::2], 0.0)
    whole = (np.abs(looks.contrast) * sides.prod(axis=2)).sum(axis=1)
    difference = np.abs(theirs - ours) / np.stack([whole, whole, np.ones_like(whole), np.ones_like(whole)], axis=1)
    other_way = difference[:, 2] > 0.5
    assert difference[:, 2].max() < 1.5 and other_way.mean() <= 0.005, "pixels in view differ"
    worst = float(difference[:, [0, 1, 3]].max())
    assert worst < AGREE, f"the rival differs from the kernel by {worst:.1e}"
    return worst


def child_kernel(count: int, seconds: float) -> dict:
    """The product's compiled look, and how many pixels a look has."""
    import numpy as np

    from fencecast.kernels.work import aligned_pixels
    from looks import demo_looks, draw_all

    looks = demo_looks(count)
    scratch, out = aligned_pixels(), np.zeros((count, 4))
    found = looks_per_s(lambda: draw_all(scratch, looks, 10, out), 10 * count, seconds)
    unsure = float(((out[:, 3] > 0.01) & (out[:, 3] < 0.99)).mean())
    return found | {"pixels": float(looks.pixels.mean()), "unsure": unsure}


def child_numpy(count: int, seconds: float, bits: int) -> dict:
    """The same look in NumPy."""
    import numpy as np
    from scipy.special import ndtr

    from looks import demo_looks
    from rivals import batches, look_at_batch

    looks = demo_looks(count)
    kind = np.float64 if bits == 64 else np.float32
    threshold, cut = kind(looks.threshold), batches(looks, kind, NUMPY_BATCH_PIXELS)
    theirs = np.zeros((count, 4))
    for batch in cut:
        found = look_at_batch(np, ndtr, batch, threshold)
        assert found[0].dtype == kind
        theirs[batch.index] = np.stack(found, axis=1)
    worst = assert_agreement(looks, theirs)

    def work():
        for batch in cut:
            look_at_batch(np, ndtr, batch, threshold)

    return looks_per_s(work, count, seconds) | {"worst": worst}


def child_jax(count: int, seconds: float) -> dict:
    """The same look in JAX, compiled for every shape beforehand."""
    import jax
    import numpy as np
    from jax.scipy.special import ndtr

    from looks import demo_looks
    from rivals import COARSE, batches, look_at_batch

    looks = demo_looks(count)
    threshold = np.float32(looks.threshold)
    look = jax.jit(lambda batch: look_at_batch(jax.numpy, ndtr, batch, threshold))
    cut = batches(looks, np.float32, 1e9, COARSE)
    theirs = np.zeros((count, 4))
    for batch in cut:
        theirs[batch.index] = np.stack(look(batch._replace(index=None)), axis=1)
    worst = assert_agreement(looks, theirs)
    padded = sum(len(b.index) * (b.u.shape[1] - 1) * (b.v.shape[1] - 1) for b in cut) / looks.pixels.sum()
    on_device = [jax.device_put(batch._replace(index=None)) for batch in cut]

    def work():
        jax.block_until_ready([look(batch) for batch in on_device])

    return looks_per_s(work, count, seconds) | {"worst": worst, "padded": float(padded), "shapes": len(cut)}


def child_renderer(count: int, seconds: float, joined: int) -> dict:
    """The bodies drawn by the image library: no noise, no threshold, no sums; profiles are built before the clock starts."""
    import numpy as np
    from scipy.special import ndtr

    from looks import demo_looks
    from rivals import batches, draw_batch, render, renderer_profiles

    looks = demo_looks(count)
    profiles = renderer_profiles(looks, np.arange(count), bool(joined))
    render(profiles)
    worst = 0.0
    for batch in batches(looks, np.float64, NUMPY_BATCH_PIXELS):
        for k, ours in zip(batch.index, draw_batch(np, ndtr, batch)[0]):
            theirs = sum(image.array for _, image in profiles[k])
            ours = ours[: theirs.shape[0], : theirs.shape[1]]
            worst = max(worst, float(np.abs(ours - theirs).max() / np.abs(ours).max()))
    assert worst < RENDERER_AGREES, f"the renderer's picture differs by {worst:.1e} of the peak"
    return looks_per_s(lambda: render(profiles), count, seconds) | {"worst": worst}


def child_limits(seconds: float) -> dict:
    """The processor's limits and the pixel loop alone."""
    from limits import limits

    return limits(seconds)


CHILDREN = {
    "kernel": child_kernel,
    "numpy": child_numpy,
    "jax": child_jax,
    "renderer": child_renderer,
    "limits": child_limits,
}


# ------------------------------------------------------------------------------------------------ what the parent does


def medians(runs: int, name: str, *arguments: float) -> dict:
    """The median of each figure over fresh processes."""
    words = [sys.executable, __file__, "--child", name, *map(str, arguments)]
    found = []
    for _ in range(runs):
        done = subprocess.run(words, stdout=subprocess.PIPE, text=True, check=True, env=os.environ | ONE_THREAD)
        found.append(json.loads(done.stdout.splitlines()[-1]))
    return {key: statistics.median(each[key] for each in found) for key in found[0]}


def rate(found: dict) -> str:
    return f"{found['looks_per_s']:,.0f} looks/s (cpu/wall {found['cpu_per_wall']:.2f})"


def rows(smoke: bool):
    """(quantity, value, the kernel's ratio to it, target) of every line, measured as it goes."""
    runs, seconds = (1, 0.1) if smoke else (5, 2.0)
    count = 200 if smoke else 2000
    kernel = medians(runs, "kernel", count, seconds)
    speed = kernel["looks_per_s"]
    yield "the product's compiled look", rate(kernel), "", ""
    yield "  its looks", f"{kernel['pixels']:.0f} pixels on average, {kernel['unsure']:.0%} with P between 0.01 and 0.99", "", ""
    for bits, target in ((64, "30"), (32, "")):
        found = medians(runs, "numpy", count, seconds, bits)
        yield f"NumPy, vectorised, float{bits}", rate(found), f"{speed / found['looks_per_s']:.1f}", target
        yield "  worst difference from the kernel", f"{found['worst']:.1e} (allowed {AGREE:.0e})", "", ""
    for joined, how in ((0, "part by part"), (1, "parts joined")):
        if not importlib.util.find_spec("galsim"):
            yield f"GalSim, drawing alone, {how}", "not installed", "", "3,000"
            continue
        found = medians(runs, "renderer", 40 if smoke else 400, seconds, joined)
        yield f"GalSim, drawing alone, {how}", rate(found), f"{speed / found['looks_per_s']:,.0f}", "3,000"
        yield "  worst difference of pictures", f"{found['worst']:.1e} of the peak (allowed {RENDERER_AGREES:.0e})", "", ""
    if importlib.util.find_spec("jax"):
        found = medians(1 if smoke else 3, "jax", 20 if smoke else count, seconds)
        yield "JAX on the CPU, float32", rate(found), f"{speed / found['looks_per_s']:.1f}", "20"
        padding = f"{found['shapes']:.0f} shapes, {found['padded']:.2f} times the pixels"
        yield "  worst difference from the kernel", f"{found['worst']:.1e} (allowed {AGREE:.0e}); {padding}", "", ""
    else:
        yield "JAX on the CPU, float32", "not installed", "", "20"
    yield from limit_rows(medians(runs, "limits", seconds / 2), speed * kernel["pixels"])


def limit_rows(found: dict, pixels_per_s: float):
    """Lines of the processor's limits: `pixels_per_s` useful pixels of the whole look."""
    from limits import PER_PIXEL

    peak = found["multiply_adds"]
    issue_ns, divider_ns = 1e9 * PER_PIXEL / peak, 1e9 * (1.0 / found["divisions"] + 1.0 / found["roots"])
    bound = "the issue of multiply-adds" if issue_ns > divider_ns else "the divider and the square root"
    yield "peak of multiply-adds, float32", f"{peak / 1e9:.1f} G/s", "", ""
    yield "  the pixel loop alone", f"{found['pixels'] * PER_PIXEL / peak:.0%} of the peak", "", "45 %"
    yield "  the whole look, useful pixels only", f"{pixels_per_s * PER_PIXEL / peak:.0%} of the peak", "", ""
    yield "one pixel, counted by hand", f"{PER_PIXEL:g} multiply-adds, a division, a root", "", ""
    yield "  least time for multiply-adds", f"{issue_ns:.2f} ns", "", ""
    yield "  least time for division and root", f"{divider_ns:.2f} ns", "", ""
    yield "  time in the pixel loop", f"{1e9 / found['pixels']:.2f} ns; its nearest bound is {bound}", "", ""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--smoke", action="store_true", help="everything once and small, to see that it works")
    parser.add_argument("--child", nargs="+", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        if hasattr(os, "sched_setaffinity"):  # some libraries start as many threads as they see processors
            os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
        name, *arguments = options.child
        print(json.dumps(CHILDREN[name](*(float(a) if "." in a else int(a) for a in arguments))))
        return
    print(f"{processor()}, {os.cpu_count()} processors, Python {platform.python_version()}, one thread each")
    print("smoke run: figures mean nothing" if options.smoke else "medians over fresh processes")
    print(f"{'quantity':38} {'measured':70} {'ratio':>7} target")
    for quantity, value, ratio, target in rows(options.smoke):
        print(f"{quantity:38} {value:70} {ratio:>7} {target}", flush=True)


if __name__ == "__main__":
    main()

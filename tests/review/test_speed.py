"""A review answers at once: processor time, so that a busy machine does not fail it."""

import os
import subprocess
import sys
import time

import fencecast as fc
from review.yards import CONFIGS, large


def test_forty_cameras_on_a_kilometre_take_less_than_three_seconds():
    """Catches: every camera asked at every place (23 s), a loop in Python over places. Measured when it was written: 1.0 s."""
    site = large()
    assert len(site.camera) == 40
    start = time.process_time()
    found = fc.check(site)
    assert time.process_time() - start < 3.0
    assert len(found.cover.places) == 2000


def test_the_command_compiles_nothing(tmp_path):
    """Catches: a compiled function on the way: a cold cache would cost a minute. Nothing is written into the cache."""
    cache = tmp_path / "cache"
    environment = os.environ | {"FENCECAST_CACHE": str(cache)}
    words = [sys.executable, "-m", "fencecast", "check", str(CONFIGS / "estuary-yard.toml"), "--json"]
    ended = subprocess.run(words, capture_output=True, text=True, env=environment, timeout=120)
    assert ended.returncode == 0 and '"under-mast"' in ended.stdout
    assert [path for path in cache.rglob("*") if path.suffix in (".nbi", ".nbc")] == []

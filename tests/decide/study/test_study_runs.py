"""A study that is killed, resumed, spread over processes or over a cluster gives the same file to the last bit."""

import multiprocessing
import os
import random
import shutil
import signal
import time
from pathlib import Path

import pytest

import fencecast.decide.study.pieces as pieces_module
from decide.study.study_files import tables, tiny
from fencecast.decide.study.running import PIECES, run_study
from fencecast.errors import UsageError
from fencecast.estimate.store import save_results

STUDY = {"yards": {**tables()["yards"], "count": 4}, "strategies": ["chain", "corner pairs", "back to back"]}


def file_of(results, folder: Path) -> bytes:
    save_results(results, folder / "study.nc")
    return (folder / "study.nc").read_bytes()


@pytest.fixture(scope="module")
def uninterrupted(tmp_path_factory):
    """The study in one process, in one go: its file, its folder, and how long a piece took [s]."""
    folder, times = tmp_path_factory.mktemp("whole"), []
    results = run_study(tiny(**STUDY), folder, workers=1, progress=lambda *_: times.append(time.perf_counter()))
    return file_of(results, folder), folder, (times[-1] - times[3]) / (len(times) - 4)  # the first ones load and compile


def dies_in(folder: Path, how) -> bool:
    """Run the study in a child that ends by kill -9; True when it did (False when it was done before)."""
    child = os.fork()
    if child == 0:  # in the child nothing may return into the test
        try:
            how.begin() if hasattr(how, "begin") else None
            run_study(tiny(**STUDY), folder, workers=1)
        finally:
            os._exit(0)
    if isinstance(how, float):
        time.sleep(how)
        os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    return os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL


class WhileWriting:
    """Kills the process at its next piece: half of the text written, or all of it and not yet renamed."""

    def __init__(self, half: bool):
        self.half = half

    def begin(self) -> None:
        def die(part, *_):
            if self.half:
                text = Path(part).read_bytes()
                Path(part).write_bytes(text[: len(text) // 2])
            os.kill(os.getpid(), signal.SIGKILL)

        pieces_module.os = type("Os", (), {"replace": staticmethod(die)})


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and kill -9")
@pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")
def test_killed_at_ten_random_moments_and_resumed_it_is_the_same_to_the_last_bit(uninterrupted, tmp_path):
    """Catches: half a piece that is taken for a whole one, a piece that depends on what ran before it, files left behind."""
    wanted, _, piece_s = uninterrupted
    moments = random.Random(11)
    ends = [None] * 7 + [WhileWriting(True), WhileWriting(False), WhileWriting(True)]
    moments.shuffle(ends)
    killed, most = 0, 0
    for _ in range(30):
        how = ends[killed] or moments.uniform(0.0, 4.0 * piece_s)
        killed += dies_in(tmp_path, how)
        there = sorted((tmp_path / PIECES).glob("yard*.json"))
        most = max(most, len(there))
        if killed == 10:
            break
        if len(there) > 9:  # nearly done: take some away, so that every kill hits a study at work
            for path in there[:6]:
                path.unlink()
    assert killed == 10 and most > 2
    results = run_study(tiny(**STUDY), tmp_path, workers=1)
    assert file_of(results, tmp_path) == wanted
    assert {path.suffix for path in (tmp_path / PIECES).iterdir()} == {".json"}


def test_a_resumed_study_computes_only_what_is_missing(uninterrupted, tmp_path, monkeypatch):
    """Catches: a rerun that starts again; a damaged piece that is believed."""
    wanted, whole, _ = uninterrupted
    shutil.copytree(whole / PIECES, tmp_path / PIECES)
    kept = sorted((tmp_path / PIECES).iterdir())
    kept[0].unlink()
    kept[5].write_text(kept[5].read_text().replace("0.", "1.", 1))
    computed = []
    true = pieces_module.compute_piece
    monkeypatch.setattr("fencecast.decide.study.running.compute_piece", lambda inputs: computed.append(inputs) or true(inputs))
    assert file_of(run_study(tiny(**STUDY), tmp_path, workers=1), tmp_path) == wanted
    assert len(computed) == 2


def test_two_workers_of_a_cluster_agree_with_one_process(uninterrupted, tmp_path):
    """Catches: results that depend on who computed what, in which order; a client that starts processes beside the cluster."""
    from distributed import LocalCluster

    wanted, *_ = uninterrupted
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address="127.0.0.1:0") as cluster:
        before = len(multiprocessing.active_children())
        results = run_study(tiny(**STUDY), tmp_path, scheduler=cluster.scheduler_address)
        assert len(multiprocessing.active_children()) == before
    assert file_of(results, tmp_path) == wanted


def test_a_cluster_that_does_not_answer_and_numbers_that_cannot_be(tmp_path, monkeypatch):
    """Catches: a traceback of the network, or a wait without an end."""
    monkeypatch.setattr("fencecast.decide.study.running._CONNECT_S", 1.0)
    with pytest.raises(UsageError, match="no Dask scheduler answers at nonsense:1"):
        run_study(tiny(**STUDY), tmp_path, scheduler="nonsense:1")
    with pytest.raises(UsageError, match="workers 0 is not allowed"):
        run_study(tiny(**STUDY), tmp_path, workers=0)
    with pytest.raises(UsageError, match="leave one out"):
        run_study(tiny(**STUDY), tmp_path, workers=2, scheduler="tcp://127.0.0.1:8786")

"""Studies: every strategy with every lens on every yard, piece by piece, on as many processes as there are.

Pieces are computed anywhere and written here, each whole, by the one process that asked; results are put together from the
files in one order. So neither the workers nor interruptions change a bit.
"""

from __future__ import annotations

import logging
import os
import signal
import tempfile
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import xarray as xr

from fencecast.decide.study.file import Study, check_workers, load_study
from fencecast.decide.study.pieces import code_hash, compute_piece, piece_words, read_piece, study_pieces, write_piece
from fencecast.decide.study.results import study_results
from fencecast.errors import FencecastError, UsageError

PIECES = "pieces"
# How long a scheduler may take to answer [s].
_CONNECT_S = 10.0
# Workers may pause or end when memory is short; pieces are small, so that only gets in the way.
_MEMORY = {"distributed.worker.memory.terminate": False, "distributed.worker.memory.pause": False}
# Pieces that wait at the scheduler for each worker: enough that none is idle, few enough that an end comes soon.
_AHEAD = 4


def study(
    study: Study | str | os.PathLike[str],
    output: str | os.PathLike[str] | None = None,
    workers: int | None = None,
    scheduler: str = "",
    progress: Callable[[str, int, int], None] | None = None,
) -> xr.Dataset:
    """Strategies and lenses over many yards (`fencecast study`), from `load_study` or the path of a study file.

    output: the folder in which every piece is kept as soon as it is done, so that the same call goes on where it stopped;
    STEM-study where you stand for a path, a temporary one for a Study. The rest as in `run_study`.
    """
    if not isinstance(study, Study):
        output = f"{Path(study).stem}-study" if output is None else output
        study = load_study(study)
    if output is not None:
        return run_study(study, output, workers, scheduler, progress)
    with tempfile.TemporaryDirectory() as folder:
        return run_study(study, folder, workers, scheduler, progress)


def run_study(
    study: Study,
    folder: str | os.PathLike,
    workers: int | None = None,
    scheduler: str = "",
    progress: Callable[[str, int, int], None] | None = None,
) -> xr.Dataset:
    """Compute the pieces that `folder` does not hold yet, and put all together.

    workers: processes here, all processors when None; 1 computes in this process. scheduler: address of a Dask cluster instead.
    progress(stage, done, expected) in pieces. The Dataset is described by the attributes of its variables; it depends on the
    study and on the kind of processor alone. Raises UsageError for numbers out of range, a cluster that does not answer or runs
    another version, and whatever a user's own strategy raises.
    """
    check_workers(workers, scheduler)
    pieces = list(study_pieces(study))
    folder = Path(folder) / PIECES
    folder.mkdir(parents=True, exist_ok=True)
    missing = [(name, inputs) for name, inputs in pieces if read_piece(folder, name, inputs) is None]
    done = len(pieces) - len(missing)

    def report() -> None:
        if progress:
            progress("Simulating pieces", done, len(pieces))

    report()
    if missing:
        for (name, inputs), result in _computed(missing, workers or _processors(), scheduler):
            write_piece(folder, name, inputs, result)
            done += 1
            report()
    return study_results(study, [read_piece(folder, name, inputs) for name, inputs in pieces], code_hash())


def pieces_there(study: Study, folder: str | os.PathLike) -> tuple[int, int]:
    """How many pieces of the study a folder holds, and how many there are in all."""
    pieces = list(study_pieces(study))
    there = sum(read_piece(Path(folder) / PIECES, name, inputs) is not None for name, inputs in pieces)
    return there, len(pieces)


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _computed(missing: Sequence, workers: int, scheduler: str) -> Iterator:
    """Pairs of piece and result, in the order in which they are done."""
    if not scheduler:
        # The first one here: what has to be compiled is then in the cache, and is not compiled by every process.
        here, missing = (missing, []) if workers == 1 else (missing[:1], missing[1:])
        for piece in here:
            yield piece, compute_piece(piece[1])
        if not missing:
            return
    with _client(min(workers, len(missing)), scheduler) as client:
        from distributed import as_completed

        waiting = iter(missing)
        asked = {}

        def ask():
            piece = next(waiting, None)
            if piece is None:
                return None
            # No retries: a piece that ends a worker would end the next one. pure=False: the key is ours.
            future = client.submit(compute_piece, piece[1], key=piece[0], retries=0, pure=False)
            asked[future.key] = piece
            return future

        running = max(1, len(client.scheduler_info(n_workers=-1)["workers"])) * _AHEAD
        futures = as_completed([future for _ in range(running) if (future := ask()) is not None])
        for future in futures:
            piece = asked.pop(future.key)
            try:
                result = future.result()
            except FencecastError:
                raise
            except Exception as error:
                raise RuntimeError(f"{piece_words(piece[1])}: {type(error).__name__}: {error}") from error
            following = ask()
            if following is not None:
                futures.add(following)
            yield piece, result


class _client:
    """A Dask client on processes started here, or on the cluster at an address; everything started here ends with it."""

    def __init__(self, workers: int, scheduler: str):
        self.workers, self.scheduler = workers, scheduler

    def __enter__(self):
        import dask
        from distributed import Client, LocalCluster

        self._cluster = None
        logging.getLogger("distributed").setLevel(logging.CRITICAL)
        if self.scheduler:
            try:
                self._client = Client(self.scheduler, timeout=_CONNECT_S)
            except (OSError, ValueError) as error:
                raise UsageError(
                    f"no Dask scheduler answers at {self.scheduler}: {str(error).splitlines()[0]}; "
                    "type for instance --scheduler tcp://127.0.0.1:8786"
                ) from None
            return self._client
        with dask.config.set(_MEMORY), _workers_hear_no_interrupts():
            self._cluster = LocalCluster(
                n_workers=self.workers,
                threads_per_worker=1,
                processes=True,
                dashboard_address="127.0.0.1:0",  # any free port: 8787 may be another's
                silence_logs=logging.CRITICAL,
            )
        self._client = Client(self._cluster)
        return self._client

    def __exit__(self, *error) -> None:
        self._client.close()
        if self._cluster is not None:
            self._cluster.close()


@contextmanager
def _workers_hear_no_interrupts() -> Iterator[None]:
    """Processes started meanwhile ignore SIGINT, which a terminal sends to all of them: this one hears it and ends them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)

"""Running a sweep: on this machine's cores or on a cluster, taken up again after a stop."""

from __future__ import annotations

import re
from collections.abc import Callable, Generator, Sequence
from concurrent.futures import CancelledError, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from ringwright.answers.minimums import with_other_shapes
from ringwright.base.errors import BadInput
from ringwright.base.progress import Progress
from ringwright.base.version import program_version
from ringwright.base.workers import worker_count, worker_pool
from ringwright.outputs.sweep.journal import Journal
from ringwright.outputs.sweep.sweep import Row, Sweep, row, tightest_of_all
from ringwright.outputs.sweep.write_sweep import write_sweep
from ringwright.solver.tightest import known_tightest

Found = Generator[tuple[int, Row], None, None]
MOST_WORKERS = 256
_REACHED_WITHIN_S = 10
_ADDRESS = re.compile(
    r"(?:tcp|tls|ws|wss)://[^\s/:]+:[0-9]{1,5}|(?:tcp|tls)://\[[0-9a-fA-F:]+\]:\d+"
)


def run_sweep(
    sweep: Sweep,
    folder: Path,
    name: str,
    on_progress: Progress,
    on_note: Callable[[str], None],
    workers: int | None = None,
    scheduler: str | None = None,
    fresh: bool = False,
) -> tuple[tuple[Row, ...], dict[str, str]]:
    """Find out about every size and write table, data and plot.

    Finished sizes are kept in ``folder/name.sweep-part`` until the files are in place;
    the same question asked again goes on from there.

    Parameters
    ----------
    sweep : the question
    folder, name : the files are ``folder/name.csv`` and so on
    on_progress : called with (what, done, of)
    on_note : called with a sentence worth knowing
    workers : processes on this machine, one per core if None; with 0 all is done in this one
    scheduler : address of a Dask scheduler to use in place of this machine
    fresh : whether to throw away what an earlier run kept

    Returns
    -------
    rows, files : in the order of ``sweep.sizes``; kind (``csv`` ...) to path

    Raises
    ------
    BadInput
        When the rule or the files cannot be used, or workers cannot be reached or are lost.
    KeyboardInterrupt
        When stopped; the message says how many sizes are kept.
    """
    _check_where(workers, scheduler)
    total = len(sweep.sizes)
    part = Journal(folder / f"{name}.sweep-part", sweep, program_version(), fresh)
    with _quiet(), part as journal:
        if journal.rows:
            on_note(f"Going on with {len(journal.rows)} of {total} sizes kept in {journal.path}.")
        try:
            _find_missing(journal, on_progress, workers, scheduler)
            rows = tuple(journal.rows[index] for index in range(total))
            files = write_sweep(sweep, rows, folder, name)
        except KeyboardInterrupt:
            raise KeyboardInterrupt(f"Stopped; {_kept(journal)}.") from None
        except BrokenProcessPool as error:
            raise BadInput(
                "A worker process was stopped from outside, perhaps because memory ran out; "
                f"{_kept(journal)}; try fewer --workers."
            ) from error
        except _ClusterLost as error:
            raise BadInput(f"The cluster was lost ({error}); {_kept(journal)}.") from error
        journal.remove()
    return rows, files


def rows_of(
    sweep: Sweep, on_progress: Progress, workers: int | None = None, scheduler: str | None = None
) -> tuple[Row, ...]:
    """Find out about every size, and write nothing.

    Parameters and errors are those of :func:`run_sweep`.
    """
    _check_where(workers, scheduler)
    rows: dict[int, Row] = {}
    with _quiet():
        try:
            found = _found(sweep, range(len(sweep.sizes)), on_progress, workers, scheduler)
            with closing(found):
                for index, new in found:
                    rows[index] = new
                    on_progress("sizes", len(rows), len(sweep.sizes))
        except BrokenProcessPool as error:
            raise BadInput(
                "A worker process was stopped from outside, perhaps because memory ran out; try "
                "fewer --workers."
            ) from error
        except _ClusterLost as error:
            raise BadInput(f"The cluster was lost ({error}).") from error
    return tuple(rows[index] for index in range(len(sweep.sizes)))


def _found(
    sweep: Sweep,
    missing: Sequence[int],
    on_progress: Progress,
    workers: int | None,
    scheduler: str | None,
) -> Found:
    if scheduler:
        return _on_cluster(sweep, missing, scheduler)
    return _here(sweep, missing, workers, on_progress)


def _find_missing(
    journal: Journal, on_progress: Progress, workers: int | None, scheduler: str | None
) -> None:
    """Have every size in the journal."""
    sweep = journal.sweep
    missing = [index for index in range(len(sweep.sizes)) if index not in journal.rows]
    if not missing:
        return
    with closing(_found(sweep, missing, on_progress, workers, scheduler)) as found:
        for index, new in found:
            journal.keep(index, new)
            on_progress("sizes", len(journal.rows), len(sweep.sizes))


def _check_where(workers: int | None, scheduler: str | None) -> None:
    if scheduler is not None and workers is not None:
        raise BadInput(
            "--workers is for this machine, but --scheduler gives the work to a cluster; leave "
            "one of them out."
        )
    if workers is not None and not 0 <= workers <= MOST_WORKERS:
        raise BadInput(f"--workers {workers} is outside 1 to {MOST_WORKERS}; give one per core.")
    if scheduler is not None and not _ADDRESS.fullmatch(scheduler):
        raise BadInput(
            f"--scheduler {scheduler!r} is not an address; write it like tcp://192.168.1.5:8786."
        )


def _kept(journal: Journal) -> str:
    kept, total = len(journal.rows), len(journal.sweep.sizes)
    if not kept:
        return "no size was finished yet, so nothing is kept"
    return f"{kept} of {total} sizes are kept; run the same command again to go on"


def _here(
    sweep: Sweep, missing: Sequence[int], workers: int | None, on_progress: Progress
) -> Found:
    """Rows as they are finished by processes of this machine."""
    with worker_pool(worker_count(workers, len(missing))) as pool:
        limit = None
        if sweep.has_one_limit:
            limit = known_tightest(
                sweep.rule,
                sweep.sizes[-1],
                on_progress=lambda done, of: on_progress("tightest ring", done, of),
                workers=workers,
            )
            limit = with_other_shapes(sweep.rule, sweep.sizes, limit)
        if workers == 0:
            # One after the other, so that each is kept as soon as it is there.
            for i in missing:
                yield i, row(sweep.rule, sweep.sizes[i], limit, sweep.state)
            return
        tasks = {
            pool.submit(row, sweep.rule, sweep.sizes[i], limit, sweep.state): i for i in missing
        }
        for task in as_completed(tasks):
            yield tasks[task], task.result()


@contextmanager
def _quiet() -> Generator[None, None, None]:
    """No logging from libraries: what goes wrong is said in one sentence, the rest is noise."""
    import logging

    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)


class _ClusterLost(Exception):
    """The scheduler or the workers went away in the middle of the work."""


def _on_cluster(sweep: Sweep, missing: Sequence[int], address: str) -> Found:
    """Rows as they are finished by the workers of a Dask cluster."""
    try:
        import distributed
    except ImportError as error:
        raise BadInput(
            "--scheduler needs the package distributed, which is not installed; add it with: "
            "pip install 'distributed>=2024.1'."
        ) from error
    try:
        client = distributed.Client(address, timeout=f"{_REACHED_WITHIN_S}s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise BadInput(
            f"No Dask scheduler answers at {address}; start one there with 'dask scheduler', or "
            "correct the address."
        ) from error
    with client:
        _check_workers(client, address)
        limit = None
        if sweep.has_one_limit:
            limit = client.submit(tightest_of_all, sweep.rule, sweep.sizes, pure=False)
        tasks = {
            client.submit(row, sweep.rule, sweep.sizes[i], limit, sweep.state, pure=False): i
            for i in missing
        }
        try:
            for task in distributed.as_completed(tasks, loop=client.loop):
                yield tasks[task], task.result()
        except (distributed.KilledWorker, CancelledError, OSError) as error:
            raise _ClusterLost(type(error).__name__) from error


def _check_workers(client: Any, address: str) -> None:
    """That there is a worker, and that all have this very version of ringwright."""
    wanted = program_version()
    try:
        client.wait_for_workers(1, timeout=_REACHED_WITHIN_S)
        versions = set(client.run(program_version).values())
    except TimeoutError as error:
        raise BadInput(
            f"The Dask scheduler at {address} has no workers; start some with 'dask worker "
            f"{address}'."
        ) from error
    except Exception as error:
        # Whatever keeps a worker from answering this keeps it from everything else too.
        raise BadInput(
            f"The workers of {address} cannot run ringwright ({type(error).__name__}); install "
            f"the same version, {wanted}, on all of them."
        ) from error
    if versions != {wanted}:
        raise BadInput(
            f"The workers of {address} have ringwright {', '.join(sorted(versions))}, but this "
            f"is {wanted}; install the same version on all of them."
        )

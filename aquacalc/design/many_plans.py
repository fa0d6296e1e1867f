"""Many plans through the one engine: packed, run compiled, spread over threads or an engine of your own."""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, ThreadPoolExecutor
from typing import Any, TypeVar

from aquacalc.engine.packing import pack
from aquacalc.engine.runner import compile_now, run_packed
from aquacalc.plan.model import Plan
from aquacalc.results.cycle import SystemCycle, unpack

#: Called with (done, total) from the thread that asked.
Progress = Callable[[int, int], None]
#: A `threading.Event`, or anything that says True when called once the work should end.
Stop = threading.Event | Callable[[], bool] | None
T = TypeVar("T")


def run_plans(plans: Sequence[Plan]) -> list[SystemCycle]:
    """Run checked plans to their repeating cycle in this thread, compiled where that can be had.

    Parameters
    ----------
    plans : sequence of Plan
        They may differ in anything, layout too.

    Returns
    -------
    list of SystemCycle
        In the same order, without traces.
    """
    compile_now()
    found = []
    for plan in plans:
        packed = pack(plan)
        totals, cycles, _ = run_packed(packed, trace=False)
        found.append(unpack(plan, packed, totals, cycles))
    return found


def wanted(stop: Stop) -> bool:
    """Whether `stop` asks to end."""
    if stop is None:
        return False
    return bool(stop.is_set() if hasattr(stop, "is_set") else stop())


def spread(
    work: Callable[..., T],
    jobs: Iterable[tuple[Any, ...]],
    *,
    stop: Stop = None,
    client: Any = None,
    threads: int | None = None,
) -> Iterator[T]:
    """Yield `work(*job)` for each job in order, several at a time; Ctrl-C keeps what is done.

    Parameters
    ----------
    work : callable
        A function of a module, so that another process can find it.
    jobs : iterable of tuple
        Taken only as fast as they are worked on.
    stop : threading.Event or callable, optional
        When it asks, no further job starts and the iteration ends.
    client : optional
        A `dask.distributed.Client`, or any other object with `submit` that
        returns futures; by default threads of this process.
    threads : int, optional
        How many threads without `client`; by default one per core.
    """
    count = threads or os.cpu_count() or 1
    pool = None
    if client is None:
        compile_now()  # here rather than in every thread
        client = pool = ThreadPoolExecutor(count)
    else:
        cores = getattr(client, "ncores", None)  # of a Dask client: {worker: cores}
        count = sum(cores().values()) if cores else count
    running: deque[Any] = deque()
    source = iter(jobs)
    try:
        while True:
            while len(running) < 2 * count and not wanted(stop):
                job = next(source, None)
                if job is None:
                    break
                running.append(client.submit(work, *job))
            if not running or wanted(stop):
                return
            try:
                done = running.popleft().result()
            except (KeyboardInterrupt, BrokenExecutor):  # Ctrl-C, or a worker that was killed
                return
            except Exception as error:
                if type(error).__name__ == "KilledWorker":  # the same of a Dask cluster
                    return
                raise
            yield done
    finally:
        for future in running:
            future.cancel()
        if pool is not None:
            pool.shutdown(wait=True)

"""What do many lots cost? `python -m tests.bench.screen`.

Lots a minute in one process, in two and on two Dask workers; the memory of a process from lot to lot; and what a task
costs in which nothing is planned. On the invented town of `tests/towns.py`.
"""

from __future__ import annotations

import argparse
import contextlib
import resource
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from siteplan.files.drawing.town import TownFiles
from siteplan.screen.planner import Limits, Outcome, Planner, Task, memory_of, on_this_machine
from siteplan.screen.request import Lots, lots_of_folders, lots_of_town
from tests.towns import town

Engine = Callable[..., Iterator[Outcome]]


def options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.screen", description=__doc__)
    parser.add_argument("--town", type=int, default=2000, help="lots of the town (default: %(default)s)")
    parser.add_argument("--lots", type=int, default=60, help="that are planned for each rate (default: %(default)s)")
    parser.add_argument("--memory", type=int, default=2000, help="lots through one process (default: %(default)s)")
    parser.add_argument("--empty", type=int, default=1000, help="tasks without work (default: %(default)s)")
    parser.add_argument("--ask", default="sun,place,fill,haul", help="default: %(default)s")
    return parser.parse_args()


def lots_of(folder: Path, ask: tuple[str, ...]) -> Lots:
    return lots_of_town(TownFiles(folder / "town.gpkg"), folder / "site.toml", ask)


def rate(engine: Engine, lots: Lots, numbers: range, workers: int) -> float:
    """Return lots a minute, from when every worker has planned its first one on."""
    outcomes = engine(lots.request, Limits(), iter([Task(number) for number in numbers]))
    times = [time.perf_counter() for _ in outcomes]
    return 60 * (len(times) - workers) / (times[-1] - times[workers - 1])


@contextlib.contextmanager
def engines() -> Iterator[dict[str, tuple[Engine, int]]]:
    """Yield what plans lots: one process, two, and two workers of a cluster."""
    from distributed import LocalCluster

    from siteplan.screen.cluster import on_cluster

    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
        yield {
            "one process": (lambda asked, limits, tasks: on_this_machine(asked, limits, tasks, 1), 1),
            "two processes": (lambda asked, limits, tasks: on_this_machine(asked, limits, tasks, 2), 2),
            "two Dask workers": (on_cluster(cluster.scheduler_address), 2),
        }


def rates(folder: Path, asked: argparse.Namespace) -> None:
    """Print lots a minute, and what a lot costs a processor."""
    lots = lots_of(folder, tuple(asked.ask.split(",")))
    numbers = range(10, 10 + asked.lots)  # the first ones have faults
    with engines() as known:
        for name, (engine, workers) in known.items():
            worked = _worked()
            found = rate(engine, lots, numbers, workers)
            own = f", {(_worked() - worked) / asked.lots:.2f} s of processor time a lot" if "Dask" not in name else ""
            print(f"{name}: {found:.1f} lots a minute{own}", flush=True)


def _worked() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def empty_tasks(folder: Path, count: int) -> None:
    """Print what a task costs in which nothing is planned: the folder of its lot is not there."""
    lots = lots_of_folders([folder / f"gone-{number}" for number in range(count)], ("place",))
    with engines() as known:
        for name, (engine, workers) in known.items():
            seconds = 60 / rate(engine, lots, range(count), workers)
            print(f"{name}: {1000 * seconds:.2f} ms for an empty task", flush=True)


def memory(folder: Path, count: int) -> None:
    """Print what one process holds after 100 lots, 200 and so on; lots with a sparse neighbourhood, to be quick."""
    sparse = town(folder, lots=count, buildings=count // 10, trees=0, cell=100, faults=False)
    lots = lots_of(sparse, ("place",))
    planner = Planner(replace(lots.request), Limits())
    try:
        start = time.perf_counter()
        for number in range(count):
            planner.plan(Task(number))
            if (number + 1) % 100 == 0:
                assert planner._process is not None
                held = memory_of(planner._process.pid) / 1e6
                print(f"{number + 1} lots: {held:.0f} MB, {time.perf_counter() - start:.0f} s", flush=True)
    finally:
        planner.close()


def main() -> None:
    asked = options()
    with tempfile.TemporaryDirectory(prefix="siteplan-bench-") as made:
        folder = Path(made)
        if asked.empty:
            empty_tasks(folder, asked.empty)
        if asked.lots:
            count = asked.town
            rates(town(folder / "town", lots=count, buildings=5 * count, trees=3 * count), asked)
        if asked.memory:
            memory(folder / "sparse", asked.memory)


if __name__ == "__main__":
    main()

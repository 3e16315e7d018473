"""How are lots planned on a Dask cluster?

Each worker keeps as many planning processes as it has threads, and opens the shared layers itself. Only a lot's
number and its row are sent. If a worker dies, its lots go to another one.

The cluster must already run. Its workers must have this version of siteplan, and see the files under the same paths.
"""

from __future__ import annotations

import queue
from collections.abc import Generator, Iterator
from typing import TYPE_CHECKING, Any

from siteplan.land.errors import Fault, InputError, MissingExtraError, SitePlanError
from siteplan.screen.planner import Limits, Outcome, Planner, Task
from siteplan.screen.request import ScreenRequest
from siteplan.screen.rows import ended_row

if TYPE_CHECKING:
    from distributed import Client, Worker

WAIT = 30  # s for a scheduler to answer, and for a first worker
AHEAD = 3  # tasks sent ahead for each thread of a worker, so that no thread waits for the network


def require_cluster() -> None:
    """Raise an error if Dask is not installed.

    Raises
    ------
    MissingExtraError
        If `distributed` cannot be imported.
    """
    try:
        import distributed  # noqa: F401
    except ImportError as error:
        raise MissingExtraError("needs Dask: install siteplan[cluster]") from error


class Planners:
    """The planning processes of one worker: a plugin that Dask sets up on each worker, also on one that joins later.

    Attributes
    ----------
    name : str
        The name by which a task finds the plugin.
    """

    def __init__(self, request: str, limits: Limits, name: str) -> None:
        self.request, self.limits, self.name = request, limits, name

    def setup(self, worker: Worker) -> None:
        """Get ready on a worker; a process is started when it is first needed."""
        self._free: queue.LifoQueue[Planner] = queue.LifoQueue()
        self._all = [Planner(ScreenRequest.of_text(self.request), self.limits) for _ in range(worker.state.nthreads)]
        for planner in self._all:
            self._free.put(planner)

    def teardown(self, worker: Worker) -> None:  # noqa: ARG002  # Dask hands it over
        """End all processes."""
        for planner in self._all:
            planner.close()

    def plan(self, task: Task) -> Outcome:
        """Return the outcome of a task, done by the next free process."""
        planner = self._free.get()
        try:
            return planner.plan(task)
        finally:
            self._free.put(planner)

    def __getstate__(self) -> dict[str, Any]:
        return {"request": self.request, "limits": self.limits, "name": self.name}


def plan_there(name: str, number: int, known: str, folder: str) -> Outcome:
    """Return the outcome of one lot; this runs on a worker."""
    from distributed import get_worker

    planners: Planners = get_worker().plugins[name]
    return planners.plan(Task(number, known, folder))


def on_cluster(scheduler: str) -> Any:
    """Return the engine that sends lots to a Dask scheduler.

    Parameters
    ----------
    scheduler : str
        Its address, as ``tcp://10.0.0.7:8786``.
    """

    def engine(request: ScreenRequest, limits: Limits, tasks: Iterator[Task]) -> Generator[Outcome, None, None]:
        with _client(scheduler) as client:
            yield from _outcomes(client, request, limits, tasks)

    return engine


def _client(scheduler: str) -> Client:
    """Return a connection to a scheduler that has workers."""
    from distributed import Client

    try:
        client = Client(scheduler, timeout=WAIT, set_as_default=False)
    except (OSError, ValueError) as error:
        text = f"{scheduler}: no scheduler answers there; start one with: dask scheduler"
        raise InputError([Fault("", "--scheduler", text)]) from error
    try:
        client.wait_for_workers(1, timeout=WAIT)
    except TimeoutError as error:
        client.close()
        text = f"{scheduler}: it has no worker; start one with: dask worker {scheduler}"
        raise InputError([Fault("", "--scheduler", text)]) from error
    return client


def _outcomes(
    client: Client, request: ScreenRequest, limits: Limits, tasks: Iterator[Task]
) -> Generator[Outcome, None, None]:
    """Yield the outcomes of tasks as they come; a few are sent ahead, the others follow one by one."""
    from distributed import as_completed

    name = f"siteplan-{request.common[:16]}-{id(tasks):x}"
    client.register_plugin(_plugin(request, limits, name), name=name)
    waiting: dict[Any, Task] = {}
    ready = as_completed(loop=client.loop)

    def send_next() -> None:
        task = next(tasks, None)
        if task is not None:
            key = f"{name}-{task.number}"
            future = client.submit(plan_there, name, task.number, task.known, task.folder, key=key, pure=False)
            waiting[future] = task
            ready.add(future)

    try:
        threads = sum(client.nthreads().values())
        for _ in range(AHEAD * max(threads, 1)):
            send_next()
        while waiting:
            future = next(ready)
            yield _outcome(future, waiting.pop(future))
            future.release()
            send_next()
    finally:
        client.cancel(list(waiting), force=True)
        client.unregister_worker_plugin(name)


def _plugin(request: ScreenRequest, limits: Limits, name: str) -> Any:
    """Return the planners of a worker as a plugin of Dask."""
    from distributed import WorkerPlugin

    class Plugin(Planners, WorkerPlugin):  # type: ignore[misc]  # Dask's classes have no types
        """The planners as a class that Dask accepts as a plugin."""

    return Plugin(request.text(), limits, name)


def _outcome(future: Any, task: Task) -> Outcome:
    """Return the outcome of one lot, also if its worker died several times."""
    from distributed import KilledWorker

    try:
        outcome: Outcome = future.result()
    except KilledWorker:
        return Outcome(task.number, "", ended_row("its worker died several times, as one does that gets no memory"))
    except SitePlanError:
        raise
    except Exception as error:
        raise SitePlanError(f"the cluster gave up: {type(error).__name__}: {error}") from error
    return outcome

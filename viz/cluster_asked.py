"""`--on`: who plays the runs of a batch, threads here or the workers of a Dask cluster."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import TYPE_CHECKING, Any

from sim.errors import Problem, Refused, shown

if TYPE_CHECKING:
    from sim.crew import Workers
    from viz.played import Asked

LOCAL = "dask"
ADDRESS = re.compile(r"(tcp|tls)://\S+:\d+/?")
PATIENCE_S = 20.0  # that are waited for a scheduler, and for the first of its workers
OPTION = "--on"


def where_to_play(text: str, *, workers: str | None) -> str:
    """Return where runs are to be played, checked.

    Parameters
    ----------
    text
        As typed: ``"dask"``, or the address of a scheduler.
    workers
        What was typed at `--workers`.

    Raises
    ------
    Refused
        If it is neither, or the library for it is not installed.
    """
    if text != LOCAL and not ADDRESS.fullmatch(text):
        raise Refused(
            Problem(
                OPTION,
                f'got {shown(text)}; expected "dask" for workers on this machine, or the address '
                "of a scheduler such as tcp://10.0.0.7:8786.",
            )
        )
    if text.startswith("tls://") and not _has_certificates():
        raise Refused(
            Problem(
                OPTION,
                f"got {shown(text)}, but Dask has no certificate for a client "
                "(distributed.comm.tls.client.cert in its configuration); expected one. "
                "docs/cluster.md says where it goes.",
            )
        )
    if text != LOCAL and workers is not None:
        raise Refused(
            Problem(
                "--workers",
                f"got {shown(workers)} with the address of a scheduler, whose workers are those "
                "that it has; expected one of the two. Take it out.",
            )
        )
    try:
        import distributed  # noqa: F401
    except ImportError:
        raise Refused(
            Problem(
                OPTION,
                "it needs the library `distributed`, which is not installed; expected it. Install "
                "it with: pip install 'holdwater[dask]'.",
            )
        ) from None
    return text


@contextmanager
def players(asked: Asked) -> Iterator[Workers]:
    """Have whoever is to play the runs ready for the length of a block.

    Parameters
    ----------
    asked
        The options.

    Yields
    ------
    int, callable or None
        For `workers` of whatever plays runs.

    Raises
    ------
    Refused
        If there is no such scheduler, it has no workers, or they would play another model.
    """
    if asked.on is None:
        yield asked.workers
        return
    from sim.cluster import Cluster
    from viz.complaints import complain

    with _client(asked) as client:
        cluster = Cluster(client)
        if cluster.other_machines:
            found = other_machines(cluster.other_machines, kept=asked.keep is not None)
            if asked.keep is not None:
                raise Refused(found)
            complain([found], unwise=True)
        yield cluster.play


def _has_certificates() -> bool:
    """Return whether Dask's configuration names a certificate with which to speak TLS."""
    try:
        dask: Any = import_module("dask")
        import_module("distributed")  # which brings what is usual for its part
    except ImportError:
        return True  # that it is missing is said by who needs it
    return bool(dask.config.get("distributed.comm.tls.client.cert", None))


def other_machines(names: tuple[str, ...], *, kept: bool) -> Problem:
    """Return the sentence for workers whose machines differ from this one.

    Parameters
    ----------
    names
        What of them differs.
    kept
        Whether runs are to be kept.
    """
    sentence = (
        f"the workers' machines are not as this one ({', '.join(names)}); expected the same kind, "
        "since the last bits of a result may hang on it. "
    )
    if kept:
        return Problem(
            "--keep",
            sentence + "Start the command on a machine like the workers', or leave out --keep: "
            "runs of two kinds of machine are not kept together.",
        )
    return Problem(OPTION, sentence + "Another kind may end with other bytes.")


@contextmanager
def _client(asked: Asked) -> Iterator[Any]:
    """Have a client of the scheduler, or of a cluster of processes on this machine."""
    dask: Any = import_module("dask")
    distributed: Any = import_module("distributed")

    from sim.crew import usual_workers

    quiet = {
        "distributed.comm.timeouts.connect": PATIENCE_S,
        "distributed.worker.daemon": True,
        "distributed.admin.tick.limit": "1h",
    }
    for name in ("distributed", "distributed.client", "distributed.nanny", "distributed.worker"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    with dask.config.set(quiet):
        local = asked.on == LOCAL
        try:
            # No dashboard, and nothing listens but on the loopback device.
            cluster = (
                distributed.LocalCluster(
                    n_workers=asked.workers or usual_workers(),
                    threads_per_worker=1,
                    host="127.0.0.1",
                    dashboard_address=None,
                    # It listens all the same, and would warn where its usual port is taken.
                    scheduler_kwargs={"dashboard_address": "127.0.0.1:0"},
                    worker_dashboard_address=None,
                    silence_logs=logging.CRITICAL,
                )
                if local
                else None
            )
            client = distributed.Client(
                cluster or asked.on, timeout=PATIENCE_S, set_as_default=False
            )
        except (OSError, TimeoutError) as error:
            raise Refused(
                Problem(
                    OPTION,
                    f"nobody answers at {asked.on} ({type(error).__name__}); expected a scheduler "
                    f"within {PATIENCE_S:.0f} s. Is it running, and is its port open to this "
                    "machine?",
                )
            ) from None
        try:
            try:
                client.wait_for_workers(1, timeout=PATIENCE_S)
            except TimeoutError:
                raise Refused(
                    Problem(
                        OPTION,
                        f"the scheduler at {asked.on} has no workers; expected one or more within "
                        f"{PATIENCE_S:.0f} s. Start some: dask worker {asked.on}.",
                    )
                ) from None
            yield client
        finally:
            client.close(timeout=2)
            if cluster is not None:
                cluster.close(timeout=5)

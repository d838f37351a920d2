"""What `holdwater app` does: checks what was asked, fetches what is missing, serves, opens."""

from __future__ import annotations

import sys
import webbrowser
from pathlib import Path

from sim.errors import Problem, Refused
from viz import asked as reading

MOST_PORT = 65535


def open_app(
    file: Path | None,
    *,
    port: str | None,
    host: str | None,
    browser: bool,
    keep: str | None = None,
) -> None:
    """Serve the app until it is stopped.

    Parameters
    ----------
    file
        A scenario file to open, or None for the tank of the first visit.
    port
        As typed; None looks for a free one.
    host
        As typed; None for this machine alone.
    browser
        Whether to open a browser.
    keep
        Where runs are kept, as typed: a folder or ``none``; None for the usual place.

    Raises
    ------
    Refused
        If it cannot be served as asked.
    """
    from viz.app import serving
    from viz.app.assets import ready_assets
    from viz.app.kept_runs import folder_for, spoken_size
    from viz.app.opening import open_path

    found: list[Problem] = []
    number = None
    try:
        number = None if port is None else reading.whole("--port", port, low=1, high=MOST_PORT)
    except Refused as refusal:
        found += refusal.problems
    try:
        if file is not None:
            open_path(file)  # what is wrong with it is said here, not in the browser
    except Refused as refusal:
        found += refusal.problems
    try:
        runs = folder_for(keep)
    except Refused as refusal:
        found += refusal.problems
    if found:
        raise Refused(found)
    address = host or serving.LOOPBACK
    bound = serving.bound_socket(host=address, port=number)
    try:
        assets = ready_assets(say=say)
        if not is_own(bound.getsockname()[0]):
            say(
                "Everybody who reaches this machine by the network can now play with this tank, "
                "and nothing on the way is encrypted. Leave --host out to keep it to yourself."
            )
        serving.prepare(assets=assets, file=file, keep=runs)

        def started(url: str) -> None:
            say(f"The tank is at {url}  Ctrl-C closes it.")
            if runs is not None:
                say(f"What is played is kept in {runs} ({spoken_size(runs)}).")
            if browser:
                webbrowser.open(url)

        serving.serve(bound, assets=assets, host=address, started=started)
    except KeyboardInterrupt:
        say("Closed.")
    finally:
        bound.close()


def is_own(address: str) -> bool:
    """Return whether an address can be reached from this machine alone.

    Parameters
    ----------
    address
        A numerical one.
    """
    import ipaddress

    return ipaddress.ip_address(address).is_loopback


def say(sentence: str) -> None:
    """Tell the person something; results go elsewhere.

    Parameters
    ----------
    sentence
        What is told.
    """
    print(sentence, file=sys.stderr, flush=True)

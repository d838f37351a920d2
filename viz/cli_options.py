"""Options and arguments that several commands take, each said once."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Runs = Annotated[str, typer.Option("--runs", metavar="N", help="Runs of each tank.")]
Days = Annotated[
    str | None, typer.Option("--days", metavar="DAYS", help="Days of a run, instead of the file's.")
]
Seed = Annotated[
    str | None, typer.Option("--seed", metavar="N", help="Random seed, instead of the file's.")
]
Workers = Annotated[
    str | None, typer.Option("--workers", metavar="N", help="Runs side by side; as many as cores.")
]
Watch = Annotated[
    str,
    typer.Option(
        "--watch",
        metavar="HOW",
        help="auto, all (every waking second; slow), or how many times as densely as auto.",
    ),
]
InjuryScale = Annotated[
    str | None,
    typer.Option(
        "--injury-scale",
        metavar="TIMES",
        help="Fix how much a bite harms, as a multiple of the default; left out: drawn.",
    ),
]
HoldAssumed = Annotated[
    bool,
    typer.Option(
        "--hold-assumed", help="Hold what nobody has measured; from 40 runs on it is drawn."
    ),
]
Changes = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="NAME=VALUE", help="Change a number of the rules; repeatable."),
]
Without = Annotated[
    list[str] | None,
    typer.Option(
        "--without",
        metavar="NAME",
        help="Switch off assessment, learning, occlusion, hiding, individuality or brood; "
        "repeatable.",
    ),
]
Json = Annotated[
    Path | None, typer.Option("--json", metavar="FILE", help="Also write the results as JSON.")
]
Csv = Annotated[
    Path | None, typer.Option("--csv", metavar="DIR", help="Also write the tables as CSV.")
]
Keep = Annotated[
    Path | None,
    typer.Option(
        "--keep",
        metavar="DIR",
        help="Keep every run there; those that are there already are not played again.",
    ),
]
On = Annotated[
    str | None,
    typer.Option(
        "--on",
        metavar="WHERE",
        help="Play on a Dask cluster: dask for processes of this machine, or the address of a "
        "scheduler, as tcp://10.0.0.7:8786.",
    ),
]
Report = Annotated[
    Path | None,
    typer.Option("--report", metavar="FILE", help="Also write a report, one HTML file."),
]
TakeAway = Annotated[
    list[str] | None,
    typer.Option(
        "--take-away",
        metavar="NAME",
        help="What to take away, one at a time, instead of brood, occlusion and individuality: "
        "also hiding, learning, assessment; repeatable.",
    ),
]
Replay = Annotated[
    str | None,
    typer.Option(
        "--replay",
        metavar="NUMBER",
        help="Play one run of the batch again and tell it, every attack with its reasons.",
    ),
]
Files = Annotated[
    list[Path], typer.Argument(metavar="FILE [FILE2 ...]", help="One to four scenario files.")
]
File = Annotated[Path, typer.Argument(metavar="FILE", help="A scenario file.")]

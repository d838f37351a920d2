"""The commands below `holdwater kept`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

kept = typer.Typer(
    help="List, export, verify and prune the runs of --keep.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
KeptIn = Annotated[Path, typer.Argument(metavar="DIR", help="A folder that was given to --keep.")]
Only = Annotated[
    list[str] | None,
    typer.Option(
        "--question", metavar="KEY", help="Only this, by the beginning of its key; repeatable."
    ),
]


@kept.command("list")
def kept_list(folder: KeptIn) -> None:
    """Say what is kept there."""
    from viz.kept_command import list_kept

    list_kept(folder)


@kept.command("export")
def kept_export(
    folder: KeptIn,
    out: Annotated[Path, typer.Option("-o", "--out", metavar="DIR", help="A new folder.")],
    question: Only = None,
) -> None:
    """Write the runs as Parquet."""
    from viz.kept_command import export_kept

    export_kept(folder, out=out, only=question or ())


@kept.command("verify")
def kept_verify(
    folder: KeptIn,
    again: Annotated[
        str,
        typer.Option("--again", metavar="N", help="Play so many runs of each question again."),
    ] = "1",
    mend: Annotated[bool, typer.Option("--mend", help="Take damaged runs out.")] = False,
) -> None:
    """Say whether every run is whole and comes out the same."""
    from viz.kept_command import verify_kept

    if not verify_kept(folder, again=again, mend=mend):
        raise typer.Exit(2)


@kept.command("prune")
def kept_prune(
    folder: KeptIn,
    others: Annotated[
        bool, typer.Option("--others", help="Runs of other versions of the model.")
    ] = False,
    question: Only = None,
    every: Annotated[bool, typer.Option("--all", help="All runs.")] = False,
) -> None:
    """Take runs out and give back their room."""
    from viz.kept_command import prune_kept

    prune_kept(folder, others=others, only=question or (), every=every)

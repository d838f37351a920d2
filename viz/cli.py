"""The command line: reads what was asked, calls `sim`, and shows what came of it.

What a person can cause ends with exit code 2 and a sentence on the error stream. Everything slow
to import is imported where it is used, so that help and `check` answer at once.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated, Any

import typer

from sim.errors import Problem, Refused
from viz.cli_kept import kept
from viz.cli_options import (
    Changes,
    Csv,
    Days,
    File,
    Files,
    HoldAssumed,
    InjuryScale,
    Json,
    Keep,
    On,
    Replay,
    Report,
    Runs,
    Seed,
    TakeAway,
    Watch,
    Without,
    Workers,
)

OK, WRONG, STOPPED = 0, 2, 130
_USAGE_ERROR: Any = typer.BadParameter.__mro__[1]  # typer carries its own copy of click

app = typer.Typer(
    name="holdwater",
    help="Plays out aggression and territory among cichlids in one aquarium, many times over. "
    "Start with: holdwater compare scenarios/convict-four-foot.toml "
    "scenarios/convict-six-foot.toml",
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)


app.add_typer(kept, name="kept")


@app.callback(invoke_without_command=True)
def _about(
    version: Annotated[
        bool, typer.Option("--version", help="Say all that the bytes of a result hang on.")
    ] = False,
) -> None:
    if version:
        from sim.model_version import data_digest, model_version

        facts = model_version()
        typer.echo(f"holdwater {facts['version']}")
        typer.echo(f"rules {facts['model']}, data {data_digest()}")
        compiled = "compiled" if facts["compiled"] else "not compiled"
        typer.echo(
            f"{compiled} with numba {facts['numba']}, numpy {facts['numpy']}, "
            f"Python {facts['python']}"
        )
        typer.echo(
            f"llvmlite {facts['llvmlite']}, scipy {facts['scipy']}, shapely {facts['shapely']}, "
            f"GEOS {facts['geos']}"
        )
        typer.echo(f"on {facts['machine']}, {facts['system']}, {facts['libm']}")
        raise typer.Exit(OK)


@app.command()
def compare(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE FILE [FILE FILE]", help="Two to four scenario files."),
    ],
    runs: Runs = "100",
    days: Days = None,
    seed: Seed = None,
    workers: Workers = None,
    watch: Watch = "auto",
    injury_scale: InjuryScale = None,
    hold_assumed: HoldAssumed = False,
    changes: Changes = None,
    without: Without = None,
    json: Json = None,
    csv: Csv = None,
    keep: Keep = None,
    on: On = None,
    report: Report = None,
) -> None:
    """Play two to four tanks with the same fish; which is calmer?"""
    from viz.played import play, read_options

    play(
        files,
        asked=read_options(
            runs=runs, days=days, seed=seed, workers=workers, watch=watch,
            injury_scale=injury_scale, hold_assumed=hold_assumed,
            changes=changes or (), without=without or (), json=json, csv=csv,
            keep=keep, on=on, report=report,
        ),
        least=2,
    )  # fmt: skip


@app.command()
def run(
    file: File,
    runs: Runs = "100",
    days: Days = None,
    seed: Seed = None,
    workers: Workers = None,
    watch: Watch = "auto",
    injury_scale: InjuryScale = None,
    hold_assumed: HoldAssumed = False,
    changes: Changes = None,
    without: Without = None,
    json: Json = None,
    csv: Csv = None,
    keep: Keep = None,
    on: On = None,
    report: Report = None,
    replay: Replay = None,
) -> None:
    """Play one tank many times; what becomes of its fish?"""
    from viz.played import play, read_options

    asked = read_options(
        runs=runs, days=days, seed=seed, workers=workers, watch=watch,
        injury_scale=injury_scale, hold_assumed=hold_assumed,
        changes=changes or (), without=without or (), json=json, csv=csv, keep=keep,
        on=on, report=report,
    )  # fmt: skip
    if replay is None:
        play([file], asked=asked, least=1)
    else:
        from viz.replay import replay as play_again

        play_again(file, asked=asked, number=replay)


@app.command()
def why(
    files: Files,
    take_away: TakeAway = None,
    runs: Runs = "100",
    days: Days = None,
    seed: Seed = None,
    workers: Workers = None,
    watch: Watch = "auto",
    injury_scale: InjuryScale = None,
    hold_assumed: HoldAssumed = False,
    changes: Changes = None,
    without: Without = None,
    json: Json = None,
    keep: Keep = None,
    on: On = None,
) -> None:
    """Say why, by taking one thing away at a time."""
    from viz.why_command import why as say_why

    say_why(
        files, take_away=take_away or (),
        options={
            "runs": runs, "days": days, "seed": seed, "workers": workers, "watch": watch,
            "injury_scale": injury_scale, "hold_assumed": hold_assumed,
            "changes": changes or (), "without": without or (), "json": json, "csv": None,
            "keep": keep, "on": on,
        },
    )  # fmt: skip


@app.command()
def observe(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE COUNTS.csv [FILE2 ...]",
            help="The watched tank, what was counted, other tanks for the same fish.",
        ),
    ],
    template: Annotated[
        Path | None,
        typer.Option(
            "--template", metavar="COUNTS.csv", help="Write a file of counts to be filled in."
        ),
    ] = None,
    learn: Annotated[
        str,
        typer.Option(
            "--learn", metavar="N", help="Runs of each tank that say what counts mean."
        ),
    ] = "600",
    runs: Runs = "100",
    days: Days = None,
    seed: Seed = None,
    workers: Workers = None,
    watch: Watch = "auto",
    injury_scale: InjuryScale = None,
    hold_assumed: HoldAssumed = False,
    changes: Changes = None,
    without: Without = None,
    json: Json = None,
    csv: Csv = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "-o", "--out", metavar="FILE", help="Write the tank with the tempers told, .toml."
        ),
    ] = None,
) -> None:
    """Tell from ten minutes of watching what your own fish are like."""
    from viz.observe_command import observe as tell

    tell(
        files, template=template, learn=learn, out=out,
        options={
            "runs": runs, "days": days, "seed": seed, "workers": workers, "watch": watch,
            "injury_scale": injury_scale, "hold_assumed": hold_assumed,
            "changes": changes or (), "without": without or (), "json": json, "csv": csv,
        },
    )  # fmt: skip


@app.command()
def report(
    files: Files,
    out: Annotated[
        Path, typer.Option("-o", "--out", metavar="FILE", help="The report, one HTML file.")
    ],
    take_away: TakeAway = None,
    runs: Runs = "100",
    days: Days = None,
    seed: Seed = None,
    workers: Workers = None,
    watch: Watch = "auto",
    injury_scale: InjuryScale = None,
    hold_assumed: HoldAssumed = False,
    changes: Changes = None,
    without: Without = None,
    json: Json = None,
    keep: Keep = None,
    on: On = None,
) -> None:
    """Write the answer and its reasons as one HTML file."""
    from viz.report_command import write_report

    write_report(
        files, out=out, take_away=take_away or (),
        options={
            "runs": runs, "days": days, "seed": seed, "workers": workers, "watch": watch,
            "injury_scale": injury_scale, "hold_assumed": hold_assumed,
            "changes": changes or (), "without": without or (), "json": json, "csv": None,
            "keep": keep, "on": on,
        },
    )  # fmt: skip


@app.command()
def sweep(
    file: File,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary",
            metavar="KEY=VALUES",
            help='A key of the scenario and its values: tank.length="4 ft,5 ft,6 ft", '
            "fish.NAME.count=2..8, hardscape.caves=0..6; repeatable.",
        ),
    ] = None,
    plan: Annotated[
        str,
        typer.Option("--plan", metavar="PLAN", help="full (all combinations) or latin."),
    ] = "full",
    points: Annotated[
        str | None, typer.Option("--points", metavar="N", help="Points of a latin plan.")
    ] = None,
    runs: Annotated[
        str | None,
        typer.Option(
            "--runs",
            metavar="N",
            help="Runs of each point: 100; with --precision, before the first look, 40.",
        ),
    ] = None,
    precision: Annotated[
        str | None,
        typer.Option(
            "--precision",
            metavar="WIDTH",
            help="Play each point until half its interval is as narrow: 0.05, or dose=0.2.",
        ),
    ] = None,
    most_runs: Annotated[
        str | None,
        typer.Option(
            "--most-runs", metavar="N", help="With --precision: at most so many of each point."
        ),
    ] = None,
    outcome: Annotated[
        list[str] | None,
        typer.Option(
            "--outcome",
            metavar="NAME",
            help="What to tell, instead of dose and serious; repeatable.",
        ),
    ] = None,
    days: Days = None,
    seed: Seed = None,
    workers: Workers = None,
    watch: Watch = "auto",
    injury_scale: InjuryScale = None,
    hold_assumed: HoldAssumed = False,
    changes: Changes = None,
    without: Without = None,
    json: Json = None,
    csv: Csv = None,
    keep: Keep = None,
    on: On = None,
    parquet: Annotated[
        Path | None,
        typer.Option("--parquet", metavar="DIR", help="Also write the tables as Parquet."),
    ] = None,
    figure: Annotated[
        Path | None,
        typer.Option(
            "--figure", metavar="FILE", help="Also draw the response, as .png, .svg or .pdf."
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "-o",
            "--out",
            metavar="DIR",
            help="Write everything there: tables, figure, JSON, each tank.",
        ),
    ] = None,
) -> None:
    """Vary keys of a tank; what gains, and past where no more?"""
    from viz.sweep_command import sweep as play_sweep

    play_sweep(
        file, vary=vary or (), plan=plan, points=points, outcomes=outcome or (),
        precision=precision, most_runs=most_runs, parquet=parquet, figure=figure, out=out,
        options={
            "runs": runs or ("100" if precision is None else "40"), "days": days,
            "seed": seed, "workers": workers, "watch": watch,
            "injury_scale": injury_scale, "hold_assumed": hold_assumed,
            "changes": changes or (), "without": without or (), "json": json, "csv": csv,
            "keep": keep, "on": on,
        },
    )  # fmt: skip


@app.command()
def check(
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Scenario files.")],
) -> None:
    """Say what is wrong or unwise in scenario files."""
    from viz.checked import show_checks

    if not show_checks(files):
        raise typer.Exit(WRONG)


@app.command()
def sums(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE [FILE2 ...]", help="One to four scenario files.")
    ],
    ph: Annotated[str | None, typer.Option("--ph", metavar="PH", help="pH of the water.")] = None,
    altitude: Annotated[
        str | None, typer.Option("--altitude", metavar="LENGTH", help='Above the sea, "5000 ft".')
    ] = None,
    salinity: Annotated[
        str | None, typer.Option("--salinity", metavar="G/KG", help="Salt in the water, g/kg.")
    ] = None,
    protein: Annotated[
        str | None, typer.Option("--protein", metavar="SHARE", help='Of the food, "45 %".')
    ] = None,
    change: Annotated[
        str | None, typer.Option("--change", metavar="SHARE", help='Water changed, "30 %".')
    ] = None,
    every: Annotated[
        str | None, typer.Option("--every", metavar="DAYS", help='From change to change, "1 week".')
    ] = None,
    nitrate_limit: Annotated[
        str | None, typer.Option("--nitrate-limit", metavar="MG/L", help="Limit for nitrate.")
    ] = None,
    tap_nitrate: Annotated[
        str | None,
        typer.Option("--tap-nitrate", metavar="MG/L", help="Nitrate in the water that comes in."),
    ] = None,
    substrate_depth: Annotated[
        str | None,
        typer.Option("--substrate-depth", metavar="LENGTH", help='Of sand or gravel, "2 in".'),
    ] = None,
    json: Json = None,
) -> None:
    """What tanks weigh, and what their fish do to the water."""
    from viz.sums_command import show_sums

    asked = {
        "--ph": ph,
        "--altitude": altitude,
        "--salinity": salinity,
        "--protein": protein,
        "--change": change,
        "--every": every,
        "--nitrate-limit": nitrate_limit,
        "--tap-nitrate": tap_nitrate,
        "--substrate-depth": substrate_depth,
    }
    show_sums(files, asked=asked, json=json)


@app.command()
def species(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="A trade or scientific name.")
    ] = None,
) -> None:
    """List the species, or show one with its sources."""
    from sim.species import find_species
    from viz.ink import console
    from viz.species_page import species_card, species_table

    console().print(species_table() if name is None else species_card(find_species(name)))


@app.command()
def parameters(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]", help="One parameter.")] = None,
) -> None:
    """List the numbers of the rules, or show one."""
    from sim.parameters import load_parameters
    from viz.asked import no_parameter
    from viz.ink import console
    from viz.parameters_page import parameter_card, parameters_table

    if name is not None and name not in load_parameters():
        raise Refused(no_parameter(name, where="parameters"))
    console().print(parameters_table() if name is None else parameter_card(load_parameters()[name]))


@app.command()
def evidence(
    only: Annotated[
        str | None, typer.Option("--only", metavar="P1,P4", help="These patterns alone.")
    ] = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="Fewer replicates, against wider bands.")
    ] = False,
    runs: Annotated[
        str | None, typer.Option("--runs", metavar="N", help="Replicates of each pattern.")
    ] = None,
    seed: Seed = None,
    nulls: Annotated[
        bool, typer.Option("--nulls", help="Play them with mechanisms taken away, too.")
    ] = False,
    write: Annotated[
        Path | None, typer.Option("--write", metavar="DIR", help="Write the page and its figures.")
    ] = None,
) -> None:
    """Play the patterns of the literature and compare."""
    from viz.evidence_command import show_evidence

    show_evidence(only=only, quick=quick, runs=runs, seed=seed, nulls=nulls, write=write)


@app.command("app")
def open_in_browser(
    file: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="A scenario file to begin with.")
    ] = None,
    port: Annotated[
        str | None, typer.Option("--port", metavar="N", help="Where; a free one if left out.")
    ] = None,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Whether to open a browser.")
    ] = True,
    host: Annotated[
        str | None,
        typer.Option("--host", metavar="ADDRESS", help="Let others in your network in, too."),
    ] = None,
    keep: Annotated[
        str | None,
        typer.Option(
            "--keep",
            metavar="DIR",
            help="Where runs are kept; your data folder if left out, none for nowhere.",
        ),
    ] = None,
) -> None:
    """A tank in the browser, where everything is done to it by hand."""
    from viz.app.command import open_app

    open_app(file, port=port, host=host, browser=browser, keep=keep)


@app.command()
def film(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE [FILE2]", help="A scenario file, or two to compare."),
    ],
    out: Annotated[
        Path, typer.Option("-o", "--out", metavar="FILE", help="The film, .mp4 or .gif.")
    ],
    number: Annotated[str, typer.Option("--run", metavar="N", help="Number of the run.")] = "0",
    seconds: Annotated[
        str, typer.Option("--seconds", metavar="S", help="How long the film lasts.")
    ] = "60",
    from_day: Annotated[
        str | None, typer.Option("--from-day", metavar="DAY", help="Show nothing earlier.")
    ] = None,
    runs: Runs = "100",
    days: Days = None,
    seed: Seed = None,
    watch: Watch = "auto",
    injury_scale: InjuryScale = None,
    hold_assumed: HoldAssumed = False,
    changes: Changes = None,
    without: Without = None,
) -> None:
    """Show one run as a film, two tanks one above the other."""
    from viz.film.film_command import make_film, read_wanted
    from viz.played import read_options

    asked = read_options(
        runs=runs, days=days, seed=seed, workers=None, watch=watch, injury_scale=injury_scale,
        hold_assumed=hold_assumed, changes=changes or (), without=without or (),
        json=None, csv=None,
    )  # fmt: skip
    wanted = read_wanted(out=out, run=number, seconds=seconds, from_day=from_day, runs=asked.runs)
    make_film(files, asked=asked, wanted=wanted)


@app.command()
def picture(
    file: File,
    out: Annotated[
        Path, typer.Option("-o", "--out", metavar="FILE", help="The picture, .png or .svg.")
    ],
) -> None:
    """Draw a tank from above, to scale, with its names."""
    from viz.film.picture import show_picture

    show_picture(file, out=out)


@app.command()
def improve(
    file: File,
    move: Annotated[
        list[str] | None,
        typer.Option(
            "--move",
            metavar="WHAT",
            help="pieces, caves, feeding or the name of a piece; repeatable. "
            "Left out: all that is loose.",
        ),
    ] = None,
    budget: Annotated[
        str, typer.Option("--budget", metavar="RUNS", help="Runs of the search.")
    ] = "1000",
    minutes: Annotated[
        str | None,
        typer.Option("--minutes", metavar="M", help="End the search after so long, anyway."),
    ] = None,
    runs: Annotated[
        str,
        typer.Option("--runs", metavar="N", help="Fresh runs of each layout, to judge the best."),
    ] = "100",
    days: Days = None,
    seed: Seed = None,
    workers: Workers = None,
    watch: Watch = "auto",
    injury_scale: InjuryScale = None,
    hold_assumed: HoldAssumed = False,
    changes: Changes = None,
    without: Without = None,
    keep: Keep = None,
    on: On = None,
    out: Annotated[
        Path | None,
        typer.Option("-o", "--out", metavar="FILE", help="Write the better tank, .toml."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE", help="Draw before and after, .png or .svg."),
    ] = None,
) -> None:
    """Search for a layout in which the same fish are hurt less."""
    from viz.improve_command import read_wanted, show_improved
    from viz.played import read_options

    asked = read_options(
        runs=runs, days=days, seed=seed, workers=workers, watch=watch,
        injury_scale=injury_scale, hold_assumed=hold_assumed,
        changes=changes or (), without=without or (), json=None, csv=None,
        keep=keep, on=on,
    )  # fmt: skip
    wanted = read_wanted(move=move or (), budget=budget, minutes=minutes, out=out, picture=picture)
    show_improved(file, asked=asked, wanted=wanted)


@app.command()
def schema(
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write it there instead.")
    ] = None,
) -> None:
    """Print the JSON Schema of scenario files, for editors."""
    from sim.scenario_schema import schema_text
    from viz.asked import writable_file
    from viz.record import write_whole

    if out is None:
        typer.echo(schema_text().rstrip("\n"))
    else:
        write_whole({writable_file(out, option="--out"): schema_text()})


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and leave with its exit code.

    Parameters
    ----------
    arguments
        What follows the program's name; that of the process if left out.
    """
    code = outcome(arguments)
    if code == STOPPED:
        from viz.stopping import leave_now

        leave_now()  # a thread may be compiling, which cannot be cut short
    sys.exit(code)


def outcome(arguments: list[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Parameters
    ----------
    arguments
        What follows the program's name; that of the process if left out.

    Returns
    -------
    int
        0 when all went well, 2 when the person can mend it, 130 when stopped with Ctrl-C.
    """
    from viz.complaints import complain
    from viz.stopping import Stopped, was_interrupted

    words = "Stopped before the results were complete; nothing was written."
    try:
        code = app(args=arguments, prog_name="holdwater", standalone_mode=False)
    except _USAGE_ERROR as error:
        return _usage(error)
    except Refused as refusal:
        complain(refusal.problems)
        return WRONG
    except Stopped as stopped:
        words = str(stopped)
    except BaseException as error:
        if not (was_interrupted(error) or isinstance(error, typer.Abort)):
            raise
    else:
        if code != STOPPED:  # typer makes it of a Ctrl-C
            return code if isinstance(code, int) else OK
    complain([Problem("", words)])
    return STOPPED


def _usage(error: Any) -> int:
    from viz.complaints import complain

    message = error.format_message()
    if type(error).__name__ == "NoArgsIsHelpError":
        typer.echo(message)
        return WRONG
    where = error.ctx.command_path if error.ctx else "holdwater"
    message = message[:1].lower() + message[1:].rstrip(".")
    complain([Problem(where, f"{message}. `{where} --help` lists what there is.")])
    return WRONG


if __name__ == "__main__":
    main()

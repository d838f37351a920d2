"""The reasons as files: the JSON of `holdwater why`, and the report with what was taken away."""

from __future__ import annotations

from viz.app.elements import Layer, tag
from viz.app.given import Given
from viz.app.repeating.keeping import files_of, stem_of
from viz.app.why.reasoning import MORE, Reasoning, WhyNow
from viz.why_command import USUAL


def json_of_why(now: WhyNow) -> str:
    """Return what `holdwater why --json` writes, with what was taken away here.

    Parameters
    ----------
    now
        What is known.
    """
    from viz.why_record import why_json

    assert now.why is not None
    return why_json(now.why)


def report_of_why(why: Reasoning, now: WhyNow) -> str:
    """Return what `holdwater report` writes.

    Parameters
    ----------
    why, now
        What is known, with all taken away that the command takes away.
    """
    from viz.report.written import report_of

    assert now.why is not None
    command = command_of_why(why, now, name="report", out=f"{stem_of(why.job)}-why.html")
    return report_of(
        why.played(), results=now.why.results, command=command, reasons=now.why.reasons
    )


def command_of_why(why: Reasoning, now: WhyNow, *, name: str = "why", out: str = "") -> str:
    """Return the command that plays the same runs and takes away the same things.

    Parameters
    ----------
    why, now
        What is known.
    name
        ``"why"`` or ``"report"``.
    out
        The report; none where empty.
    """
    from viz.report_command import command_of

    others = others_taken(now)
    mechanisms = (*USUAL, *others) if others else ()
    more = [word for key in mechanisms for word in ("--take-away", key)]
    more += ["-o", out] if out else []
    return command_of(name, files_of(why.designs), asked=why.job.asked, more=more)


def others_taken(now: WhyNow) -> tuple[str, ...]:
    """Return the mechanisms beyond the usual ones that are taken away from some tank."""
    taken = {one.key for offers in now.offers for one in offers if one.on and one.whole}
    return tuple(key for key in MORE if key in taken)


def complete(now: WhyNow) -> bool:
    """Return whether all was taken away that the command takes away: from every tank the same.

    Parameters
    ----------
    now
        What is known.
    """
    others = others_taken(now)
    return bool(now.offers) and all(
        one.on and one.whole
        for offers in now.offers
        for one in offers
        if one.key not in MORE or one.key in others
    )


def KeepReasons(why: Reasoning, now: WhyNow) -> None:
    """Hand the reasons over as files.

    Parameters
    ----------
    why, now
        What is known.
    """
    stem = f"{stem_of(why.job)}-why"
    saved = all(design.path is not None for design in why.designs) and not why.note
    tag("h3", "Keep them")
    with Layer("div", classes="hw-row"):
        Given(
            "Reasons, JSON",
            f"{stem}.json",
            lambda: json_of_why(now),
            kind="application/json",
            hint="As holdwater why --json writes them, with what was taken away here",
        )
        if not why.note and complete(now):
            Given(
                "Report with reasons, HTML",
                f"{stem}.html",
                lambda: report_of_why(why, now),
                kind="text/html",
                hint="As holdwater report writes it: to print, or to hand on",
            )
    tag("p", keep_words(why, now, saved=saved), classes="hw-soft hw-command")


def keep_words(why: Reasoning, now: WhyNow, *, saved: bool) -> str:
    """Return how to get the same from the command line, or what hinders it.

    Parameters
    ----------
    why, now
        What is known.
    saved
        Whether all tanks stand in files as they were played.
    """
    if not saved:
        return (
            "The file has the numbers and sentences of this page. With all of it taken away there "
            "is a report, too. The command line plays the same for tanks saved under Build."
        )
    if complete(now):
        return f"The same from the command line: {command_of_why(why, now)}"
    return (
        "The file has what was taken away so far. Once all of it is taken away, from every tank, "
        "there is a report, too, and the command that plays the very same."
    )

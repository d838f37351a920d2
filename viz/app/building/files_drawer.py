"""Open and save: the same files that the command line reads, where one pointed."""

from __future__ import annotations

import solara

from sim.scenario_file import LARGEST_FILE_BYTES
from viz.app.building.bench import Bench
from viz.app.editing.saving import Occupied, suggested_name
from viz.app.elements import Button, Layer, tag
from viz.app.typed import Chosen, Handed, Typed


def FilesDrawer(bench: Bench) -> None:
    """Open a tank, and save this one.

    Parameters
    ----------
    bench
        What is worked on.
    """
    # What was typed for one tank is no name for another.
    Save(bench, bench.now).key(f"save {bench.session.picked} {bench.tank.file}")
    Open(bench, bench.now)


@solara.component
def Save(bench: Bench, now: object) -> None:
    """Save this tank, never over another in silence.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    tank, folders = bench.tank, bench.folders
    there = tank.file.parent if tank.file is not None else folders[0]
    folder, set_folder = solara.use_state(str(there))
    where = next((one for one in folders if str(one) == folder), folders[0])
    first = tank.file.name if tank.file is not None else suggested_name(tank.scenario, folder=where)
    name, set_name = solara.use_state("")
    asked, set_asked = solara.use_state("")  # the sentence that asks whether to write over
    wrong, set_wrong = solara.use_state("")

    def save(over: bool) -> None:
        set_asked("")
        set_wrong("")
        try:
            if bench.save(name or first, folder=where, over=over):
                file = bench.tank.file
                bench.session.say(f"Saved as {file.name if file else name}.")
            elif bench.refusal is not None:
                set_wrong(bench.refusal.words)
        except Occupied as occupied:
            set_asked(str(occupied.problems[0]))

    def typed(text: str) -> None:
        set_asked("")
        set_name(text)

    tag("h3", "Save")
    if tank.changed:
        state = "It is not saved as it stands."
    else:
        state = "Saved as it stands." if tank.file is not None else "It is as it was opened."
    tag("p", state, classes="hw-field-hint")
    with Layer("div", classes="hw-form"):
        Typed("File name", name or first, typed)
        if len(folders) > 1:
            Chosen("In the folder", [(str(one), str(one)) for one in folders], folder, set_folder)
    if len(folders) == 1:
        tag("p", f"In the folder {where}", classes="hw-field-hint")
    if asked:
        with Layer("div", classes="hw-asked-over", role="alert"):
            tag("p", asked, classes="hw-field-error")
            with Layer("div", classes="hw-row"):
                Button("Write over it", lambda: save(True))
                Button("Leave it", lambda: set_asked(""), kind="quiet")
    else:
        Button("Save", lambda: save(False), kind="main")
    if wrong:
        tag("p", wrong, classes="hw-field-error", attributes={"role": "alert"})


@solara.component
def Open(bench: Bench, now: object) -> None:
    """Open another tank in the place of this one; a bad file changes nothing.

    Parameters
    ----------
    bench
        What is worked on.
    now
        `Bench.now`, so that it is rendered again when that has changed.
    """
    nothing: tuple[tuple[str, str], ...] = ()
    wrong, set_wrong = solara.use_state(nothing)
    # what waits for a yes: "file" and its path, or "text", its name and itself
    waiting, set_waiting = solara.use_state(("", "", ""))

    def told(done: bool) -> None:
        if done:
            set_wrong(())
            bench.session.say(f"Open: {bench.tank.name}.")
            return
        problems = bench.refusal.problems if bench.refusal is not None else ()
        set_wrong(tuple((problem.where, problem.sentence) for problem in problems))
        bench.session.say("That file could not be opened; everything is as it was.")

    def open_now(kind: str, name: str, text: str) -> None:
        set_waiting(("", "", ""))
        if kind == "file":
            told(bench.open_listed(name))
        elif kind == "text":
            told(bench.open_text(text, name=name))

    def ask(kind: str, name: str, text: str = "") -> None:
        if bench.tank.changed:
            set_waiting((kind, name, text))
        else:
            open_now(kind, name, text)

    tag("h3", "Open")
    files = bench.files
    if files:
        options = [("", "choose a file"), *((str(p), p.name) for p in files)]
        shown = waiting[1] if waiting[0] == "file" else ""
        Chosen("A tank of these folders", options, shown, lambda path: ask("file", path))
    if waiting[0]:
        with Layer("div", classes="hw-asked-over", role="alert"):
            tag("p", "This tank is not saved as it stands. Open the other in its place?")
            with Layer("div", classes="hw-row"):
                Button("Open it", lambda: open_now(*waiting))
                Button("Leave it", lambda: set_waiting(("", "", "")), kind="quiet")
    Handed(
        "A file of your own",
        lambda name, text: ask("text", name, text),
        most_bytes=LARGEST_FILE_BYTES,
        hint="It is opened in the place of this tank. A variant needs its base beside it: open it "
        "from its folder.",
    )
    if wrong:
        with Layer("div", role="alert", name="What is wrong with the file"):
            tag("p", "That file could not be opened:")
            with Layer("ul", classes="hw-said"):
                for where, sentence in wrong:
                    said = f"{where}: {sentence}" if where else sentence
                    tag("li", said, classes="hw-problem")

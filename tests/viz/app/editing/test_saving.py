"""Files are read and written where one pointed, and never over another in silence."""

from __future__ import annotations

import os

import pytest

from sim.check import check_file
from sim.errors import Refused
from tests.viz.app.editing.made import SCENARIOS, shipped
from viz.app.editing.furnish import move_piece
from viz.app.editing.saving import Occupied, file_name, save, suggested_name
from viz.app.editing.shelf import digest_of, folders, listed, path_listed


def test_what_is_saved_is_what_the_command_line_reads(tmp_path):
    for path in sorted(SCENARIOS.glob("*.toml")):
        scenario = check_file(path).scenario
        saved = save(scenario, path.name, folder=tmp_path)
        assert saved.file == tmp_path.resolve() / path.name
        assert check_file(saved.file).scenario == scenario, path.name
        assert saved.digest == digest_of(saved.file)


def test_nothing_is_written_over_in_silence(tmp_path):
    (tmp_path / "mine.toml").write_text("# my remarks\n")
    with pytest.raises(Occupied, match="there is a file of that name already"):
        save(shipped(), "mine", folder=tmp_path)
    assert (tmp_path / "mine.toml").read_text() == "# my remarks\n"
    save(shipped(), "mine", folder=tmp_path, over=True)
    assert check_file(tmp_path / "mine.toml").scenario == shipped()
    assert [p.name for p in tmp_path.iterdir()] == ["mine.toml"]


def test_a_change_by_another_program_is_told(tmp_path):
    saved = save(shipped(), "mine", folder=tmp_path)
    with pytest.raises(Occupied) as refusal:
        save(shipped(), "mine", folder=tmp_path, seen=saved.digest)
    assert "another program" not in str(refusal.value)
    saved.file.write_text("# theirs\n")
    with pytest.raises(Occupied, match="another program has changed it since it was opened"):
        save(shipped(), "mine", folder=tmp_path, seen=saved.digest)


@pytest.mark.parametrize(
    "name",
    [
        "",
        "  ",
        ".toml",
        ".hidden",
        "../up",
        "a/b",
        "a\\b",
        "/etc/passwd",
        "C:x",
        "x" * 90,
        "a\nb\0",
    ],
)
def test_a_name_is_a_plain_name(name, tmp_path):
    with pytest.raises(Refused, match="expected a plain name"):
        save(shipped(), name, folder=tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_name_gets_its_ending():
    assert file_name("  my   tank ") == "my tank.toml"
    assert file_name("A.TOML") == "A.TOML"


def test_a_link_does_not_lead_out_of_the_folder(tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "in").mkdir()
    (tmp_path / "out" / "other.toml").write_text("# theirs\n")
    os.symlink(tmp_path / "out" / "other.toml", tmp_path / "in" / "mine.toml")
    with pytest.raises(Refused, match="this is a link to another folder"):
        save(shipped(), "mine", folder=tmp_path / "in", over=True)
    assert (tmp_path / "out" / "other.toml").read_text() == "# theirs\n"


def test_a_tank_that_cannot_be_played_is_not_written(tmp_path):
    bad = move_piece(shipped(), "stone row", x_m=0.0, y_m=0.2)
    with pytest.raises(Refused, match="cannot be played as it stands"):
        save(bad, "mine", folder=tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_cannot_be_written_to_is_a_sentence(tmp_path):
    with pytest.raises(Refused, match="it could not be written"):
        save(shipped(), "mine", folder=tmp_path / "nowhere")


def test_a_name_is_suggested_that_nothing_has(tmp_path):
    first = suggested_name(shipped(), folder=tmp_path)
    assert first == "convict-pair-four-feet.toml"
    save(shipped(), first, folder=tmp_path)
    assert suggested_name(shipped(), folder=tmp_path) == "convict-pair-four-feet-2.toml"


def test_only_what_lies_in_the_folders_is_listed(tmp_path):
    for folder, name in (("a", "x.toml"), ("a", "notes.txt"), ("b", "y.toml"), ("c", "z.toml")):
        (tmp_path / folder).mkdir(exist_ok=True)
        (tmp_path / folder / name).write_text("")
    there = folders(started_in=tmp_path / "a", files=(tmp_path / "b" / "y.toml", None))
    assert [path.name for path in listed(there)] == ["y.toml", "x.toml"]
    assert path_listed(str(listed(there)[0]), folders=there).name == "y.toml"
    for elsewhere in (str(tmp_path / "c" / "z.toml"), "/etc/passwd", f"{tmp_path}/a/../c/z.toml"):
        with pytest.raises(Refused, match="this is not in the folder that the app was started in"):
            path_listed(elsewhere, folders=there)


def test_a_link_that_leads_out_of_the_folder_is_not_listed_and_not_opened(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "own.toml").write_text("[tank]\n")
    (tmp_path / "a" / "kept.toml").write_text("[tank]\n")
    (tmp_path / "a" / "here.toml").symlink_to("kept.toml")
    (tmp_path / "a" / "out.toml").symlink_to(tmp_path / "own.toml")
    there = folders(started_in=tmp_path / "a", files=())
    assert [path.name for path in listed(there)] == ["here.toml", "kept.toml"]
    with pytest.raises(Refused, match="this is not in the folder"):
        path_listed(str(tmp_path / "a" / "out.toml"), folders=there)


def test_tanks_of_a_folder_of_scenarios_are_listed_and_what_is_plainly_no_tank_is_not(tmp_path):
    (tmp_path / "scenarios").mkdir()
    (tmp_path / "scenarios" / "four.toml").write_text('based_on = "other.toml"\n')
    (tmp_path / "pyproject.toml").write_text('[project]\nname = "x"\n')
    (tmp_path / "broken.toml").write_text("fish = [\n")  # what is wrong is said when it is opened
    there = folders(started_in=tmp_path)
    assert [path.name for path in listed(there)] == ["broken.toml", "four.toml"]

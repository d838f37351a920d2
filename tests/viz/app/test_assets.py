"""Browser files: listed, fetched once, verified, and refused in a sentence."""

from __future__ import annotations

import hashlib
import subprocess
import tarfile
from io import BytesIO
from pathlib import Path

import pytest

from sim.errors import Refused
from viz.app import assets
from viz.app.assets import Asset, asset_folder, asset_list, is_whole, ready_assets

CONTENT = {"dist/a.js": b"let a = 1;\n", "dist/b.css": b"b {}\n"}


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> tuple[Asset, ...]:
    """Stand two small files for the long list."""
    listed = tuple(
        Asset("@scope/part", "1.2.3", path, hashlib.sha256(content).hexdigest(), len(content))
        for path, content in CONTENT.items()
    )
    monkeypatch.setattr(assets, "asset_list", lambda: listed)
    return listed


def npm_that_packs(content: dict[str, bytes], calls: list[list[str]]):  # type: ignore[no-untyped-def]
    def run(command: list[str], *, cwd: str, **_: object) -> subprocess.CompletedProcess[str]:
        calls.append(command)
        with tarfile.open(Path(cwd) / "part.tgz", "w:gz") as archive:
            for name, held in content.items():
                info = tarfile.TarInfo(f"package/{name}")
                info.size = len(held)
                archive.addfile(info, BytesIO(held))
        return subprocess.CompletedProcess(command, 0, "", "")

    return run


def no_network(*_: object, **__: object) -> None:
    raise OSError("unreachable")


def test_the_list_is_of_the_versions_that_the_page_asks_for() -> None:
    from solara.server import server

    template = (Path(server.__file__).parent / "templates" / "solara.html.j2").read_text("utf-8")
    for asset in asset_list():
        if asset.path.endswith(("require.js", "fonts.css")):
            assert f"/{asset.place}" in template
    assert "solara-vuetify3-app@5.2.0/dist/solara-vuetify-app" in template
    assert len(asset_list()) == len({asset.place for asset in asset_list()}) > 30
    assert all(len(asset.sha256) == 64 and asset.size > 0 for asset in asset_list())


def test_the_network_is_the_one_of_solaras_settings() -> None:
    from solara.settings import Assets

    assert Assets.cdn.default == assets.CDN


def test_a_changed_list_gets_a_folder_of_its_own(small: tuple[Asset, ...]) -> None:
    with_small = asset_folder()
    assert with_small.name != hashlib.sha256(b"").hexdigest()[:16]
    assert len(with_small.name) == 16


@pytest.mark.usefixtures("small")
def test_npm_is_asked_once_and_never_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[list[str]] = []
    said: list[str] = []
    monkeypatch.setattr(assets.shutil, "which", lambda _: "/bin/npm")
    monkeypatch.setattr(assets.subprocess, "run", npm_that_packs(CONTENT, calls))
    folder = tmp_path / "kept"
    for _ in range(2):
        assert ready_assets(say=said.append, folder=folder) == folder
    assert [command[:3] for command in calls] == [["/bin/npm", "pack", "@scope/part@1.2.3"]]
    assert len(said) == 1
    assert "Later it needs no network" in said[0]
    assert (folder / "@scope/part@1.2.3/dist/a.js").read_bytes() == CONTENT["dist/a.js"]
    assert [path.name for path in tmp_path.iterdir()] == ["kept"]


@pytest.mark.usefixtures("small")
def test_without_npm_the_network_of_solara_is_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    def answer(url: str, **_: object) -> BytesIO:
        asked.append(url)
        return BytesIO(CONTENT[url.partition("@1.2.3/")[2]])

    monkeypatch.setattr(assets.shutil, "which", lambda _: None)
    monkeypatch.setattr(assets.urllib.request, "urlopen", answer)
    ready_assets(say=lambda _: None, folder=tmp_path / "kept")
    assert asked == [f"{assets.CDN}@scope/part@1.2.3/{path}" for path in CONTENT]


@pytest.mark.usefixtures("small")
def test_other_bytes_are_thrown_away_and_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spoilt = {**CONTENT, "dist/b.css": b"b { }"}
    monkeypatch.setattr(assets.shutil, "which", lambda _: "/bin/npm")
    monkeypatch.setattr(assets.subprocess, "run", npm_that_packs(spoilt, []))
    monkeypatch.setattr(assets.urllib.request, "urlopen", no_network)
    with pytest.raises(Refused) as refused:
        ready_assets(say=lambda _: None, folder=tmp_path / "kept")
    (problem,) = refused.value.problems
    assert "b.css came with other bytes than expected" in problem.sentence
    assert "cdn.jsdelivr.net did not give them" in problem.sentence
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("small")
def test_a_package_without_the_files_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(assets.shutil, "which", lambda _: "/bin/npm")
    monkeypatch.setattr(assets.subprocess, "run", npm_that_packs({"dist/c.js": b""}, []))
    monkeypatch.setattr(assets.urllib.request, "urlopen", no_network)
    with pytest.raises(Refused, match="came without what is needed"):
        ready_assets(say=lambda _: None, folder=tmp_path / "kept")


@pytest.mark.usefixtures("small")
def test_a_damaged_file_is_fetched_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    calls: list[list[str]] = []
    monkeypatch.setattr(assets.shutil, "which", lambda _: "/bin/npm")
    monkeypatch.setattr(assets.subprocess, "run", npm_that_packs(CONTENT, calls))
    folder = ready_assets(say=lambda _: None, folder=tmp_path / "kept")
    (folder / "@scope/part@1.2.3/dist/a.js").write_bytes(b"let a = 2;\n")
    assert not is_whole(folder)
    ready_assets(say=lambda _: None, folder=folder)
    assert is_whole(folder)
    assert len(calls) == 2


@pytest.mark.usefixtures("small")
def test_a_folder_that_cannot_be_made_is_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    with pytest.raises(Refused, match="cannot be kept there"):
        ready_assets(say=lambda _: None, folder=tmp_path / "file" / "kept")

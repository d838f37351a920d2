"""Assets: the browser files of Solara, fetched once, verified, and then served from this machine.

As installed, Solara lets the browser load its files from a content network. Here the exact files
are listed in ``assets.json`` with their SHA-256. They are fetched the first time, by the npm client
where there is one, else from the network that Solara's settings name; what does not have the digest
is thrown away. Afterwards no network is needed. None of them is part of this project.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import tarfile
import tempfile
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path, PurePosixPath

import platformdirs

from sim.errors import Problem, Refused

CDN = "https://cdn.jsdelivr.net/npm/"  # what `solara.settings.Assets.cdn` is; a test compares
_NPM_SECONDS = 300
_FILE_SECONDS = 30

Say = Callable[[str], None]


@dataclass(frozen=True)
class Asset:
    """One file for the browser.

    Parameters
    ----------
    package, version
        The npm package it is from.
    path
        Its place in the package.
    sha256
        Digest of its bytes, in hex.
    size
        Bytes.
    """

    package: str
    version: str
    path: str
    sha256: str
    size: int

    @property
    def place(self) -> str:
        """Where it stands below the folder, and in the address the browser asks for."""
        return f"{self.package}@{self.version}/{self.path}"


class Unfetched(Exception):  # noqa: N818  (read as a sentence)
    """A way of fetching did not work; the text says why."""


@cache
def asset_list() -> tuple[Asset, ...]:
    """Return every file that the browser needs."""
    table = json.loads(files("viz.app").joinpath("assets.json").read_text("utf-8"))
    return tuple(
        Asset(package["name"], package["version"], path, entry["sha256"], entry["bytes"])
        for package in table["packages"]
        for path, entry in package["files"].items()
    )


def asset_folder() -> Path:
    """Return where the files are kept: the user's cache, in a folder of this very list."""
    digest = hashlib.sha256("".join(asset.sha256 for asset in asset_list()).encode()).hexdigest()
    return Path(platformdirs.user_cache_dir("holdwater")) / "browser" / digest[:16]


def is_whole(folder: Path) -> bool:
    """Return whether a folder holds every file with the right bytes.

    Parameters
    ----------
    folder
        As `asset_folder` returns it.
    """
    return all(_is_right(folder / asset.place, asset) for asset in asset_list())


def ready_assets(*, say: Say, folder: Path | None = None) -> Path:
    """Return the folder of the browser files; fetch them if they are not there.

    Parameters
    ----------
    say
        Told in a sentence what is done, when it takes time.
    folder
        Where they are kept; the user's cache if left out.

    Raises
    ------
    Refused
        If they can be had in no way, or not be kept.
    """
    folder = folder or asset_folder()
    if is_whole(folder):
        return folder
    megabytes = sum(asset.size for asset in asset_list()) / 1e6
    say(f"Fetching the app's browser files, once: {megabytes:.1f} MB. Later it needs no network.")
    failed = []
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".fetching-") as passing:
            for fetch in (fetch_by_npm, fetch_from_cdn):
                try:
                    _keep(fetch(), Path(passing) / fetch.__name__)
                except Unfetched as unfetched:
                    failed.append(str(unfetched))
                    continue
                _put_in_place(Path(passing) / fetch.__name__, folder)
                return folder
    except OSError as error:
        reason = error.strerror or str(error)
        raise Refused(
            Problem(
                str(folder),
                f"the app's browser files cannot be kept there ({reason}); expected a folder that "
                "can be written. Make room, or set XDG_CACHE_HOME to another folder.",
            )
        ) from None
    raise Refused(
        Problem(
            "app",
            f"its browser files are not on this machine yet, and {'; '.join(failed)}; expected a "
            "network the first time. Connect and start it once more; the commands need none.",
        )
    )


def fetch_by_npm() -> Iterator[tuple[Asset, bytes]]:
    """Yield the files from the packages that the npm client fetches from its registry.

    Raises
    ------
    Unfetched
        If there is no npm client, or it cannot have them.
    """
    npm = shutil.which("npm")
    if npm is None:
        raise Unfetched("there is no npm client to fetch them")
    with tempfile.TemporaryDirectory(prefix="holdwater-npm-") as folder:
        for name, wanted in _by_package().items():
            try:
                done = subprocess.run(
                    [npm, "pack", name, "--silent", "--pack-destination", folder],
                    cwd=folder, capture_output=True, text=True, timeout=_NPM_SECONDS, check=False,
                )  # fmt: skip
            except (OSError, subprocess.TimeoutExpired) as error:
                raise Unfetched(f"npm could not be run ({type(error).__name__})") from None
            packed = sorted(Path(folder).glob("*.tgz"))
            if done.returncode != 0 or not packed:
                raise Unfetched(f"npm could not fetch {name}")
            yield from _unpacked(packed[0], wanted)
            packed[0].unlink()


def fetch_from_cdn() -> Iterator[tuple[Asset, bytes]]:
    """Yield the files from the content network of Solara's settings.

    Raises
    ------
    Unfetched
        If it cannot be reached.
    """
    host = CDN.split("/")[2]
    for asset in asset_list():
        try:
            with urllib.request.urlopen(CDN + asset.place, timeout=_FILE_SECONDS) as answer:
                yield asset, answer.read(asset.size + 1)
        except (OSError, urllib.error.URLError, ValueError):
            raise Unfetched(f"{host} did not give them") from None


def _by_package() -> dict[str, list[Asset]]:
    found: dict[str, list[Asset]] = {}
    for asset in asset_list():
        found.setdefault(f"{asset.package}@{asset.version}", []).append(asset)
    return found


def _unpacked(packed: Path, wanted: list[Asset]) -> Iterator[tuple[Asset, bytes]]:
    """Read single files out of a package; nothing is unpacked to where the package says."""
    try:
        with tarfile.open(packed) as archive:
            for asset in wanted:
                stream = archive.extractfile(f"package/{asset.path}")
                if stream is None:
                    raise Unfetched(f"{asset.package} holds no {asset.path}")
                yield asset, stream.read(asset.size + 1)
    except (tarfile.TarError, KeyError):
        raise Unfetched(f"{wanted[0].package} came without what is needed") from None


def _keep(found: Iterator[tuple[Asset, bytes]], folder: Path) -> None:
    for asset, content in found:
        if hashlib.sha256(content).hexdigest() != asset.sha256:
            name = PurePosixPath(asset.path).name
            raise Unfetched(f"{name} came with other bytes than expected and was thrown away")
        path = folder / asset.place
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


def _put_in_place(passing: Path, folder: Path) -> None:
    """Move what was fetched to where it stays; somebody else may have been faster."""
    if folder.exists() and not is_whole(folder):
        shutil.rmtree(folder)
    try:
        passing.rename(folder)
    except OSError:
        if not is_whole(folder):
            raise


def _is_right(path: Path, asset: Asset) -> bool:
    try:
        content = path.read_bytes()
    except OSError:
        return False
    return hashlib.sha256(content).hexdigest() == asset.sha256

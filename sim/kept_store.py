"""The store of kept runs: one file of SQLite in a folder, written in small whole steps.

A *question* is a scenario, a seed, settings and changed numbers, put to one version of the model.
Its key is the digest of them all: runs of two versions never meet. What is written at one time is
there whole or not at all, whenever the program is killed.
"""

from __future__ import annotations

import json
import os
import sqlite3
import threading
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from sim.errors import Problem, Refused
from sim.fields import shown
from sim.kept_question import Question, digest_of
from sim.kept_run import Damaged, as_bytes, checksum, parts_of
from sim.outcome import Outcome

FILE = "runs.sqlite"
APPLICATION = 0x48574B31  # "HWK1", so that another program's file is not taken for a store
FORMAT = 1
PATIENCE_S = 30.0  # that another program may be writing
BUSY_S = 0.01  # between two tries where SQLite itself does not wait

_TABLES = """
CREATE TABLE versions (id INTEGER PRIMARY KEY, key TEXT NOT NULL UNIQUE, facts TEXT NOT NULL);
CREATE TABLE questions (
    id INTEGER PRIMARY KEY, key TEXT NOT NULL UNIQUE,
    version INTEGER NOT NULL REFERENCES versions (id),
    hash TEXT NOT NULL, title TEXT NOT NULL, scenario TEXT NOT NULL, seed INTEGER NOT NULL,
    settings TEXT NOT NULL, changes TEXT NOT NULL
);
CREATE TABLE runs (
    question INTEGER NOT NULL REFERENCES questions (id), run INTEGER NOT NULL,
    checksum BLOB NOT NULL, data BLOB NOT NULL, UNIQUE (question, run)
);
"""

_ONE_RUN = """
SELECT CAST(checksum AS BLOB), CAST(data AS BLOB) FROM runs
JOIN questions ON questions.id = question WHERE key = ? AND run = ?
"""


class Store:
    """The runs kept in a folder.

    Parameters
    ----------
    folder
        Made if it is missing, unless `make` says otherwise.
    make
        Whether a store is made where there is none.
    where
        What a refusal points at.

    Raises
    ------
    Refused
        If there is no store and none can be made, or the file is none, or of a newer program.
    """

    def __init__(self, folder: Path, *, make: bool = True, where: str = "--keep") -> None:
        self.folder = folder
        self.where = where
        self.why_not = ""  # why nothing can be written; empty where it can
        self.found = self.added = 0  # runs that were read, and written, since it was opened
        self.damaged = 0  # of those read, runs that had to be played again
        self._lock = threading.RLock()
        with self._said("opened"):
            self._open(make=make)

    @property
    def file(self) -> Path:
        """The file that holds the runs."""
        return self.folder / FILE

    @property
    def writable(self) -> bool:
        """Whether runs can be added."""
        return not self.why_not

    def close(self) -> None:
        """Let go of the file."""
        with self._lock:
            self._base.close()

    def numbers(self, question: Question) -> np.ndarray:
        """Return the numbers of the runs that are kept of a question, rising, shape (n,)."""
        with self._said("read"), self._lock:
            rows = self._base.execute(
                "SELECT run FROM runs JOIN questions ON questions.id = question "
                "WHERE key = ? ORDER BY run",
                (question.key,),
            )
            return np.fromiter((run for (run,) in rows), dtype=np.int64)

    def get(self, question: Question, run: int) -> Outcome:
        """Return a kept run.

        Raises
        ------
        Damaged
            If it is not there, or its bytes are not those that were written.
        """
        with self._said("read"), self._lock:
            row = self._base.execute(
                _ONE_RUN,
                (question.key, run),
            ).fetchone()
        if row is None:
            raise Damaged("it is gone")
        return Outcome(**parts_of(row[0], row[1], run=run))

    def put(self, found: Iterable[tuple[Question, Outcome]]) -> None:
        """Add runs, all of them or none.

        Parameters
        ----------
        found
            Each with the question it answers; one that is there already is written anew.

        Raises
        ------
        Refused
            If they cannot be written; those that were there before are.
        """
        with self._said("written"), self._lock, self._step():
            for question, outcome in found:
                data = as_bytes(outcome)
                self._base.execute(
                    "INSERT OR REPLACE INTO runs (question, run, checksum, data) VALUES "
                    "((SELECT id FROM questions WHERE key = ?), ?, ?, ?)",
                    (self._asked(question), outcome.run, checksum(data), data),
                )

    def _asked(self, question: Question) -> str:
        """Write a question down, if it is not there, and return its key."""
        facts = json.dumps(question.version, sort_keys=True)
        self._base.execute(
            "INSERT OR IGNORE INTO versions (key, facts) VALUES (?, ?)", (digest_of(facts), facts)
        )
        self._base.execute(
            "INSERT OR IGNORE INTO questions "
            "(key, version, hash, title, scenario, seed, settings, changes) VALUES "
            "(?, (SELECT id FROM versions WHERE key = ?), ?, ?, ?, ?, ?, ?)",
            (
                question.key, digest_of(facts), question.hash, question.title, question.scenario,
                question.seed, json.dumps(question.settings), json.dumps(question.changes),
            ),
        )  # fmt: skip
        return question.key

    def questions(self) -> list[tuple[Question, int, int]]:
        """Return every question with the number of its runs and their bytes, oldest first."""
        with self._said("read"), self._lock:
            rows = self._base.execute(
                "SELECT questions.key, facts, hash, title, scenario, seed, settings, changes, "
                "count(run), coalesce(sum(length(data)), 0) FROM questions "
                "JOIN versions ON versions.id = version "
                "LEFT JOIN runs ON question = questions.id GROUP BY questions.id "
                "ORDER BY questions.id"
            ).fetchall()
        try:
            return [(_question_in(row), row[8], row[9]) for row in rows]
        except (ValueError, TypeError, RecursionError) as error:
            raise Refused(
                Problem(
                    self.where,
                    f"what was asked cannot be read in {shown(os.fspath(self.file))} ({error}); "
                    "expected a sound file. Put a copy of it in its place, or begin a new folder.",
                )
            ) from None

    def runs(self, question: Question) -> Iterator[tuple[int, bytes, bytes]]:
        """Yield number, checksum and bytes of every run of a question, one in memory at a time."""
        for run in self.numbers(question):
            with self._said("read"), self._lock:
                row = self._base.execute(
                    _ONE_RUN,
                    (question.key, int(run)),
                ).fetchone()
            yield (int(run), *row)

    def forget(self, question: Question, *, run: int | None = None) -> None:
        """Take out a question with its runs, or one of its runs.

        Raises
        ------
        Refused
            If nothing can be written.
        """
        which = "question = (SELECT id FROM questions WHERE key = ?)"
        with self._said("written"), self._lock, self._step():
            if run is not None:
                self._base.execute(
                    f"DELETE FROM runs WHERE {which} AND run = ?", (question.key, run)
                )
                return
            self._base.execute(f"DELETE FROM runs WHERE {which}", (question.key,))
            self._base.execute("DELETE FROM questions WHERE key = ?", (question.key,))
            self._base.execute(
                "DELETE FROM versions WHERE id NOT IN (SELECT version FROM questions)"
            )

    def shrink(self) -> None:
        """Give back the room of what was taken out."""
        with self._said("written"), self._lock:
            self._base.execute("VACUUM")
            self._base.execute("PRAGMA wal_checkpoint(TRUNCATE)")

    def faults(self) -> list[str]:
        """Return what SQLite finds wrong with the file; empty where it is sound."""
        try:
            with self._lock:
                rows = self._base.execute("PRAGMA integrity_check").fetchall()
        except sqlite3.DatabaseError as error:
            return [str(error)]
        return [words for (words,) in rows if words != "ok"]

    def _open(self, *, make: bool) -> None:
        if not self.file.exists():
            if not make:
                raise Refused(
                    Problem(
                        self.where,
                        f"got {shown(str(self.folder))}, which holds no kept runs; expected a "
                        "folder that was given to --keep.",
                    )
                )
            self.folder.mkdir(exist_ok=True)
        try:
            self._base = self._writing("rwc" if make else "rw")
        except sqlite3.OperationalError as error:
            self.why_not = str(error)
            self._base = self._reading(error)
        try:
            self._check()
        except BaseException:
            self._base.close()
            raise

    def _check(self) -> None:
        if self._number("application_id") != APPLICATION:
            raise Refused(
                Problem(
                    self.where,
                    f"got {shown(str(self.file))}, which is no file of kept runs; expected one, or "
                    "none. Name another folder.",
                )
            )
        if self._number("user_version") > FORMAT:
            raise Refused(
                Problem(
                    self.where,
                    f"the runs in {shown(str(self.folder))} were kept by a newer program; expected "
                    "one as old as this or older. Take the newer program, or another folder.",
                )
            )

    def _writing(self, mode: str) -> sqlite3.Connection:
        """Return a connection that may write, the tables made where there are none."""
        self._base = self._to(f"mode={mode}")
        try:
            self._use_wal()
            self._base.execute("PRAGMA synchronous = NORMAL")
            with self._step():
                if self._number("application_id") == 0 and not self._tables():
                    for statement in _TABLES.strip().split(";\n"):
                        self._base.execute(statement)
                    self._base.execute(f"PRAGMA application_id = {APPLICATION}")
                    self._base.execute(f"PRAGMA user_version = {FORMAT}")
        except BaseException:
            self._base.close()
            raise
        return self._base

    def _use_wal(self) -> None:
        """Turn to a log written ahead; SQLite does not wait here for another that does the same."""
        ends = time.monotonic() + PATIENCE_S
        while True:
            try:
                self._base.execute("PRAGMA journal_mode = WAL")
            except sqlite3.OperationalError as error:
                busy = (error.sqlite_errorcode & 0xFF) == sqlite3.SQLITE_BUSY
                if not busy or time.monotonic() > ends:
                    raise
                time.sleep(BUSY_S)
            else:
                return

    def _to(self, how: str) -> sqlite3.Connection:
        return sqlite3.connect(
            f"{self.file.absolute().as_uri()}?{how}",
            uri=True,
            timeout=PATIENCE_S,
            isolation_level=None,
            check_same_thread=False,
        )

    def _reading(self, error: sqlite3.OperationalError) -> sqlite3.Connection:
        """Return a connection to a store that cannot be written."""
        if not self.file.exists() or self.file.stat().st_size == 0:
            raise error
        journal = self.file.with_name(f"{FILE}-wal")
        quiet = not journal.exists() or journal.stat().st_size == 0
        for how in ("mode=ro", *(("mode=ro&immutable=1",) if quiet else ())):
            base = self._to(how)
            try:
                base.execute("SELECT count(*) FROM questions").fetchone()
            except sqlite3.OperationalError:
                base.close()
            else:
                return base
        raise error

    def _tables(self) -> int:
        return int(self._base.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])

    def _number(self, name: str) -> int:
        return int(self._base.execute(f"PRAGMA {name}").fetchone()[0])

    @contextmanager
    def _step(self) -> Iterator[None]:
        """Do all of a block or none of it."""
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._base.execute("COMMIT")
        except BaseException:
            if self._base.in_transaction:
                self._base.execute("ROLLBACK")
            raise

    @contextmanager
    def _said(self, done: str) -> Iterator[None]:
        """Turn what SQLite or the system says into a sentence."""
        try:
            yield
        except (sqlite3.Error, OSError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            raise Refused(
                Problem(
                    self.where,
                    f"the kept runs in {shown(os.fspath(self.folder))} could not be {done} "
                    f"({reason}); expected a folder one may write to, with room left, and a sound "
                    "file. What was kept before is still there: make room or name another folder, "
                    "and ask again.",
                )
            ) from None


def _question_in(row: tuple[Any, ...]) -> Question:
    key, version, digest, title, scenario, seed, settings, changes = row[:8]
    return Question(
        key=str(key),
        version=dict(json.loads(version)),
        hash=str(digest),
        title=str(title),
        scenario=str(scenario),
        seed=int(seed),
        settings=dict(json.loads(settings)),
        changes=dict(json.loads(changes)),
    )

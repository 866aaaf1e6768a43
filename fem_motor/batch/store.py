"""Results on disk by what they are results of: one SQLite file, safe for several processes.

SQLite writes a row whole or not at all, whatever ends the process, and lets one process write at a
time; nothing finished is lost. Rows hold no times and no places, so that a store filled in
pieces, in any order, says the same as one filled at once.
"""

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path

from fem_motor.batch.records import Outcome, Status
from fem_motor.errors import InputError

FORMAT = 1
PATIENCE = 60.0
"""s to wait for another process that is writing; a row takes milliseconds."""

AT_ONCE = 500
"""Keys in one question to SQLite, which takes at least 999."""

_APPLICATION = 0x66656D6D
"""Marks the file as ours: "femm" in ASCII, as SQLite's application_id."""

_TABLE = """
CREATE TABLE IF NOT EXISTS outcomes (
    key TEXT PRIMARY KEY, title TEXT NOT NULL, status TEXT NOT NULL, reason TEXT NOT NULL,
    result TEXT NOT NULL
) WITHOUT ROWID
"""


class ResultStore:
    """Outcomes by their keys, in a file that is made where there is none.

    Parameters
    ----------
    path : Path or str

    Raises
    ------
    InputError
        Where the file is not a store of ours, cannot be made, read or written.
    """

    def __init__(self, path: Path | str) -> None:
        self.path = Path(path)
        if self._holds_something():
            self._refuse_strangers()
        with self._open() as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            # In one step: another process sees a store or an empty file, nothing between.
            connection.execute("BEGIN IMMEDIATE")
            connection.execute(f"PRAGMA application_id = {_APPLICATION}")
            connection.execute(f"PRAGMA user_version = {FORMAT}")
            connection.execute(_TABLE)

    def found(self, keys: Iterable[str]) -> Mapping[str, Outcome]:
        """Return what is known of `keys`; what was lost counts as not known."""
        wanted = list(dict.fromkeys(keys))
        outcomes: dict[str, Outcome] = {}
        with self._open() as connection:
            for start in range(0, len(wanted), AT_ONCE):
                some = wanted[start : start + AT_ONCE]
                marks = ",".join("?" * len(some))
                rows = connection.execute(
                    f"SELECT key, title, status, reason, result FROM outcomes "  # noqa: S608  (marks only)
                    f"WHERE status <> 'lost' AND key IN ({marks})",
                    some,
                )
                outcomes |= {row[0]: _outcome(row) for row in rows}
        return outcomes

    def keep(self, outcome: Outcome) -> None:
        """Write an outcome, whole or not at all; what was known of its key is replaced."""
        row = (outcome.key, outcome.title, outcome.status, outcome.reason, outcome.text)
        with self._open() as connection:
            connection.execute("INSERT OR REPLACE INTO outcomes VALUES (?, ?, ?, ?, ?)", row)

    def all(self) -> tuple[Outcome, ...]:
        """Return every outcome, by key."""
        with self._open() as connection:
            rows = connection.execute(
                "SELECT key, title, status, reason, result FROM outcomes ORDER BY key"
            ).fetchall()
        return tuple(map(_outcome, rows))

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        try:
            with closing(sqlite3.connect(self.path, timeout=PATIENCE)) as connection, connection:
                yield connection
        except sqlite3.Error as error:
            raise self._unusable(f"{error}.") from error

    def _holds_something(self) -> bool:
        try:
            return self.path.stat().st_size > 0
        except FileNotFoundError:
            return False
        except OSError as error:  # in a folder that may not be searched
            raise self._unusable(f"{error.strerror or error}.") from error

    def _unusable(self, why: str) -> InputError:
        return InputError(
            "cannot be used as a store of results.",
            why=why,
            do="name another file with --store, make room on the disk, or allow writing there.",
            place=str(self.path),
        )

    def _refuse_strangers(self) -> None:
        with self._open() as connection:
            connection.execute("BEGIN")  # one view for the three questions
            mark = connection.execute("PRAGMA application_id").fetchone()[0]
            age = connection.execute("PRAGMA user_version").fetchone()[0]
            tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
        # Without a table it is one that another process is about to make.
        if (mark == _APPLICATION and age <= FORMAT) or (mark == 0 and tables == 0):
            return
        raise InputError(
            "is not a store of results.",
            why="it is a database of another program, or of a newer fem_motor.",
            do="name another file with --store; a new one is made where there is none.",
            place=str(self.path),
        )


def _outcome(row: tuple[str, str, Status, str, str]) -> Outcome:
    key, title, status, reason, text = row
    return Outcome(key=key, title=title, status=status, reason=reason, text=text)

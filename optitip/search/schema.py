"""The tables of a run's store, how a new one begins, and whether an old one is ours."""

import json
import platform
import sqlite3
import time
from importlib import metadata
from pathlib import Path

from optitip.errors import UserMistakes
from optitip.search.records import RunIdentity, Stage

SCHEMA = 3
_APPLICATION = 0x6F707469  # marks the file as ours, in SQLite's own header field
_PACKAGES = ("optitip", "numpy", "scipy", "numba")
_TABLES = (
    "CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID",
    "CREATE TABLE metric (place INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, unit TEXT NOT NULL)",
    "CREATE TABLE flow_state (place INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE)",
    """CREATE TABLE stint (
    number INTEGER PRIMARY KEY, started REAL NOT NULL, versions TEXT NOT NULL, study_hash TEXT NOT NULL,
    evaluations INTEGER, stage TEXT NOT NULL, ended TEXT NOT NULL)""",
    """CREATE TABLE asked (
    number INTEGER PRIMARY KEY, design_id TEXT NOT NULL, states TEXT NOT NULL, design TEXT NOT NULL,
    UNIQUE (design_id, states))""",
    """CREATE TABLE evaluation (
    number INTEGER PRIMARY KEY REFERENCES asked, stint INTEGER NOT NULL REFERENCES stint,
    created REAL NOT NULL, seconds REAL NOT NULL, outcome TEXT NOT NULL, detail TEXT NOT NULL,
    figures BLOB, sides BLOB)""",
    """CREATE TABLE milestone (
    searched INTEGER PRIMARY KEY, covered REAL NOT NULL, front_size INTEGER NOT NULL, reached REAL NOT NULL)
    """,
)


def write_head(connection: sqlite3.Connection, identity: RunIdentity) -> None:
    """Make a new store's tables, all of them or none."""
    meta = {"schema": str(SCHEMA), "study_hash": identity.study_hash, "seed": str(identity.seed)}
    with connection:
        connection.execute("BEGIN IMMEDIATE")
        connection.execute(f"PRAGMA application_id = {_APPLICATION}")
        connection.execute(f"PRAGMA user_version = {SCHEMA}")
        for table in _TABLES:
            connection.execute(table)
        connection.executemany("INSERT INTO meta VALUES (?, ?)", meta.items())


def begin_stint(connection: sqlite3.Connection, identity: RunIdentity) -> int:
    """Write a new stint down and return its number; a folder or file that can't be written says so."""
    versions = json.dumps({"python": platform.python_version(), **_versions()})
    row = (time.time(), versions, identity.study_hash, Stage.STARTING.value, "")
    with connection:
        connection.execute("BEGIN IMMEDIATE")
        cursor = connection.execute(
            "INSERT INTO stint (started, versions, study_hash, stage, ended) VALUES (?, ?, ?, ?, ?)", row
        )
    return int(cursor.lastrowid or 0)


def _versions() -> dict[str, str]:
    """Return the versions of what an answer depends on, of the packages that are installed."""
    found = {}
    for name in _PACKAGES:
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "none"
    return found


def check_head(path: Path, connection: sqlite3.Connection) -> None:
    """Raise a mistake unless the file is a run's store of this format."""
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    schema = connection.execute("PRAGMA user_version").fetchone()[0]
    if mark != _APPLICATION:
        raise UserMistakes.one(str(path), "this file is no run of optitip", "Name another folder")
    if schema != SCHEMA:
        raise UserMistakes.one(
            str(path),
            f"this run was written in format {schema}, and this version reads format {SCHEMA}",
            "Use the version that wrote it, or sweep into a new folder",
        )


def check_identity(path: Path, connection: sqlite3.Connection, identity: RunIdentity) -> None:
    """Raise a mistake unless the store belongs to this study and seed."""
    meta = dict(connection.execute("SELECT key, value FROM meta"))
    wanted = {"study_hash": identity.study_hash, "seed": str(identity.seed)}
    for key, name in (("study_hash", "study"), ("seed", "seed")):
        if meta[key] != wanted[key]:
            raise UserMistakes.one(
                str(path),
                f"this run belongs to another {name} ({meta[key]}, and now it is {wanted[key]})",
                "Sweep into a new folder, or put the study back as it was",
            )

"""More clubs like one that is there: each of its rows once more under other club ids, by SQL.

Keys open nothing in another club: a clone makes its own when it needs one, and what was sealed is left out.
"""

import os
import sqlite3
import subprocess
from uuid import UUID, uuid4


LEFT_OUT = ("club_keys", "idempotency_keys")


def add(database_url: str, club: str, number: int):
    """Adds so many copies of a club. Every key holds the club's id, so all other ids may stay."""
    path = database_url.removeprefix("sqlite://")
    if path == database_url:
        in_postgres(database_url, club, number)
    else:
        in_sqlite(path, club, number)


def statement(table: str, columns: list[str], new: str, old: str) -> str:
    taken = ", ".join(new if column == "club_id" else column for column in columns)
    return f"INSERT INTO {table} ({', '.join(columns)}) SELECT {taken} FROM {table} WHERE club_id = {old}"


def in_sqlite(path: str, club: str, number: int):
    with sqlite3.connect(path) as database:
        tables = [name for (name,) in database.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        columns = {table: [row[1] for row in database.execute(f"PRAGMA table_info({table})")] for table in tables}
        for _ in range(number):
            ids = (uuid4().bytes, UUID(club).bytes)
            for table in (table for table in tables if "club_id" in columns[table] and table not in LEFT_OUT):
                database.execute(statement(table, columns[table], "?", "?"), ids)
        database.execute("ANALYZE")
    database.close()


def in_postgres(url: str, club: str, number: int):
    found = psql(
        url,
        "SELECT table_name, string_agg(column_name, ',') FROM information_schema.columns "
        "WHERE table_schema = 'public' GROUP BY table_name HAVING bool_or(column_name = 'club_id')",
    )
    tables = [line.split("|") for line in found.splitlines() if line.split("|")[0] not in LEFT_OUT]
    # Rows come in any order of tables: foreign keys are not looked at meanwhile.
    script = ["SET session_replication_role = replica;"]
    for _ in range(number):
        new = f"'{uuid4()}'"
        script += [statement(table, columns.split(","), new, f"'{club}'") + ";" for table, columns in tables]
    psql(url, "\n".join(script))
    psql(url, "VACUUM ANALYZE")


def psql(url: str, script: str) -> str:
    command = ["psql", "--no-psqlrc", "--quiet", "--tuples-only", "--no-align", "--set=ON_ERROR_STOP=1", url]
    # Rows of all clubs, whoever writes.
    environment = {**os.environ, "PGOPTIONS": "-c plimsoll.every_club=on"}
    return subprocess.run(command, env=environment, input=script, text=True, capture_output=True, check=True).stdout

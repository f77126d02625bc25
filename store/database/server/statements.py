"""What whoever runs the server looks at and runs: the tables, and what an account may do with them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from armrise.store.database.declared import tables
from armrise.store.database.driver import StoreError
from armrise.store.database.server import dialect

_TABLES = """\
-- The tables of armrise, for a database of their own whose text is UTF8. To be run, or only read, by the
-- account that is to own them: armrise makes the same when that account begins a store. Nobody who treats
-- patients uses that account, for it alone could take the guards away."""
_ROLE = """\
-- What those who treat patients may do: read and add to the record, and change what lies on the desk.
-- To be run by the owner of the tables, once for each role and again after every update of armrise."""
_SETTLED = ("setting", "migration")
"""What the owner alone writes, when a store is begun or brought up to a newer schema."""


def tables_sql() -> str:
    """Statements that make every table, index and guard."""
    made: list[str] = ["BEGIN"]
    for table in tables():
        made += dialect.table_statements(table.name, dialect.create(table))
        for name, statement in table.create_indexes().items():
            made += dialect.index_statements(name, statement)
    guarded = [table for table in tables() if table.guarded]
    named = {n: (t.name, s) for t in guarded for n, s in dialect.guards(t.name, t.keys()).items()}
    for name, (table, statement) in named.items():
        made += dialect.guard_statements(table, name, statement)
    return _script(_TABLES, [*made, "COMMIT"])


def role_sql(role: str) -> str:
    """Statements that give a role what recording needs and no more. Raises :class:`StoreError`."""
    if not role.isascii() or not role.isidentifier() or len(role) > 63:
        raise StoreError(f'role "{role}": not taken, allowed are up to 63 plain letters, digits and _')
    return _script(_ROLE, _rights(f'"{role}"'))


def _rights(role: str) -> Iterator[str]:
    names = {table.name: f'"{table.name}"' for table in tables()}
    record = [names[table.name] for table in tables() if table.guarded and table.name not in _SETTLED]
    desk = [names[table.name] for table in tables() if not table.guarded]
    yield "BEGIN"
    yield "REVOKE CREATE ON SCHEMA public FROM PUBLIC"
    yield f"GRANT USAGE ON SCHEMA public TO {role}"
    yield f"REVOKE ALL ON {', '.join(names.values())} FROM PUBLIC, {role}"
    yield f"GRANT SELECT ON {', '.join(names.values())} TO {role}"
    yield f"GRANT INSERT ON {', '.join(record)} TO {role}"
    yield f"GRANT INSERT, UPDATE, DELETE ON {', '.join(desk)} TO {role}"
    yield "COMMIT"


def _script(head: str, statements: Iterable[str]) -> str:
    return f"{head}\n" + "".join(f"{statement};\n" for statement in statements)

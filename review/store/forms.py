"""The forms a database went through: which is the newest, and how one is brought to it."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine

from review.domain.errors import StoreBroken

_MIGRATIONS: Final = Path(__file__).with_name("migrations")


def newest_form() -> str | None:
    """Return the form that this version makes."""
    return _forms()[0]


def bring_to(engine: Engine, name: str, form: str | None = None) -> None:
    """Bring a database to a form, in one transaction.

    Parameters
    ----------
    engine
        Of the database. Its transactions that write wait for one another, so that one process alone does it.
    name
        What to call the database in an error.
    form
        Which form; None for the newest. One that is at a later form already stays there.

    Raises
    ------
    StoreBroken
        If it, or `form`, is of a newer version of Runthrough.
    """
    newest, known = _forms()
    with engine.execution_options(writing=False).begin() as connection:
        found = MigrationContext.configure(connection).get_current_revision()
    if found == newest:
        return
    strange = next((one for one in (found, form) if one is not None and one not in known), None)
    if strange is not None:
        raise StoreBroken(
            f"The database {name} was made by a newer version of Runthrough (its form is {strange!r}); expected one "
            f"up to {newest!r}. Nothing was changed; update Runthrough, or name another home."
        )
    config = migration_config()
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, form or "head")


@cache
def _forms() -> tuple[str | None, frozenset[str]]:
    """Return the newest form of the database, and all that this version knows."""
    script = ScriptDirectory.from_config(migration_config())
    return script.get_current_head(), frozenset(revision.revision for revision in script.walk_revisions())


def migration_config() -> Config:
    """Return what Alembic needs to find the migrations."""
    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config

"""What Alembic runs: the migrations, on the connection it is handed."""

from __future__ import annotations

from alembic import context

from review.store.tables import Base


def run() -> None:
    """Run the migrations asked for inside the caller's transaction."""
    context.configure(
        connection=context.config.attributes["connection"],
        target_metadata=Base.metadata,
        render_as_batch=True,
        transactional_ddl=True,
    )
    context.run_migrations()


if __name__ == "env_py":  # the name under which Alembic loads this file
    run()

"""Run by alembic: uses the connection that the program hands over."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=context.config.attributes.get("target_metadata"),
    render_as_batch=True,
    transactional_ddl=True,
)
context.run_migrations()

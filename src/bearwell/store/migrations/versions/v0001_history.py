"""The history: one row for each entry, never changed and never taken away."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of entries."""
    op.create_table(
        "bearwell_entry",
        sa.Column("seq", sa.Integer, primary_key=True, autoincrement=True),
        sa.Column("id", sa.String(36), nullable=False, unique=True),
        sa.Column("action", sa.String(36), nullable=False),
        sa.Column("garden", sa.String(36), nullable=False),
        sa.Column("subject", sa.Text, nullable=False),
        sa.Column("named", sa.Text, nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("day", sa.Date),
        sa.Column("recorded_at", sa.String(40), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("replaces", sa.String(36), nullable=False),
        sa.Column("undoes", sa.String(36), nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("bearwell_entry_action", "bearwell_entry", ["action"])
    op.create_index("bearwell_entry_subject", "bearwell_entry", ["subject", "named"])
    op.create_index("bearwell_entry_kind", "bearwell_entry", ["kind"])


def downgrade() -> None:
    """There is no way back: a backup was made before the step."""
    raise NotImplementedError("restore the backup that was made before the step")

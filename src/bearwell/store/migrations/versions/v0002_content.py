"""Files by content beside the history, for a store in a database without a folder."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of contents."""
    op.create_table(
        "bearwell_content",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )


def downgrade() -> None:
    """There is no way back: a backup was made before the step."""
    raise NotImplementedError("restore the backup that was made before the step")

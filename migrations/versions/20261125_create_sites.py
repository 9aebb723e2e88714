"""Create the tables of sites, their parts and their changes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "create_sites"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "sites",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("place_name", sa.String(length=80), nullable=False),
        sa.Column("code_edition", sa.String(length=8), nullable=False),
        sa.Column("people", sa.Integer(), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("head_seq", sa.Integer(), nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("deleted_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sites")),
    )
    op.create_table(
        "changes",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("seq", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(length=200), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("dropped", sa.Boolean(), nullable=False),
        sa.Column("parts", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_changes_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "seq", name=op.f("pk_changes")),
    )
    op.create_table(
        "double_throws",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("rating_a", sa.Float(), nullable=False),
        sa.Column("resting", sa.String(length=16), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["sites.id"], name=op.f("fk_double_throws_site_id_sites")
        ),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_double_throws")),
    )
    op.create_table(
        "feeders",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("from_id", sa.String(length=48), nullable=False),
        sa.Column("to_id", sa.String(length=48), nullable=False),
        sa.Column("to_input", sa.String(length=16), nullable=True),
        sa.Column("breaker_a", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_feeders_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_feeders")),
    )
    op.create_table(
        "generators",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("rated_kw", sa.Float(), nullable=False),
        sa.Column("system", sa.String(length=8), nullable=False),
        sa.Column("fuel", sa.String(length=16), nullable=False),
        sa.Column("portable", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["sites.id"], name=op.f("fk_generators_site_id_sites")
        ),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_generators")),
    )
    op.create_table(
        "panels",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("rating_a", sa.Float(), nullable=False),
        sa.Column("main_a", sa.Float(), nullable=True),
        sa.Column("spaces", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_panels_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_panels")),
    )
    op.create_table(
        "scenarios",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("start", sa.DateTime(), nullable=False),
        sa.Column("span_h", sa.Float(), nullable=False),
        sa.Column("step_s", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_scenarios_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_scenarios")),
    )
    op.create_table(
        "services",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("system", sa.String(length=8), nullable=False),
        sa.Column("main_a", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_services_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_services")),
    )
    op.create_table(
        "transfer_switches",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("rating_a", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["sites.id"], name=op.f("fk_transfer_switches_site_id_sites")
        ),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_transfer_switches")),
    )
    op.create_table(
        "zones",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("heat_setpoint_f", sa.Float(), nullable=False),
        sa.Column("cool_setpoint_f", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_zones_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_zones")),
    )
    op.create_table(
        "batteries",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("panel_id", sa.String(length=48), nullable=False),
        sa.Column("usable_kwh", sa.Float(), nullable=False),
        sa.Column("grid_forming", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "panel_id"],
            ["panels.site_id", "panels.id"],
            name=op.f("fk_batteries_site_id_panel_id_panels"),
        ),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_batteries_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_batteries")),
    )
    op.create_table(
        "circuits",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("panel_id", sa.String(length=48), nullable=False),
        sa.Column("poles", sa.Integer(), nullable=False),
        sa.Column("breaker_a", sa.Float(), nullable=False),
        sa.Column("load_class", sa.String(length=16), nullable=False),
        sa.Column("outage_role", sa.String(length=16), nullable=False),
        sa.Column("pinned", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "panel_id"],
            ["panels.site_id", "panels.id"],
            name=op.f("fk_circuits_site_id_panel_id_panels"),
        ),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_circuits_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_circuits")),
    )
    op.create_table(
        "solar",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("panel_id", sa.String(length=48), nullable=False),
        sa.Column("dc_kw", sa.Float(), nullable=False),
        sa.Column("ac_kw", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "panel_id"],
            ["panels.site_id", "panels.id"],
            name=op.f("fk_solar_site_id_panel_id_panels"),
        ),
        sa.ForeignKeyConstraint(["site_id"], ["sites.id"], name=op.f("fk_solar_site_id_sites")),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_solar")),
    )
    op.create_table(
        "appliances",
        sa.Column("site_id", sa.String(length=64), nullable=False),
        sa.Column("id", sa.String(length=48), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("body", sa.JSON(), nullable=False),
        sa.Column("circuit_id", sa.String(length=48), nullable=False),
        sa.Column("kind", sa.String(length=48), nullable=False),
        sa.Column("volts", sa.Integer(), nullable=False),
        sa.Column("load_w", sa.Float(), nullable=False),
        sa.Column("figure_source", sa.String(length=16), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "circuit_id"],
            ["circuits.site_id", "circuits.id"],
            name=op.f("fk_appliances_site_id_circuit_id_circuits"),
        ),
        sa.ForeignKeyConstraint(
            ["site_id"], ["sites.id"], name=op.f("fk_appliances_site_id_sites")
        ),
        sa.PrimaryKeyConstraint("site_id", "id", name=op.f("pk_appliances")),
    )


def downgrade() -> None:
    op.drop_table("appliances")
    op.drop_table("solar")
    op.drop_table("circuits")
    op.drop_table("batteries")
    op.drop_table("zones")
    op.drop_table("transfer_switches")
    op.drop_table("services")
    op.drop_table("scenarios")
    op.drop_table("panels")
    op.drop_table("generators")
    op.drop_table("feeders")
    op.drop_table("double_throws")
    op.drop_table("changes")
    op.drop_table("sites")

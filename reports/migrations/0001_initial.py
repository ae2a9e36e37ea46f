import django.db.models.deletion
import pgtrigger.compiler
from django.conf import settings
from django.db import migrations, models

import records.models.triggers


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("records", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Dossier",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("title", models.CharField(max_length=200)),
                ("request", models.TextField(help_text="The decision that it is made for")),
                ("requested_at", models.DateTimeField(auto_now_add=True)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("queued", "Waiting"),
                            ("building", "Being made"),
                            ("ready", "Ready"),
                            ("failed", "Failed"),
                        ],
                        default="queued",
                        max_length=8,
                    ),
                ),
                ("progress", models.PositiveSmallIntegerField(default=0, help_text="Per cent")),
                ("step", models.CharField(blank=True, max_length=120)),
                ("error", models.TextField(blank=True)),
                ("file", models.FileField(blank=True, upload_to="dossiers/")),
                ("sha256", models.CharField(blank=True, max_length=64)),
                ("page_count", models.PositiveIntegerField(blank=True, null=True)),
                ("case_sha256", models.CharField(blank=True, max_length=64)),
                ("finished_at", models.DateTimeField(blank=True, null=True)),
                ("signed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="dossiers",
                        to="records.object",
                    ),
                ),
                (
                    "requested_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="requested_dossiers",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "signed_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-requested_at", "-pk"],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="f255ea8c90f18466ebad1ab93a42e413b53fd06b",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_246aa",
                            table="reports_dossier",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="frozen_when_ready",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition="WHEN (OLD.state = 'ready' AND ROW(OLD.object_id, OLD.title, OLD.request, OLD.state, OLD.file, OLD.sha256, OLD.page_count, OLD.case_sha256, OLD.requested_by_id, OLD.finished_at) IS DISTINCT FROM ROW(NEW.object_id, NEW.title, NEW.request, NEW.state, NEW.file, NEW.sha256, NEW.page_count, NEW.case_sha256, NEW.requested_by_id, NEW.finished_at))",
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update rows from % table', TG_TABLE_NAME;",
                            hash="b8e5d01ef087c13e54152748766788fd15bd0a3b",
                            operation="UPDATE",
                            pgid="pgtrigger_frozen_when_ready_44b51",
                            table="reports_dossier",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_when_signed",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition="WHEN (OLD.signed_at IS NOT NULL)",
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update rows from % table', TG_TABLE_NAME;",
                            hash="eeb8199f83b2429acf58db5cc41e329f1a01191f",
                            operation="UPDATE",
                            pgid="pgtrigger_locked_when_signed_da2c6",
                            table="reports_dossier",
                            when="BEFORE",
                        ),
                    ),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "ready"), _negated=True),
                            models.Q(
                                models.Q(("file", ""), _negated=True),
                                ("sha256__regex", "^[0-9a-f]{64}$"),
                                ("finished_at__isnull", False),
                                ("page_count__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="reports_dossier_ready_has_file",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("progress__lte", 100)),
                        name="reports_dossier_progress_in_range",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("signed_at__isnull", True), ("state", "ready"), _connector="OR"
                        ),
                        name="reports_dossier_signed_when_ready",
                    ),
                ],
            },
        ),
        records.models.triggers.InstallTriggers(),
    ]

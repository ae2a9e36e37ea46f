"""Every table at once, for a new database; one that has taken the steps replaced goes on from them."""

import django.contrib.gis.db.models.fields
import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.lookups
import pgtrigger.compiler
from django.conf import settings
from django.db import migrations, models

import records.models.triggers


class Migration(migrations.Migration):
    replaces = [
        ("analyses", "0001_initial"),
        ("analyses", "0002_section_editor"),
        ("analyses", "0003_parts_of_signed_records"),
        ("analyses", "0004_evaluations"),
        ("analyses", "0005_numbering_rules"),
        ("analyses", "0006_references_and_numbering"),
    ]

    initial = True

    dependencies = [
        ("pghistory", "0007_auto_20250421_0444"),
        ("records", "0001_squashed_0011"),
    ]

    operations = [
        migrations.CreateModel(
            name="SamplingPoint",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("date", models.CharField(blank=True, max_length=80)),
                ("date_earliest", models.DateField(blank=True, editable=False, null=True)),
                ("date_latest", models.DateField(blank=True, editable=False, null=True)),
                ("number", models.CharField(max_length=24)),
                ("geometry", django.contrib.gis.db.models.fields.PointField(srid=0)),
                ("invasive", models.BooleanField(default=False, help_text="Material was removed")),
                (
                    "permission",
                    models.CharField(
                        blank=True,
                        help_text="Who allowed it, and under which reference",
                        max_length=200,
                    ),
                ),
                (
                    "purpose",
                    models.TextField(blank=True, help_text="The question that it was to answer"),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "campaign",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sampling_points",
                        to="records.campaign",
                    ),
                ),
                (
                    "face",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sampling_points",
                        to="records.face",
                    ),
                ),
                (
                    "taken_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sampling_points",
                        to="records.person",
                    ),
                ),
                (
                    "trace",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sampling_points",
                        to="records.trace",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["face", "number", "pk"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("withdrawn_at__isnull", True), ("withdrawn_why", "")),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                models.Q(("withdrawn_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="analyses_samplingpoint_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="analyses_samplingpoint_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="analyses_samplingpoint_no_bounds_without_date",
                    ),
                    models.UniqueConstraint(
                        fields=("face", "number"),
                        name="analyses_samplingpoint_number_once_per_face",
                        violation_error_message="This face already has a sampling point of that number.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("invasive", False),
                            models.Q(("permission", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="analyses_samplingpoint_invasive_needs_permission",
                        violation_error_message="Say who allowed material to be removed.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="28506adb491a3e843cb65848e50a0e291df13e36",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_7a2fc",
                            table="analyses_samplingpoint",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="2971e4aa71608b389b74e3c0917199b63da6926c",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_56441",
                            table="analyses_samplingpoint",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."face_id", OLD."number", OLD."geometry", OLD."invasive", OLD."permission", OLD."purpose", OLD."campaign_id", OLD."taken_by_id", OLD."trace_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."face_id", NEW."number", NEW."geometry", NEW."invasive", NEW."permission", NEW."purpose", NEW."campaign_id", NEW."taken_by_id", NEW."trace_id", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="62acd753629853e46994c20e40f91cfb263c17d6",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_5b903",
                            table="analyses_samplingpoint",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="geometry_on_face",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (NEW."geometry" IS NOT NULL)',
                            declare="DECLARE outline geometry; tolerance double precision;",
                            func='\n            IF NOT ST_IsValid(NEW."geometry") OR ST_IsEmpty(NEW."geometry") THEN\n                RAISE EXCEPTION \'The shape is not valid: %.\', ST_IsValidReason(NEW."geometry")\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            SELECT f.outline, f.tolerance_mm INTO outline, tolerance\n                FROM records_face f WHERE f.id = (NEW.face_id);\n            IF outline IS NOT NULL AND NOT ST_CoveredBy(NEW."geometry", outline)\n               AND NOT ST_CoveredBy(NEW."geometry", ST_Buffer(outline, tolerance)) THEN\n                RAISE EXCEPTION \'The shape lies % mm outside the outline of the face.\',\n                    round((SELECT max(ST_Distance(p.geom, outline))\n                           FROM ST_DumpPoints(NEW."geometry") p)::numeric, 1)\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            RETURN NEW;\n        ',
                            hash="223d36eae4bb845ede6380584787924e8d8273b6",
                            operation='INSERT OR UPDATE OF "geometry"',
                            pgid="pgtrigger_geometry_on_face_2cc4f",
                            table="analyses_samplingpoint",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="face_id_stays",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (OLD."face_id" IS DISTINCT FROM NEW."face_id")',
                            func="RAISE EXCEPTION 'A sampling point stays on its face: record a new one instead.' USING ERRCODE = 'check_violation';",
                            hash="0ca8fe2a0fde1b399a510178b78e4442249e86a7",
                            operation="UPDATE",
                            pgid="pgtrigger_face_id_stays_b6e23",
                            table="analyses_samplingpoint",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_samplingpointversion" ("campaign_id", "created_at", "date", "date_earliest", "date_latest", "face_id", "geometry", "id", "invasive", "note", "number", "permission", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "purpose", "taken_by_id", "trace_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."face_id", NEW."geometry", NEW."id", NEW."invasive", NEW."note", NEW."number", NEW."permission", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."purpose", NEW."taken_by_id", NEW."trace_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="1157c98e398ad0be95bbe890fc058596629a0782",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_a86f3",
                            table="analyses_samplingpoint",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."face_id", OLD."number", OLD."geometry", OLD."invasive", OLD."permission", OLD."purpose", OLD."campaign_id", OLD."taken_by_id", OLD."trace_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."face_id", NEW."number", NEW."geometry", NEW."invasive", NEW."permission", NEW."purpose", NEW."campaign_id", NEW."taken_by_id", NEW."trace_id", NEW."note"))',
                            func='INSERT INTO "analyses_samplingpointversion" ("campaign_id", "created_at", "date", "date_earliest", "date_latest", "face_id", "geometry", "id", "invasive", "note", "number", "permission", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "purpose", "taken_by_id", "trace_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."face_id", NEW."geometry", NEW."id", NEW."invasive", NEW."note", NEW."number", NEW."permission", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."purpose", NEW."taken_by_id", NEW."trace_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="8a5b202f820735fc7e50813cfba75a5a3dfbf068",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_78302",
                            table="analyses_samplingpoint",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Sample",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("number", models.CharField(max_length=40, unique=True)),
                ("container", models.CharField(blank=True, max_length=120)),
                (
                    "amount",
                    models.CharField(
                        blank=True, help_text="Size or mass when taken", max_length=120
                    ),
                ),
                (
                    "remains",
                    models.CharField(blank=True, help_text="What is left of it", max_length=200),
                ),
                ("kept_at", models.CharField(blank=True, max_length=200)),
                ("note", models.TextField(blank=True)),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "point",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="samples",
                        to="analyses.samplingpoint",
                    ),
                ),
            ],
            options={
                "ordering": ["number"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("withdrawn_at__isnull", True), ("withdrawn_why", "")),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                models.Q(("withdrawn_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="analyses_sample_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    )
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="2f661de012c55fdf838b2797430aaa8e2c4a9be4",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_5fc93",
                            table="analyses_sample",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="042dcb052f7d4e34d6e4b2d53fb1dacf4ad42118",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_c7ec9",
                            table="analyses_sample",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."point_id", OLD."number", OLD."container", OLD."amount", OLD."remains", OLD."kept_at", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."point_id", NEW."number", NEW."container", NEW."amount", NEW."remains", NEW."kept_at", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ca9b6c10be489f132101feab653da33ee831931c",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_d77dc",
                            table="analyses_sample",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_sampleversion" ("amount", "container", "created_at", "id", "kept_at", "note", "number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "point_id", "remains", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."amount", NEW."container", NEW."created_at", NEW."id", NEW."kept_at", NEW."note", NEW."number", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."point_id", NEW."remains", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="974b8a4fbad72dd34d10900022cec5db766b286c",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_b1b43",
                            table="analyses_sample",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."point_id", OLD."number", OLD."container", OLD."amount", OLD."remains", OLD."kept_at", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."point_id", NEW."number", NEW."container", NEW."amount", NEW."remains", NEW."kept_at", NEW."note"))',
                            func='INSERT INTO "analyses_sampleversion" ("amount", "container", "created_at", "id", "kept_at", "note", "number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "point_id", "remains", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."amount", NEW."container", NEW."created_at", NEW."id", NEW."kept_at", NEW."note", NEW."number", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."point_id", NEW."remains", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f1206a435a50fc98aa0d33d64d6f65c2f79b8dde",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_7065e",
                            table="analyses_sample",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Preparation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("cross_section", "Cross-section"),
                            ("thin_section", "Thin section"),
                            ("powder", "Powder mount"),
                            ("fibre", "Fibre mount"),
                            ("other", "Other preparation"),
                        ],
                        max_length=16,
                    ),
                ),
                ("number", models.CharField(max_length=40, unique=True)),
                (
                    "medium",
                    models.CharField(
                        blank=True, help_text="Embedding or mounting medium", max_length=120
                    ),
                ),
                (
                    "um_per_px",
                    models.FloatField(
                        blank=True, help_text="Scale of the image, µm per px", null=True
                    ),
                ),
                (
                    "scale",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"points": [[column, row], [column, row]], "length_um": 100}; empty: typed',
                    ),
                ),
                (
                    "boundaries",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text="Lines [[column, row], …] over the image from the bottom up, the lowest edge first: layer 1 lies between the first and the second",
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "image",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="preparations",
                        to="records.image",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "sample",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="preparations",
                        to="analyses.sample",
                    ),
                ),
            ],
            options={
                "ordering": ["number"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("withdrawn_at__isnull", True), ("withdrawn_why", "")),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                models.Q(("withdrawn_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="analyses_preparation_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("um_per_px__isnull", True), ("um_per_px__gt", 0), _connector="OR"
                        ),
                        name="analyses_preparation_scale_is_positive",
                        violation_error_message="A pixel is some µm wide: the scale is more than 0.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="78b1beae8ff2f199c6596b1d9544ddea78d2035a",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_f3039",
                            table="analyses_preparation",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="e53d430bebbaad9137063ae234be871a72057582",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_483c1",
                            table="analyses_preparation",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."sample_id", OLD."kind", OLD."number", OLD."medium", OLD."image_id", OLD."um_per_px", OLD."scale", OLD."boundaries", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."sample_id", NEW."kind", NEW."number", NEW."medium", NEW."image_id", NEW."um_per_px", NEW."scale", NEW."boundaries", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="9eb564dd4d314dbc88d4c8b3908ec664e12504de",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_74635",
                            table="analyses_preparation",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_preparationversion" ("boundaries", "created_at", "id", "image_id", "kind", "medium", "note", "number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "sample_id", "scale", "um_per_px", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."boundaries", NEW."created_at", NEW."id", NEW."image_id", NEW."kind", NEW."medium", NEW."note", NEW."number", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."sample_id", NEW."scale", NEW."um_per_px", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="421fc9515c0090fc4ceea4839b3d0f18f187b1cb",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_14424",
                            table="analyses_preparation",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."sample_id", OLD."kind", OLD."number", OLD."medium", OLD."image_id", OLD."um_per_px", OLD."scale", OLD."boundaries", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."sample_id", NEW."kind", NEW."number", NEW."medium", NEW."image_id", NEW."um_per_px", NEW."scale", NEW."boundaries", NEW."note"))',
                            func='INSERT INTO "analyses_preparationversion" ("boundaries", "created_at", "id", "image_id", "kind", "medium", "note", "number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "sample_id", "scale", "um_per_px", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."boundaries", NEW."created_at", NEW."id", NEW."image_id", NEW."kind", NEW."medium", NEW."note", NEW."number", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."sample_id", NEW."scale", NEW."um_per_px", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f7bced26c82bd1efae79a632c3b4e6e8115ff192",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_6ccbc",
                            table="analyses_preparation",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Layer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("number", models.PositiveSmallIntegerField(help_text="1 is the lowest")),
                ("description", models.CharField(max_length=200)),
                ("thickness_min_um", models.FloatField(blank=True, null=True)),
                ("thickness_max_um", models.FloatField(blank=True, null=True)),
                (
                    "thickness_mean_um",
                    models.FloatField(
                        blank=True,
                        help_text="Mean of what was measured between the boundaries",
                        null=True,
                    ),
                ),
                ("colour", models.CharField(blank=True, max_length=80)),
                (
                    "colour_hex",
                    models.CharField(blank=True, help_text="For drawings: #rrggbb", max_length=7),
                ),
                (
                    "colour_lab",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.FloatField(),
                        blank=True,
                        help_text="CIELAB (D65, 2°) of the median inside the layer, measured on the image",
                        null=True,
                        size=3,
                    ),
                ),
                (
                    "munsell",
                    models.CharField(blank=True, help_text="By eye: 2.5YR 5/6, N 7", max_length=24),
                ),
                ("fluorescence", models.CharField(blank=True, max_length=120)),
                ("particles", models.TextField(blank=True)),
                (
                    "interpretation",
                    models.TextField(blank=True, help_text="What the layer is taken for, and why"),
                ),
                (
                    "trace",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="layers",
                        to="records.trace",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "preparation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="layers",
                        to="analyses.preparation",
                    ),
                ),
            ],
            options={
                "ordering": ["preparation", "number"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("withdrawn_at__isnull", True), ("withdrawn_why", "")),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                models.Q(("withdrawn_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="analyses_layer_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("preparation", "number"),
                        name="analyses_layer_number_once_per_section",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("number__gte", 1)), name="analyses_layer_counts_from_1"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("thickness_min_um__isnull", True),
                                ("thickness_min_um__gte", 0),
                                _connector="OR",
                            ),
                            models.Q(
                                ("thickness_min_um__isnull", True),
                                ("thickness_max_um__isnull", True),
                                ("thickness_min_um__lte", models.F("thickness_max_um")),
                                _connector="OR",
                            ),
                        ),
                        name="analyses_layer_thickness_in_order",
                        violation_error_message="Thickness runs from the least to the most, in µm.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("colour_hex", ""),
                            ("colour_hex__regex", "^#[0-9a-fA-F]{6}$"),
                            _connector="OR",
                        ),
                        name="analyses_layer_colour_is_hex",
                        violation_error_message="A colour for drawings is written #rrggbb.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="7f0bf57e26d3cb81cedeb08a1bf5dc5b545be24a",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_384a7",
                            table="analyses_layer",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="69fda85de1d79499d7b6022a7340543672b8ea78",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_29f44",
                            table="analyses_layer",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."preparation_id", OLD."number", OLD."description", OLD."thickness_min_um", OLD."thickness_max_um", OLD."thickness_mean_um", OLD."colour", OLD."colour_hex", OLD."colour_lab", OLD."munsell", OLD."fluorescence", OLD."particles", OLD."interpretation", OLD."trace_id") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."preparation_id", NEW."number", NEW."description", NEW."thickness_min_um", NEW."thickness_max_um", NEW."thickness_mean_um", NEW."colour", NEW."colour_hex", NEW."colour_lab", NEW."munsell", NEW."fluorescence", NEW."particles", NEW."interpretation", NEW."trace_id"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="07ae3d2f6d2605b81b7b11f3c500b2b97583dcdd",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_c290e",
                            table="analyses_layer",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_layerversion" ("colour", "colour_hex", "colour_lab", "created_at", "description", "fluorescence", "id", "interpretation", "munsell", "number", "particles", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "preparation_id", "thickness_max_um", "thickness_mean_um", "thickness_min_um", "trace_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."colour", NEW."colour_hex", NEW."colour_lab", NEW."created_at", NEW."description", NEW."fluorescence", NEW."id", NEW."interpretation", NEW."munsell", NEW."number", NEW."particles", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."preparation_id", NEW."thickness_max_um", NEW."thickness_mean_um", NEW."thickness_min_um", NEW."trace_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="73b28bd7361908f7bf0bce441f029cdee73ac7dc",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_9085e",
                            table="analyses_layer",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."preparation_id", OLD."number", OLD."description", OLD."thickness_min_um", OLD."thickness_max_um", OLD."thickness_mean_um", OLD."colour", OLD."colour_hex", OLD."colour_lab", OLD."munsell", OLD."fluorescence", OLD."particles", OLD."interpretation", OLD."trace_id") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."preparation_id", NEW."number", NEW."description", NEW."thickness_min_um", NEW."thickness_max_um", NEW."thickness_mean_um", NEW."colour", NEW."colour_hex", NEW."colour_lab", NEW."munsell", NEW."fluorescence", NEW."particles", NEW."interpretation", NEW."trace_id"))',
                            func='INSERT INTO "analyses_layerversion" ("colour", "colour_hex", "colour_lab", "created_at", "description", "fluorescence", "id", "interpretation", "munsell", "number", "particles", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "preparation_id", "thickness_max_um", "thickness_mean_um", "thickness_min_um", "trace_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."colour", NEW."colour_hex", NEW."colour_lab", NEW."created_at", NEW."description", NEW."fluorescence", NEW."id", NEW."interpretation", NEW."munsell", NEW."number", NEW."particles", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."preparation_id", NEW."thickness_max_um", NEW."thickness_mean_um", NEW."thickness_min_um", NEW."trace_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="3b5e281a581e258049ed5b3b41d51dd6964ed1e0",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_54907",
                            table="analyses_layer",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Analysis",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("signed_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("date", models.CharField(blank=True, max_length=80)),
                ("date_earliest", models.DateField(blank=True, editable=False, null=True)),
                ("date_latest", models.DateField(blank=True, editable=False, null=True)),
                ("instrument", models.CharField(blank=True, max_length=200)),
                (
                    "settings",
                    models.JSONField(
                        blank=True, default=dict, help_text="Named settings with units"
                    ),
                ),
                ("raw_file", models.FileField(blank=True, upload_to="raw/")),
                ("raw_sha256", models.CharField(blank=True, max_length=64)),
                ("note", models.TextField(blank=True)),
                (
                    "campaign",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="analyses",
                        to="records.campaign",
                    ),
                ),
                (
                    "operator",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="analyses",
                        to="records.person",
                    ),
                ),
                (
                    "reference_for",
                    models.ForeignKey(
                        blank=True,
                        help_text="The material that the curve is a reference of, in the department's collection",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reference_analyses",
                        to="records.material",
                    ),
                ),
                (
                    "signed_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "technique",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="analyses",
                        to="records.technique",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "layer",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)s_set",
                        to="analyses.layer",
                    ),
                ),
                (
                    "sample",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)s_set",
                        to="analyses.sample",
                    ),
                ),
                (
                    "point",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)s_set",
                        to="analyses.samplingpoint",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "analyses",
                "ordering": ["date_earliest", "pk"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("withdrawn_at__isnull", True), ("withdrawn_why", "")),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                models.Q(("withdrawn_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="analyses_analysis_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="analyses_analysis_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="analyses_analysis_no_bounds_without_date",
                    ),
                    models.CheckConstraint(
                        condition=django.db.models.lookups.Exact(
                            models.Func(
                                "point",
                                "sample",
                                "layer",
                                function="num_nonnulls",
                                output_field=models.IntegerField(),
                            ),
                            1,
                        ),
                        name="analyses_analysis_at_one_target",
                        violation_error_message="Name a sampling point, a sample or a layer: one of them.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("raw_file", ""),
                            ("raw_sha256__regex", "^[0-9a-f]{64}$"),
                            _connector="OR",
                        ),
                        name="analyses_analysis_raw_file_has_sha256",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("reference_for__isnull", True),
                            models.Q(("raw_file", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="analyses_analysis_reference_has_raw_file",
                        violation_error_message="A reference is a curve: add its raw data file.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="d96c8f3314695561e600c1f97339e350d54d794d",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_a1a90",
                            table="analyses_analysis",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="f0131e2355aa74c0aef8b498d2bc8baec8d2e413",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_e39d9",
                            table="analyses_analysis",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."point_id", OLD."sample_id", OLD."layer_id", OLD."technique_id", OLD."campaign_id", OLD."operator_id", OLD."instrument", OLD."settings", OLD."raw_file", OLD."raw_sha256", OLD."reference_for_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."point_id", NEW."sample_id", NEW."layer_id", NEW."technique_id", NEW."campaign_id", NEW."operator_id", NEW."instrument", NEW."settings", NEW."raw_file", NEW."raw_sha256", NEW."reference_for_id", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="527e5fb63522472019202a50f7fbe769cbd34957",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_20b77",
                            table="analyses_analysis",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_when_signed",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (OLD.signed_at IS NOT NULL AND ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."point_id", OLD."sample_id", OLD."layer_id", OLD."technique_id", OLD."campaign_id", OLD."operator_id", OLD."instrument", OLD."settings", OLD."raw_file", OLD."raw_sha256", OLD."reference_for_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."point_id", NEW."sample_id", NEW."layer_id", NEW."technique_id", NEW."campaign_id", NEW."operator_id", NEW."instrument", NEW."settings", NEW."raw_file", NEW."raw_sha256", NEW."reference_for_id", NEW."note"))',
                            func="RAISE EXCEPTION 'The record is signed and locked: add an amendment instead.' USING ERRCODE = 'check_violation';",
                            hash="f8f4159b17451136e62f37a3ec73d0ac439e0563",
                            operation="UPDATE",
                            pgid="pgtrigger_locked_when_signed_87dd4",
                            table="analyses_analysis",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_analysisversion" ("campaign_id", "created_at", "date", "date_earliest", "date_latest", "id", "instrument", "layer_id", "note", "operator_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "point_id", "raw_file", "raw_sha256", "reference_for_id", "sample_id", "settings", "signed_at", "signed_by_id", "technique_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."instrument", NEW."layer_id", NEW."note", NEW."operator_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."point_id", NEW."raw_file", NEW."raw_sha256", NEW."reference_for_id", NEW."sample_id", NEW."settings", NEW."signed_at", NEW."signed_by_id", NEW."technique_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="b2437174c6a0feaba6bbcf411222a1e2a6191613",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_b95a7",
                            table="analyses_analysis",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."point_id", OLD."sample_id", OLD."layer_id", OLD."technique_id", OLD."campaign_id", OLD."operator_id", OLD."instrument", OLD."settings", OLD."raw_file", OLD."raw_sha256", OLD."reference_for_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."point_id", NEW."sample_id", NEW."layer_id", NEW."technique_id", NEW."campaign_id", NEW."operator_id", NEW."instrument", NEW."settings", NEW."raw_file", NEW."raw_sha256", NEW."reference_for_id", NEW."note"))',
                            func='INSERT INTO "analyses_analysisversion" ("campaign_id", "created_at", "date", "date_earliest", "date_latest", "id", "instrument", "layer_id", "note", "operator_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "point_id", "raw_file", "raw_sha256", "reference_for_id", "sample_id", "settings", "signed_at", "signed_by_id", "technique_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."instrument", NEW."layer_id", NEW."note", NEW."operator_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."point_id", NEW."raw_file", NEW."raw_sha256", NEW."reference_for_id", NEW."sample_id", NEW."settings", NEW."signed_at", NEW."signed_by_id", NEW."technique_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="7bce16b99305db3b93bc63c79ed008e570d4df4b",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_1017c",
                            table="analyses_analysis",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="AnalysisVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("signed_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("date", models.CharField(blank=True, max_length=80)),
                ("date_earliest", models.DateField(blank=True, editable=False, null=True)),
                ("date_latest", models.DateField(blank=True, editable=False, null=True)),
                ("instrument", models.CharField(blank=True, max_length=200)),
                (
                    "settings",
                    models.JSONField(
                        blank=True, default=dict, help_text="Named settings with units"
                    ),
                ),
                ("raw_file", models.FileField(blank=True, upload_to="raw/")),
                ("raw_sha256", models.CharField(blank=True, max_length=64)),
                ("note", models.TextField(blank=True)),
                (
                    "campaign",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.campaign",
                    ),
                ),
                (
                    "operator",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.person",
                    ),
                ),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "pgh_obj",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="versions",
                        to="analyses.analysis",
                    ),
                ),
                (
                    "reference_for",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        help_text="The material that the curve is a reference of, in the department's collection",
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.material",
                    ),
                ),
                (
                    "signed_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "technique",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.technique",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "layer",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.layer",
                    ),
                ),
                (
                    "sample",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.sample",
                    ),
                ),
                (
                    "point",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.samplingpoint",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="e40dbea0e644747ff277c30483f9c6358d17ad3c",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_8e06d",
                            table="analyses_analysisversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Evaluation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("raw_sha256", models.CharField(max_length=64)),
                (
                    "given",
                    models.JSONField(blank=True, default=dict, help_text="Settings asked for"),
                ),
                ("method", models.CharField(blank=True, max_length=80)),
                ("version", models.CharField(blank=True, max_length=24)),
                ("result", models.JSONField(blank=True, null=True)),
                ("error", models.TextField(blank=True)),
                ("asked_at", models.DateTimeField(auto_now_add=True)),
                ("done_at", models.DateTimeField(blank=True, null=True)),
                (
                    "analysis",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="evaluations",
                        to="analyses.analysis",
                    ),
                ),
                (
                    "asked_by",
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
                "ordering": ["-pk"],
            },
        ),
        migrations.CreateModel(
            name="Reading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("element", "Element"),
                            ("peak", "Peak"),
                            ("phase", "Phase"),
                            ("band", "Band"),
                            ("observation", "Observation"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "label",
                    models.CharField(
                        help_text="'Zn', '1730 C=O stretch', 'calcite'", max_length=200
                    ),
                ),
                ("value", models.FloatField(blank=True, null=True)),
                ("uncertainty", models.FloatField(blank=True, null=True)),
                ("unit", models.CharField(blank=True, max_length=24)),
                (
                    "amount",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("major", "major"),
                            ("minor", "minor"),
                            ("trace", "trace"),
                            ("", "not stated"),
                        ],
                        default="",
                        max_length=8,
                    ),
                ),
                (
                    "code",
                    models.CharField(
                        blank=True,
                        help_text="What materials are matched by: an element's symbol, a phase, a group of bands",
                        max_length=40,
                    ),
                ),
                (
                    "certainty",
                    models.CharField(
                        blank=True,
                        choices=[("sure", "sure"), ("likely", "likely"), ("possible", "possible")],
                        max_length=8,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "analysis",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="analyses.analysis",
                    ),
                ),
                (
                    "evaluation",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="analyses.evaluation",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["analysis", "pk"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("withdrawn_at__isnull", True), ("withdrawn_why", "")),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                models.Q(("withdrawn_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="analyses_reading_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("value__isnull", True),
                            models.Q(("unit", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="analyses_reading_value_has_unit",
                        violation_error_message="A value needs its unit.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("uncertainty__isnull", True), ("uncertainty__gte", 0), _connector="OR"
                        ),
                        name="analyses_reading_uncertainty_not_negative",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="286ef9124fcaf98dd0ec5f36c370a15c6822fcc6",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_8bdc5",
                            table="analyses_reading",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ffeed8897ce0d7b5f79ae7484a720983252ea245",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_5ed42",
                            table="analyses_reading",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."analysis_id", OLD."kind", OLD."label", OLD."value", OLD."uncertainty", OLD."unit", OLD."amount", OLD."code", OLD."certainty", OLD."evaluation_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."analysis_id", NEW."kind", NEW."label", NEW."value", NEW."uncertainty", NEW."unit", NEW."amount", NEW."code", NEW."certainty", NEW."evaluation_id", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="d6ff86575d152444fef555135fa3f51d92f35d11",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_68a8d",
                            table="analyses_reading",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_with_its_record",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n            PERFORM FROM analyses_analysis WHERE id IN (OLD.analysis_id, NEW.analysis_id) FOR SHARE;\n            IF EXISTS (\n                SELECT FROM analyses_analysis\n                WHERE id IN (OLD.analysis_id, NEW.analysis_id) AND signed_at IS NOT NULL\n            ) THEN\n                RAISE EXCEPTION 'This belongs to a signed record and is locked with it: add an amendment to that record.' USING ERRCODE = 'check_violation';\n            END IF;\n            RETURN COALESCE(NEW, OLD);\n        ",
                            hash="c7745a61ec016b6533b51fcf0aa4111a1a82c248",
                            operation="INSERT OR UPDATE OR DELETE",
                            pgid="pgtrigger_locked_with_its_record_c56fe",
                            table="analyses_reading",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_readingversion" ("amount", "analysis_id", "certainty", "code", "created_at", "evaluation_id", "id", "kind", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "uncertainty", "unit", "updated_at", "value", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."amount", NEW."analysis_id", NEW."certainty", NEW."code", NEW."created_at", NEW."evaluation_id", NEW."id", NEW."kind", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."uncertainty", NEW."unit", NEW."updated_at", NEW."value", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f85fabe4b40dc82ff533f744ef216235455b2a9e",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_9af71",
                            table="analyses_reading",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."analysis_id", OLD."kind", OLD."label", OLD."value", OLD."uncertainty", OLD."unit", OLD."amount", OLD."code", OLD."certainty", OLD."evaluation_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."analysis_id", NEW."kind", NEW."label", NEW."value", NEW."uncertainty", NEW."unit", NEW."amount", NEW."code", NEW."certainty", NEW."evaluation_id", NEW."note"))',
                            func='INSERT INTO "analyses_readingversion" ("amount", "analysis_id", "certainty", "code", "created_at", "evaluation_id", "id", "kind", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "uncertainty", "unit", "updated_at", "value", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."amount", NEW."analysis_id", NEW."certainty", NEW."code", NEW."created_at", NEW."evaluation_id", NEW."id", NEW."kind", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."uncertainty", NEW."unit", NEW."updated_at", NEW."value", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="987d58f2623c286ef0a78fbd4eca41d28bb8a368",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_56834",
                            table="analyses_reading",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Identification",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("signed_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "confidence",
                    models.CharField(
                        choices=[
                            ("certain", "Certain"),
                            ("probable", "Probable"),
                            ("possible", "Possible"),
                        ],
                        default="probable",
                        max_length=16,
                    ),
                ),
                (
                    "decision",
                    models.CharField(
                        choices=[
                            ("proposed", "Proposed"),
                            ("accepted", "Accepted"),
                            ("rejected", "Rejected"),
                            ("undecided", "Undecided"),
                        ],
                        default="proposed",
                        max_length=16,
                    ),
                ),
                ("decided_at", models.DateTimeField(blank=True, null=True)),
                ("grounds", models.TextField(help_text="What speaks for it and what against")),
                (
                    "decided_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "material",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="identifications",
                        to="records.material",
                    ),
                ),
                (
                    "signed_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "trace",
                    models.ForeignKey(
                        blank=True,
                        help_text="The trace that the material belongs to; a layer tied to a trace says so itself",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="identifications",
                        to="records.trace",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "layer",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)s_set",
                        to="analyses.layer",
                    ),
                ),
                (
                    "readings",
                    models.ManyToManyField(
                        blank=True, related_name="identifications", to="analyses.reading"
                    ),
                ),
                (
                    "sample",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)s_set",
                        to="analyses.sample",
                    ),
                ),
                (
                    "point",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)s_set",
                        to="analyses.samplingpoint",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("withdrawn_at__isnull", True), ("withdrawn_why", "")),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                models.Q(("withdrawn_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="analyses_identification_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=django.db.models.lookups.Exact(
                            models.Func(
                                "point",
                                "sample",
                                "layer",
                                function="num_nonnulls",
                                output_field=models.IntegerField(),
                            ),
                            1,
                        ),
                        name="analyses_identification_at_one_target",
                        violation_error_message="Name a sampling point, a sample or a layer: one of them.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("decision", "proposed"),
                            models.Q(("decided_at__isnull", False), ("decided_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="analyses_identification_decided_by_a_person",
                        violation_error_message="Only a person accepts or rejects: say who and when.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="c0ee6568d611128adfe12ccad44f3319525c9d68",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_99f66",
                            table="analyses_identification",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="0dc238b45a9d7fa4a8c55b4c3a0707e5fabb0d3d",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_d3329",
                            table="analyses_identification",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."point_id", OLD."sample_id", OLD."layer_id", OLD."material_id", OLD."trace_id", OLD."confidence", OLD."decision", OLD."decided_by_id", OLD."decided_at", OLD."grounds") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."point_id", NEW."sample_id", NEW."layer_id", NEW."material_id", NEW."trace_id", NEW."confidence", NEW."decision", NEW."decided_by_id", NEW."decided_at", NEW."grounds"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="d8eea6f901b1f24e79ba78dbb12e1ba63b2d7ac7",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_d822b",
                            table="analyses_identification",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_when_signed",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (OLD.signed_at IS NOT NULL AND ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."point_id", OLD."sample_id", OLD."layer_id", OLD."material_id", OLD."trace_id", OLD."confidence", OLD."decision", OLD."decided_by_id", OLD."decided_at", OLD."grounds") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."point_id", NEW."sample_id", NEW."layer_id", NEW."material_id", NEW."trace_id", NEW."confidence", NEW."decision", NEW."decided_by_id", NEW."decided_at", NEW."grounds"))',
                            func="RAISE EXCEPTION 'The record is signed and locked: add an amendment instead.' USING ERRCODE = 'check_violation';",
                            hash="b1d04b7f53327e5a93311452660eaf5607d91562",
                            operation="UPDATE",
                            pgid="pgtrigger_locked_when_signed_9c2a6",
                            table="analyses_identification",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_identificationversion" ("confidence", "created_at", "decided_at", "decided_by_id", "decision", "grounds", "id", "layer_id", "material_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "point_id", "sample_id", "signed_at", "signed_by_id", "trace_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."confidence", NEW."created_at", NEW."decided_at", NEW."decided_by_id", NEW."decision", NEW."grounds", NEW."id", NEW."layer_id", NEW."material_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."point_id", NEW."sample_id", NEW."signed_at", NEW."signed_by_id", NEW."trace_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="4eaf4146875c9a78b5c98581f95dc842043ced7f",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_43d3e",
                            table="analyses_identification",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."point_id", OLD."sample_id", OLD."layer_id", OLD."material_id", OLD."trace_id", OLD."confidence", OLD."decision", OLD."decided_by_id", OLD."decided_at", OLD."grounds") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."point_id", NEW."sample_id", NEW."layer_id", NEW."material_id", NEW."trace_id", NEW."confidence", NEW."decision", NEW."decided_by_id", NEW."decided_at", NEW."grounds"))',
                            func='INSERT INTO "analyses_identificationversion" ("confidence", "created_at", "decided_at", "decided_by_id", "decision", "grounds", "id", "layer_id", "material_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "point_id", "sample_id", "signed_at", "signed_by_id", "trace_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."confidence", NEW."created_at", NEW."decided_at", NEW."decided_by_id", NEW."decision", NEW."grounds", NEW."id", NEW."layer_id", NEW."material_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."point_id", NEW."sample_id", NEW."signed_at", NEW."signed_by_id", NEW."trace_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="92619dd67f6d478e6eec729154d9eb9d0252a598",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_5c80b",
                            table="analyses_identification",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="IdentificationReadingVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                (
                    "identification",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.identification",
                    ),
                ),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "reading",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.reading",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="c8ce681ad322f6891fba9af358ac7dc62774e390",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_1f1cc",
                            table="analyses_identificationreadingversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="IdentificationVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("signed_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "confidence",
                    models.CharField(
                        choices=[
                            ("certain", "Certain"),
                            ("probable", "Probable"),
                            ("possible", "Possible"),
                        ],
                        default="probable",
                        max_length=16,
                    ),
                ),
                (
                    "decision",
                    models.CharField(
                        choices=[
                            ("proposed", "Proposed"),
                            ("accepted", "Accepted"),
                            ("rejected", "Rejected"),
                            ("undecided", "Undecided"),
                        ],
                        default="proposed",
                        max_length=16,
                    ),
                ),
                ("decided_at", models.DateTimeField(blank=True, null=True)),
                ("grounds", models.TextField(help_text="What speaks for it and what against")),
                (
                    "decided_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "material",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.material",
                    ),
                ),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "pgh_obj",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="versions",
                        to="analyses.identification",
                    ),
                ),
                (
                    "signed_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "trace",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        help_text="The trace that the material belongs to; a layer tied to a trace says so itself",
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.trace",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "layer",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.layer",
                    ),
                ),
                (
                    "sample",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.sample",
                    ),
                ),
                (
                    "point",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.samplingpoint",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="ab7b63239338d57060685fa3c7f815e7a3861cb4",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_c940a",
                            table="analyses_identificationversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="LayerVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("number", models.PositiveSmallIntegerField(help_text="1 is the lowest")),
                ("description", models.CharField(max_length=200)),
                ("thickness_min_um", models.FloatField(blank=True, null=True)),
                ("thickness_max_um", models.FloatField(blank=True, null=True)),
                (
                    "thickness_mean_um",
                    models.FloatField(
                        blank=True,
                        help_text="Mean of what was measured between the boundaries",
                        null=True,
                    ),
                ),
                ("colour", models.CharField(blank=True, max_length=80)),
                (
                    "colour_hex",
                    models.CharField(blank=True, help_text="For drawings: #rrggbb", max_length=7),
                ),
                (
                    "colour_lab",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.FloatField(),
                        blank=True,
                        help_text="CIELAB (D65, 2°) of the median inside the layer, measured on the image",
                        null=True,
                        size=3,
                    ),
                ),
                (
                    "munsell",
                    models.CharField(blank=True, help_text="By eye: 2.5YR 5/6, N 7", max_length=24),
                ),
                ("fluorescence", models.CharField(blank=True, max_length=120)),
                ("particles", models.TextField(blank=True)),
                (
                    "interpretation",
                    models.TextField(blank=True, help_text="What the layer is taken for, and why"),
                ),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "pgh_obj",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="versions",
                        to="analyses.layer",
                    ),
                ),
                (
                    "trace",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.trace",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "preparation",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.preparation",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="799c5bc3c52fe5d2b9826d504f8eaf4b833c3e84",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_45172",
                            table="analyses_layerversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="NumberingRule",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("points", models.CharField(default="P#", max_length=24)),
                ("samples", models.CharField(default="{object}-{point}", max_length=40)),
                ("preparations", models.CharField(default="{object}-X#", max_length=40)),
                (
                    "object",
                    models.OneToOneField(
                        blank=True,
                        help_text="Empty: the department's rule, for every object that has none of its own",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="numbering_rule",
                        to="records.object",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("withdrawn_at__isnull", True), ("withdrawn_why", "")),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                models.Q(("withdrawn_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="analyses_numberingrule_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        models.Value(1),
                        condition=models.Q(("object__isnull", True)),
                        name="analyses_numberingrule_one_for_the_department",
                        violation_error_message="The department has its rule already: change that one.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="37b2ae3fefeaeef1baebaa3a4c1875ea48afa9a3",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_9292c",
                            table="analyses_numberingrule",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="6247229768f81760223edc23465b75d034eaa595",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_3373e",
                            table="analyses_numberingrule",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."object_id", OLD."points", OLD."samples", OLD."preparations") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."object_id", NEW."points", NEW."samples", NEW."preparations"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="5fa0137053024a529df26cb268ec41dac5837cff",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_736b7",
                            table="analyses_numberingrule",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_numberingruleversion" ("created_at", "id", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "points", "preparations", "samples", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."id", NEW."object_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."points", NEW."preparations", NEW."samples", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="fb1c9f2555f4eba57f05d12f03bfa077a5f3ea8d",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_4c66c",
                            table="analyses_numberingrule",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."object_id", OLD."points", OLD."samples", OLD."preparations") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."object_id", NEW."points", NEW."samples", NEW."preparations"))',
                            func='INSERT INTO "analyses_numberingruleversion" ("created_at", "id", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "points", "preparations", "samples", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."id", NEW."object_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."points", NEW."preparations", NEW."samples", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="2aa64e3a444667e35eb55b416e3808c7cecdc4be",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_7b8bb",
                            table="analyses_numberingrule",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="NumberingRuleVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("points", models.CharField(default="P#", max_length=24)),
                ("samples", models.CharField(default="{object}-{point}", max_length=40)),
                ("preparations", models.CharField(default="{object}-X#", max_length=40)),
                (
                    "object",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        help_text="Empty: the department's rule, for every object that has none of its own",
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.object",
                    ),
                ),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "pgh_obj",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="versions",
                        to="analyses.numberingrule",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="2e08bcd68cadc8a8b009603b10a2658d85ae542b",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_0da4b",
                            table="analyses_numberingruleversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="PreparationVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("cross_section", "Cross-section"),
                            ("thin_section", "Thin section"),
                            ("powder", "Powder mount"),
                            ("fibre", "Fibre mount"),
                            ("other", "Other preparation"),
                        ],
                        max_length=16,
                    ),
                ),
                ("number", models.CharField(max_length=40)),
                (
                    "medium",
                    models.CharField(
                        blank=True, help_text="Embedding or mounting medium", max_length=120
                    ),
                ),
                (
                    "um_per_px",
                    models.FloatField(
                        blank=True, help_text="Scale of the image, µm per px", null=True
                    ),
                ),
                (
                    "scale",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"points": [[column, row], [column, row]], "length_um": 100}; empty: typed',
                    ),
                ),
                (
                    "boundaries",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text="Lines [[column, row], …] over the image from the bottom up, the lowest edge first: layer 1 lies between the first and the second",
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "image",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.image",
                    ),
                ),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "pgh_obj",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="versions",
                        to="analyses.preparation",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "sample",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.sample",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="c1b380b0ae4a62e71c966e173c3f302d4ad34557",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_17eb2",
                            table="analyses_preparationversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ReadingVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("element", "Element"),
                            ("peak", "Peak"),
                            ("phase", "Phase"),
                            ("band", "Band"),
                            ("observation", "Observation"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "label",
                    models.CharField(
                        help_text="'Zn', '1730 C=O stretch', 'calcite'", max_length=200
                    ),
                ),
                ("value", models.FloatField(blank=True, null=True)),
                ("uncertainty", models.FloatField(blank=True, null=True)),
                ("unit", models.CharField(blank=True, max_length=24)),
                (
                    "amount",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("major", "major"),
                            ("minor", "minor"),
                            ("trace", "trace"),
                            ("", "not stated"),
                        ],
                        default="",
                        max_length=8,
                    ),
                ),
                (
                    "code",
                    models.CharField(
                        blank=True,
                        help_text="What materials are matched by: an element's symbol, a phase, a group of bands",
                        max_length=40,
                    ),
                ),
                (
                    "certainty",
                    models.CharField(
                        blank=True,
                        choices=[("sure", "sure"), ("likely", "likely"), ("possible", "possible")],
                        max_length=8,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "analysis",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.analysis",
                    ),
                ),
                (
                    "evaluation",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.evaluation",
                    ),
                ),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "pgh_obj",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="versions",
                        to="analyses.reading",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="221cefb8066dc81ea02e29606a4b99e449f3d9ec",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_abdf5",
                            table="analyses_readingversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SampleVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("number", models.CharField(max_length=40)),
                ("container", models.CharField(blank=True, max_length=120)),
                (
                    "amount",
                    models.CharField(
                        blank=True, help_text="Size or mass when taken", max_length=120
                    ),
                ),
                (
                    "remains",
                    models.CharField(blank=True, help_text="What is left of it", max_length=200),
                ),
                ("kept_at", models.CharField(blank=True, max_length=200)),
                ("note", models.TextField(blank=True)),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "pgh_obj",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="versions",
                        to="analyses.sample",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "point",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="analyses.samplingpoint",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="07af641fef4327d91d525db866e4ab0923edc223",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_1bd74",
                            table="analyses_sampleversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SamplingPointVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("date", models.CharField(blank=True, max_length=80)),
                ("date_earliest", models.DateField(blank=True, editable=False, null=True)),
                ("date_latest", models.DateField(blank=True, editable=False, null=True)),
                ("number", models.CharField(max_length=24)),
                ("geometry", django.contrib.gis.db.models.fields.PointField(srid=0)),
                ("invasive", models.BooleanField(default=False, help_text="Material was removed")),
                (
                    "permission",
                    models.CharField(
                        blank=True,
                        help_text="Who allowed it, and under which reference",
                        max_length=200,
                    ),
                ),
                (
                    "purpose",
                    models.TextField(blank=True, help_text="The question that it was to answer"),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "campaign",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.campaign",
                    ),
                ),
                (
                    "face",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.face",
                    ),
                ),
                (
                    "pgh_context",
                    models.ForeignKey(
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="pghistory.context",
                    ),
                ),
                (
                    "pgh_obj",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="versions",
                        to="analyses.samplingpoint",
                    ),
                ),
                (
                    "taken_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.person",
                    ),
                ),
                (
                    "trace",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.trace",
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="7de9234a9bb91505455fbf003edfb0fbd4506d69",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_28889",
                            table="analyses_samplingpointversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="IdentificationReading",
            fields=[],
            options={
                "proxy": True,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="link_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN COALESCE(NEW, OLD);\n",
                            hash="c29e9224f2c484aa950882dffa4a014a12f83497",
                            operation="INSERT OR DELETE",
                            pgid="pgtrigger_link_needs_reason_cf514",
                            table="analyses_identification_readings",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_identificationreadingversion" ("id", "identification_id", "pgh_context_id", "pgh_created_at", "pgh_label", "reading_id") VALUES (NEW."id", NEW."identification_id", _pgh_attach_context(), NOW(), \'insert\', NEW."reading_id"); RETURN NULL;',
                            hash="8e1f72ac63dfeb8da9dc903228df791ecf282ea8",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_cf217",
                            table="analyses_identification_readings",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="delete_delete",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "analyses_identificationreadingversion" ("id", "identification_id", "pgh_context_id", "pgh_created_at", "pgh_label", "reading_id") VALUES (OLD."id", OLD."identification_id", _pgh_attach_context(), NOW(), \'delete\', OLD."reading_id"); RETURN NULL;',
                            hash="2a4eede7c82aed40ad650928173073720979cf80",
                            operation="DELETE",
                            pgid="pgtrigger_delete_delete_e0082",
                            table="analyses_identification_readings",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_with_its_record",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n            PERFORM FROM analyses_identification WHERE id IN (OLD.identification_id, NEW.identification_id) FOR SHARE;\n            IF EXISTS (\n                SELECT FROM analyses_identification\n                WHERE id IN (OLD.identification_id, NEW.identification_id) AND signed_at IS NOT NULL\n            ) THEN\n                RAISE EXCEPTION 'This belongs to a signed record and is locked with it: add an amendment to that record.' USING ERRCODE = 'check_violation';\n            END IF;\n            RETURN COALESCE(NEW, OLD);\n        ",
                            hash="9b1cce453719d3b5021b398ef16db6c953e797d1",
                            operation="INSERT OR UPDATE OR DELETE",
                            pgid="pgtrigger_locked_with_its_record_b6c20",
                            table="analyses_identification_readings",
                            when="BEFORE",
                        ),
                    ),
                ],
            },
            bases=("analyses.identification_readings",),
        ),
        records.models.triggers.InstallTriggers(),
    ]

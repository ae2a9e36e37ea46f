"""Every table at once, for a new database; one that has taken the steps replaced goes on from them."""

import uuid

import django.contrib.auth.models
import django.contrib.auth.validators
import django.contrib.gis.db.models.fields
import django.contrib.postgres.fields
import django.db.models.deletion
import django.db.models.functions.text
import django.db.models.lookups
import django.utils.timezone
import pgtrigger.compiler
from django.conf import settings
from django.db import migrations, models

import records.models.triggers


class Migration(migrations.Migration):
    replaces = [
        ("records", "0001_initial"),
        ("records", "0002_shapes_by_statement"),
        ("records", "0003_placing"),
        ("records", "0004_files_arriving"),
        ("records", "0005_information_sheets"),
        ("records", "0006_how_materials_show_themselves"),
        ("records", "0007_mosaics"),
        ("records", "0008_parts_of_signed_records"),
        ("records", "0009_traces_in_order"),
        ("records", "0010_scans_with_sha256"),
        ("records", "0011_frames_are_fetched"),
    ]

    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
        ("contenttypes", "0002_remove_content_type_name"),
        ("pghistory", "0007_auto_20250421_0444"),
    ]

    operations = [
        migrations.CreateModel(
            name="FileCheck",
            fields=[
                (
                    "name",
                    models.CharField(
                        help_text="Its name in the store",
                        max_length=400,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("checked_at", models.DateTimeField()),
                (
                    "fault",
                    models.CharField(
                        blank=True, help_text="'' when it is as it came", max_length=200
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="User",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                (
                    "last_login",
                    models.DateTimeField(blank=True, null=True, verbose_name="last login"),
                ),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                (
                    "first_name",
                    models.CharField(blank=True, max_length=150, verbose_name="first name"),
                ),
                (
                    "last_name",
                    models.CharField(blank=True, max_length=150, verbose_name="last name"),
                ),
                (
                    "email",
                    models.EmailField(blank=True, max_length=254, verbose_name="email address"),
                ),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                (
                    "date_joined",
                    models.DateTimeField(
                        default=django.utils.timezone.now, verbose_name="date joined"
                    ),
                ),
                (
                    "role",
                    models.CharField(
                        choices=[
                            ("conservator", "Conservator"),
                            ("scientist", "Scientist"),
                            ("committee", "Committee member"),
                            ("administrator", "Administrator"),
                        ],
                        default="committee",
                        max_length=16,
                    ),
                ),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            options={
                "verbose_name": "user",
                "verbose_name_plural": "users",
                "abstract": False,
            },
            managers=[
                ("objects", django.contrib.auth.models.UserManager()),
            ],
        ),
        migrations.CreateModel(
            name="Amendment",
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
                ("object_id", models.PositiveBigIntegerField()),
                ("text", models.TextField()),
                ("signed_at", models.DateTimeField(auto_now_add=True)),
                (
                    "content_type",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, to="contenttypes.contenttype"
                    ),
                ),
                (
                    "signed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                "ordering": ["signed_at", "pk"],
                "abstract": False,
                "indexes": [
                    models.Index(
                        fields=["content_type", "object_id"], name="records_ame_content_eaa84b_idx"
                    )
                ],
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
                        name="records_amendment_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("text", ""), _negated=True),
                        name="records_amendment_says_something",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="37b93af300b6288c8b9d140c627cc911628a42a0",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_14f20",
                            table="records_amendment",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="d00b1e844c3c41ac6cbc1a5145369d457ac75ef8",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_950df",
                            table="records_amendment",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."content_type_id", OLD."object_id", OLD."text", OLD."signed_by_id", OLD."signed_at") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."content_type_id", NEW."object_id", NEW."text", NEW."signed_by_id", NEW."signed_at"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="052d666fced7f52bf05cefd1352ef36387038e3e",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_8d544",
                            table="records_amendment",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="never_changed",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition="WHEN (TRUE)",
                            func="RAISE EXCEPTION 'A signed amendment is never changed: add another.' USING ERRCODE = 'check_violation';",
                            hash="6a1927ff684bb8ae48f01b01a522beaa8039a9a0",
                            operation="UPDATE",
                            pgid="pgtrigger_never_changed_c7633",
                            table="records_amendment",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_amendmentversion" ("content_type_id", "created_at", "id", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "signed_at", "signed_by_id", "text", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."content_type_id", NEW."created_at", NEW."id", NEW."object_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."signed_at", NEW."signed_by_id", NEW."text", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="d49980c655ba28604bdceeb012682524474115a3",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_2890f",
                            table="records_amendment",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."content_type_id", OLD."object_id", OLD."text", OLD."signed_by_id", OLD."signed_at") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."content_type_id", NEW."object_id", NEW."text", NEW."signed_by_id", NEW."signed_at"))',
                            func='INSERT INTO "records_amendmentversion" ("content_type_id", "created_at", "id", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "signed_at", "signed_by_id", "text", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."content_type_id", NEW."created_at", NEW."id", NEW."object_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."signed_at", NEW."signed_by_id", NEW."text", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="bd9719360f1317e2da4eebcc85e252d037c3dd91",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_2f480",
                            table="records_amendment",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="AmendmentVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("object_id", models.PositiveBigIntegerField()),
                ("text", models.TextField()),
                ("signed_at", models.DateTimeField(auto_now_add=True)),
                (
                    "content_type",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="contenttypes.contenttype",
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
                        to="records.amendment",
                    ),
                ),
                (
                    "signed_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                            hash="ca93c8bd6ab4adffd0258bc0fece165cb3b0528a",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_46190",
                            table="records_amendmentversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Object",
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
                ("accession_number", models.CharField(max_length=60, unique=True)),
                ("title", models.CharField(max_length=200)),
                ("maker", models.CharField(blank=True, max_length=200)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("canvas", "Painting on canvas"),
                            ("panel", "Painting on panel"),
                            ("wall", "Wall painting"),
                            ("sculpture", "Polychrome sculpture"),
                            ("paper", "Work on paper"),
                            ("textile", "Textile"),
                            ("other", "Other"),
                        ],
                        default="canvas",
                        max_length=16,
                    ),
                ),
                (
                    "materials",
                    models.CharField(
                        blank=True, help_text="As on the label: 'oil on canvas'", max_length=300
                    ),
                ),
                ("height_mm", models.FloatField(blank=True, null=True)),
                ("width_mm", models.FloatField(blank=True, null=True)),
                ("depth_mm", models.FloatField(blank=True, null=True)),
                ("owner", models.CharField(blank=True, max_length=200)),
                (
                    "place",
                    models.CharField(blank=True, help_text="Where it is now", max_length=200),
                ),
                (
                    "construction",
                    models.TextField(blank=True, help_text="How it is built, in words"),
                ),
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
            ],
            options={
                "ordering": ["accession_number"],
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
                        name="records_object_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_object_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_object_no_bounds_without_date",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("height_mm__isnull", True), ("height_mm__gt", 0), _connector="OR"
                            ),
                            models.Q(
                                ("width_mm__isnull", True), ("width_mm__gt", 0), _connector="OR"
                            ),
                            models.Q(
                                ("depth_mm__isnull", True), ("depth_mm__gt", 0), _connector="OR"
                            ),
                        ),
                        name="records_object_measurements_positive",
                        violation_error_message="Measurements are millimetres greater than zero.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="5d8f17da5163abb6b902d55da14d2abb04efa419",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_0b0d4",
                            table="records_object",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="eff9644c04bf14f3a582770c7b5017405f244efb",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_12c22",
                            table="records_object",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."accession_number", OLD."title", OLD."maker", OLD."kind", OLD."materials", OLD."height_mm", OLD."width_mm", OLD."depth_mm", OLD."owner", OLD."place", OLD."construction", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."accession_number", NEW."title", NEW."maker", NEW."kind", NEW."materials", NEW."height_mm", NEW."width_mm", NEW."depth_mm", NEW."owner", NEW."place", NEW."construction", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="79bee5c20ff283132e407cc795245989982a9757",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_e251f",
                            table="records_object",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_objectversion" ("accession_number", "construction", "created_at", "date", "date_earliest", "date_latest", "depth_mm", "height_mm", "id", "kind", "maker", "materials", "note", "owner", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place", "title", "updated_at", "width_mm", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."accession_number", NEW."construction", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."depth_mm", NEW."height_mm", NEW."id", NEW."kind", NEW."maker", NEW."materials", NEW."note", NEW."owner", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."place", NEW."title", NEW."updated_at", NEW."width_mm", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="56cb7ffadb83075dd71bac9291bb1467a5d38846",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_f59d6",
                            table="records_object",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."accession_number", OLD."title", OLD."maker", OLD."kind", OLD."materials", OLD."height_mm", OLD."width_mm", OLD."depth_mm", OLD."owner", OLD."place", OLD."construction", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."accession_number", NEW."title", NEW."maker", NEW."kind", NEW."materials", NEW."height_mm", NEW."width_mm", NEW."depth_mm", NEW."owner", NEW."place", NEW."construction", NEW."note"))',
                            func='INSERT INTO "records_objectversion" ("accession_number", "construction", "created_at", "date", "date_earliest", "date_latest", "depth_mm", "height_mm", "id", "kind", "maker", "materials", "note", "owner", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place", "title", "updated_at", "width_mm", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."accession_number", NEW."construction", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."depth_mm", NEW."height_mm", NEW."id", NEW."kind", NEW."maker", NEW."materials", NEW."note", NEW."owner", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."place", NEW."title", NEW."updated_at", NEW."width_mm", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="a90c649f0de77dfc47a0f6e5d7a6d45df7946ffc",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_259a4",
                            table="records_object",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Person",
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
                ("name", models.CharField(max_length=200)),
                ("occupation", models.CharField(blank=True, max_length=200)),
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
            ],
            options={
                "ordering": ["name", "pk"],
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
                        name="records_person_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    )
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="5e965975396d5e70cd7c8cccc1331ab95d6adf17",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_29d21",
                            table="records_person",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="b3375d638e625ee9c2e47958939d390d2f9bbf5c",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_6abeb",
                            table="records_person",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."name", OLD."occupation", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."name", NEW."occupation", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="93850c75364a0a0e306a97fb46ff069bd9cf48c3",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_dd098",
                            table="records_person",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_personversion" ("created_at", "id", "name", "note", "occupation", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."id", NEW."name", NEW."note", NEW."occupation", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="17d8a3ff4ffa2a777d5f9f586541b4ec4ac63bd6",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_550a5",
                            table="records_person",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."name", OLD."occupation", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."name", NEW."occupation", NEW."note"))',
                            func='INSERT INTO "records_personversion" ("created_at", "id", "name", "note", "occupation", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."id", NEW."name", NEW."note", NEW."occupation", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="e9e89f0f71af68c10f210a52d0dd1c50b9abd539",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_a0e41",
                            table="records_person",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Campaign",
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
                ("title", models.CharField(max_length=200)),
                (
                    "purpose",
                    models.CharField(
                        choices=[
                            ("survey", "Condition survey"),
                            ("study", "Technical study"),
                            ("treatment", "Treatment project"),
                            ("loan", "Loan or transport check"),
                            ("monitoring", "Monitoring"),
                        ],
                        max_length=16,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "parent",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="phases",
                        to="records.campaign",
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
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="campaigns",
                        to="records.object",
                    ),
                ),
                (
                    "people",
                    models.ManyToManyField(
                        blank=True, related_name="campaigns", to="records.person"
                    ),
                ),
            ],
            options={
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
                        name="records_campaign_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_campaign_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_campaign_no_bounds_without_date",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("parent", models.F("id")), _negated=True),
                        name="records_campaign_not_its_own_phase",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="0634b29e9eb8e6c3f2d8a0541c3822e02fdd06cf",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_bbc8f",
                            table="records_campaign",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="045be715b59b2a5b1226486109904b57ee193e79",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_9cf59",
                            table="records_campaign",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."parent_id", OLD."title", OLD."purpose", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."parent_id", NEW."title", NEW."purpose", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="80c912aee09075b48d399032dc753e9e3428b0e6",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_ff6cd",
                            table="records_campaign",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_campaignversion" ("created_at", "date", "date_earliest", "date_latest", "id", "note", "object_id", "parent_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "purpose", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."note", NEW."object_id", NEW."parent_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."purpose", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="fe7f1b74028bb53e9addf00357ea050ee899bd0b",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_0ba33",
                            table="records_campaign",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."parent_id", OLD."title", OLD."purpose", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."parent_id", NEW."title", NEW."purpose", NEW."note"))',
                            func='INSERT INTO "records_campaignversion" ("created_at", "date", "date_earliest", "date_latest", "id", "note", "object_id", "parent_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "purpose", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."note", NEW."object_id", NEW."parent_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."purpose", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f1c6421ecddc8aac178850b94c536dddb2716e55",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_f29d2",
                            table="records_campaign",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Component",
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
                ("name", models.CharField(max_length=120)),
                ("materials", models.CharField(blank=True, max_length=300)),
                ("description", models.TextField(blank=True)),
                (
                    "parent",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="children",
                        to="records.component",
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
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="components",
                        to="records.object",
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
                        name="records_component_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("parent", models.F("id")), _negated=True),
                        name="records_component_not_its_own_part",
                    ),
                    models.UniqueConstraint(
                        fields=("object", "name"), name="records_component_name_once_per_object"
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="01a9830879cd67b1aeb3833cfde4cab3e26274eb",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_5f45c",
                            table="records_component",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="692c26c1f267ba0bcc17424c49ba80b2717b6f19",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_3dc0b",
                            table="records_component",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."object_id", OLD."parent_id", OLD."name", OLD."materials", OLD."description") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."object_id", NEW."parent_id", NEW."name", NEW."materials", NEW."description"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="5b2d935248efe6ed3b5d1aac149abe272ead171e",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_5a676",
                            table="records_component",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_componentversion" ("created_at", "description", "id", "materials", "name", "object_id", "parent_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."description", NEW."id", NEW."materials", NEW."name", NEW."object_id", NEW."parent_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="d0f360cb71963ded97b915d9740c63acd87c7385",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_70acd",
                            table="records_component",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."object_id", OLD."parent_id", OLD."name", OLD."materials", OLD."description") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."object_id", NEW."parent_id", NEW."name", NEW."materials", NEW."description"))',
                            func='INSERT INTO "records_componentversion" ("created_at", "description", "id", "materials", "name", "object_id", "parent_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."description", NEW."id", NEW."materials", NEW."name", NEW."object_id", NEW."parent_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="5bd1cd378b0b33a7e0e83960cd3dc85d7d3d8486",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_f0afb",
                            table="records_component",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Technique",
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
                ("code", models.SlugField(max_length=80, unique=True)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                (
                    "group",
                    models.CharField(
                        choices=[
                            ("imaging", "Imaging"),
                            ("surface", "Surface examination"),
                            ("analysis", "Analysis"),
                        ],
                        max_length=16,
                    ),
                ),
                ("abbreviation", models.CharField(blank=True, max_length=16)),
                (
                    "invasive",
                    models.BooleanField(default=False, help_text="Needs a sample or leaves a mark"),
                ),
                (
                    "band",
                    models.CharField(
                        blank=True, help_text="Wavelengths or energies used", max_length=120
                    ),
                ),
                (
                    "asks",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=40),
                        blank=True,
                        default=list,
                        help_text="Settings that its information sheet asks for; empty: those of the broader term",
                        size=None,
                    ),
                ),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="narrower",
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
            ],
            options={
                "ordering": ["label", "pk"],
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
                        name="records_technique_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("broader", models.F("id")), _negated=True),
                        name="records_technique_not_its_own_broader",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="46084b9895342040bc95c63fd8dae6a97909b13c",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_9e4ec",
                            table="records_technique",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ccefdbafc7be67cecf9529ae36ec6c432e3d7aca",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_58b0d",
                            table="records_technique",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."group", OLD."abbreviation", OLD."invasive", OLD."band", OLD."asks") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."group", NEW."abbreviation", NEW."invasive", NEW."band", NEW."asks"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="73e233847b6be041f1b1d2cc125e07f5e3532bf6",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_2c565",
                            table="records_technique",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_techniqueversion" ("abbreviation", "asks", "band", "broader_id", "cautions", "code", "created_at", "definition", "group", "id", "identifiers", "invasive", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "translations", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."abbreviation", NEW."asks", NEW."band", NEW."broader_id", NEW."cautions", NEW."code", NEW."created_at", NEW."definition", NEW."group", NEW."id", NEW."identifiers", NEW."invasive", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."translations", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="9dab5460fa3c8a5a66091c7c769e454558b191d5",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_bf5e1",
                            table="records_technique",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."group", OLD."abbreviation", OLD."invasive", OLD."band", OLD."asks") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."group", NEW."abbreviation", NEW."invasive", NEW."band", NEW."asks"))',
                            func='INSERT INTO "records_techniqueversion" ("abbreviation", "asks", "band", "broader_id", "cautions", "code", "created_at", "definition", "group", "id", "identifiers", "invasive", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "translations", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."abbreviation", NEW."asks", NEW."band", NEW."broader_id", NEW."cautions", NEW."code", NEW."created_at", NEW."definition", NEW."group", NEW."id", NEW."identifiers", NEW."invasive", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."translations", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="6d52c512d2e51dbee9ac0ad047287dcca574ee4c",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_70721",
                            table="records_technique",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Examination",
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
                        blank=True,
                        default=dict,
                        help_text="Values under the codes of the settings vocabulary (voltage_kv: 28), others by name with their unit",
                    ),
                ),
                ("conditions", models.TextField(blank=True, help_text="Light, room, access")),
                (
                    "not_covered",
                    models.TextField(blank=True, help_text="What was not examined, and why"),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "campaign",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="examinations",
                        to="records.campaign",
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
                    "operator",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="examinations",
                        to="records.person",
                    ),
                ),
                (
                    "technique",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="examinations",
                        to="records.technique",
                    ),
                ),
            ],
            options={
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
                        name="records_examination_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_examination_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_examination_no_bounds_without_date",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="c073b4e86d19bb9e19772991e756a68bbf39cd2d",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_df4d5",
                            table="records_examination",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="9c91332d531bf1f696000abfafd42e3ffa99db33",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_c1995",
                            table="records_examination",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."campaign_id", OLD."technique_id", OLD."operator_id", OLD."instrument", OLD."settings", OLD."conditions", OLD."not_covered", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."campaign_id", NEW."technique_id", NEW."operator_id", NEW."instrument", NEW."settings", NEW."conditions", NEW."not_covered", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="280feb4c0aef7b7d8e1cd45251b8bc39268761c2",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_aa2a8",
                            table="records_examination",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_when_signed",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (OLD.signed_at IS NOT NULL AND ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."campaign_id", OLD."technique_id", OLD."operator_id", OLD."instrument", OLD."settings", OLD."conditions", OLD."not_covered", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."campaign_id", NEW."technique_id", NEW."operator_id", NEW."instrument", NEW."settings", NEW."conditions", NEW."not_covered", NEW."note"))',
                            func="RAISE EXCEPTION 'The record is signed and locked: add an amendment instead.' USING ERRCODE = 'check_violation';",
                            hash="e8ad333870936ae2d047976a02723f31c1faab81",
                            operation="UPDATE",
                            pgid="pgtrigger_locked_when_signed_9089e",
                            table="records_examination",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_examinationversion" ("campaign_id", "conditions", "created_at", "date", "date_earliest", "date_latest", "id", "instrument", "not_covered", "note", "operator_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "settings", "signed_at", "signed_by_id", "technique_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."conditions", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."instrument", NEW."not_covered", NEW."note", NEW."operator_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."settings", NEW."signed_at", NEW."signed_by_id", NEW."technique_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="fc782292408c43b79ea129959ea313f6c2d6f600",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_f4fb9",
                            table="records_examination",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."campaign_id", OLD."technique_id", OLD."operator_id", OLD."instrument", OLD."settings", OLD."conditions", OLD."not_covered", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."campaign_id", NEW."technique_id", NEW."operator_id", NEW."instrument", NEW."settings", NEW."conditions", NEW."not_covered", NEW."note"))',
                            func='INSERT INTO "records_examinationversion" ("campaign_id", "conditions", "created_at", "date", "date_earliest", "date_latest", "id", "instrument", "not_covered", "note", "operator_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "settings", "signed_at", "signed_by_id", "technique_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."conditions", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."instrument", NEW."not_covered", NEW."note", NEW."operator_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."settings", NEW."signed_at", NEW."signed_by_id", NEW."technique_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="0bcdbb958a05b660e41099afbd6ba8b5b7c7e6f7",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_fa3d8",
                            table="records_examination",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Face",
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
                ("name", models.CharField(max_length=80)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("recto", "Recto"),
                            ("verso", "Verso"),
                            ("edge", "Edge"),
                            ("unrolled", "Unrolled surface"),
                            ("other", "Other side"),
                        ],
                        default="recto",
                        max_length=16,
                    ),
                ),
                (
                    "outline",
                    django.contrib.gis.db.models.fields.PolygonField(
                        help_text="In millimetres, lower left corner at 0, 0", srid=0
                    ),
                ),
                (
                    "tolerance_mm",
                    models.FloatField(
                        default=5.0, help_text="How far a record may lie outside the outline"
                    ),
                ),
                ("position", models.PositiveSmallIntegerField(default=0)),
                (
                    "component",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="faces",
                        to="records.component",
                    ),
                ),
                (
                    "mirror_of",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="mirrored_by",
                        to="records.face",
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
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="faces",
                        to="records.object",
                    ),
                ),
            ],
            options={
                "ordering": ["object", "position", "pk"],
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
                        name="records_face_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        fields=("object", "name"), name="records_face_name_once_per_object"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("outline__isvalid", True)),
                        name="records_face_outline_valid",
                        violation_error_message="The outline crosses itself or has no area.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            django.db.models.lookups.Exact(
                                models.Func(
                                    "outline", function="ST_XMin", output_field=models.FloatField()
                                ),
                                0.0,
                            ),
                            django.db.models.lookups.Exact(
                                models.Func(
                                    "outline", function="ST_YMin", output_field=models.FloatField()
                                ),
                                0.0,
                            ),
                        ),
                        name="records_face_frame_starts_at_zero",
                        violation_error_message="The outline must start at 0, 0 (its lower left corner).",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("tolerance_mm__gte", 0)),
                        name="records_face_tolerance_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("mirror_of", models.F("id")), _negated=True),
                        name="records_face_not_its_own_mirror",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="a230d7fd84d8b3988badbef5811c5030a184d5ac",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_62d3f",
                            table="records_face",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="7ee3839bf73f4de45b9820883a4d1c2f8c7c1234",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_46d96",
                            table="records_face",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."object_id", OLD."component_id", OLD."name", OLD."kind", OLD."outline", OLD."tolerance_mm", OLD."mirror_of_id", OLD."position") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."object_id", NEW."component_id", NEW."name", NEW."kind", NEW."outline", NEW."tolerance_mm", NEW."mirror_of_id", NEW."position"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="09de821dfeaf8418c9f2fe1d950c3371574abbe7",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_aa2b4",
                            table="records_face",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="outline_holds_records",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF EXISTS (\n        SELECT 1 FROM records_zone z WHERE z.face_id = NEW.id\n            AND NOT ST_CoveredBy(z.geometry, ST_Buffer(NEW.outline, NEW.tolerance_mm))\n        UNION ALL\n        SELECT 1 FROM records_sighting s JOIN records_trace t ON t.id = s.trace_id\n            WHERE t.face_id = NEW.id AND s.geometry IS NOT NULL\n            AND NOT ST_CoveredBy(s.geometry, ST_Buffer(NEW.outline, NEW.tolerance_mm))\n        UNION ALL\n        SELECT 1 FROM records_treatmentarea a WHERE a.face_id = NEW.id AND a.geometry IS NOT NULL\n            AND NOT ST_CoveredBy(a.geometry, ST_Buffer(NEW.outline, NEW.tolerance_mm))\n        UNION ALL\n        SELECT 1 FROM analyses_samplingpoint p WHERE p.face_id = NEW.id\n            AND NOT ST_CoveredBy(p.geometry, ST_Buffer(NEW.outline, NEW.tolerance_mm))\n    ) THEN\n        RAISE EXCEPTION 'The new outline leaves records outside the face.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="a90aba8b8dd6cfa2d523917a7aed644c24312843",
                            operation='UPDATE OF "outline", "tolerance_mm"',
                            pgid="pgtrigger_outline_holds_records_ed174",
                            table="records_face",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="object_id_stays",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (OLD."object_id" IS DISTINCT FROM NEW."object_id")',
                            func="RAISE EXCEPTION 'A face stays with its object: record a new face instead.' USING ERRCODE = 'check_violation';",
                            hash="4af4de5429744f7746cce22264e0b5717fdd5e30",
                            operation="UPDATE",
                            pgid="pgtrigger_object_id_stays_dca03",
                            table="records_face",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_faceversion" ("component_id", "created_at", "id", "kind", "mirror_of_id", "name", "object_id", "outline", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "position", "tolerance_mm", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."component_id", NEW."created_at", NEW."id", NEW."kind", NEW."mirror_of_id", NEW."name", NEW."object_id", NEW."outline", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."position", NEW."tolerance_mm", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="330cc4ed38fa2b179e8ba4b540743fa5942dd38b",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_4df36",
                            table="records_face",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."object_id", OLD."component_id", OLD."name", OLD."kind", OLD."outline", OLD."tolerance_mm", OLD."mirror_of_id", OLD."position") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."object_id", NEW."component_id", NEW."name", NEW."kind", NEW."outline", NEW."tolerance_mm", NEW."mirror_of_id", NEW."position"))',
                            func='INSERT INTO "records_faceversion" ("component_id", "created_at", "id", "kind", "mirror_of_id", "name", "object_id", "outline", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "position", "tolerance_mm", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."component_id", NEW."created_at", NEW."id", NEW."kind", NEW."mirror_of_id", NEW."name", NEW."object_id", NEW."outline", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."position", NEW."tolerance_mm", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="2adac154403c2fa86d7bc979b463602e3bf5bcb2",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_d3dcb",
                            table="records_face",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Coverage",
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
                    "geometry",
                    django.contrib.gis.db.models.fields.GeometryField(
                        blank=True, null=True, srid=0
                    ),
                ),
                (
                    "rest_why",
                    models.TextField(
                        blank=True, help_text="Why the rest of the face was not covered"
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
                    "examination",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="coverage",
                        to="records.examination",
                    ),
                ),
                (
                    "face",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="coverage",
                        to="records.face",
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
                        name="records_coverage_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("examination", "face"),
                        name="records_coverage_once_per_face",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="691c3dfc6a514e5f273d47d4c2431cf59f3cca80",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_d6d50",
                            table="records_coverage",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="e01e0b99b4e64cfa5090205752533e5e1909876f",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_78e82",
                            table="records_coverage",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."examination_id", OLD."face_id", OLD."geometry", OLD."rest_why") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."examination_id", NEW."face_id", NEW."geometry", NEW."rest_why"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="28809b79b4f74962d1a15d18e18d5facda7f4728",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_45f30",
                            table="records_coverage",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="geometry_on_face",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (NEW."geometry" IS NOT NULL)',
                            declare="DECLARE outline geometry; tolerance double precision;",
                            func='\n            IF NOT ST_IsValid(NEW."geometry") OR ST_IsEmpty(NEW."geometry") THEN\n                RAISE EXCEPTION \'The shape is not valid: %.\', ST_IsValidReason(NEW."geometry")\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            SELECT f.outline, f.tolerance_mm INTO outline, tolerance\n                FROM records_face f WHERE f.id = (NEW.face_id);\n            IF outline IS NOT NULL AND NOT ST_CoveredBy(NEW."geometry", outline)\n               AND NOT ST_CoveredBy(NEW."geometry", ST_Buffer(outline, tolerance)) THEN\n                RAISE EXCEPTION \'The shape lies % mm outside the outline of the face.\',\n                    round((SELECT max(ST_Distance(p.geom, outline))\n                           FROM ST_DumpPoints(NEW."geometry") p)::numeric, 1)\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            RETURN NEW;\n        ',
                            hash="c9e1fb58b987871f9bb7998f4562affc5ed742a6",
                            operation='INSERT OR UPDATE OF "geometry"',
                            pgid="pgtrigger_geometry_on_face_e759a",
                            table="records_coverage",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_with_its_record",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n            PERFORM FROM records_examination WHERE id IN (OLD.examination_id, NEW.examination_id) FOR SHARE;\n            IF EXISTS (\n                SELECT FROM records_examination\n                WHERE id IN (OLD.examination_id, NEW.examination_id) AND signed_at IS NOT NULL\n            ) THEN\n                RAISE EXCEPTION 'This belongs to a signed record and is locked with it: add an amendment to that record.' USING ERRCODE = 'check_violation';\n            END IF;\n            RETURN COALESCE(NEW, OLD);\n        ",
                            hash="94861d9f686963878dfb4f83c0a1949306a0e024",
                            operation="INSERT OR UPDATE OR DELETE",
                            pgid="pgtrigger_locked_with_its_record_62807",
                            table="records_coverage",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_coverageversion" ("created_at", "examination_id", "face_id", "geometry", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "rest_why", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."examination_id", NEW."face_id", NEW."geometry", NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."rest_why", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="052bf2d0302f4fab186e67f4bebc23223a2eb4f2",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_82cb3",
                            table="records_coverage",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."examination_id", OLD."face_id", OLD."geometry", OLD."rest_why") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."examination_id", NEW."face_id", NEW."geometry", NEW."rest_why"))',
                            func='INSERT INTO "records_coverageversion" ("created_at", "examination_id", "face_id", "geometry", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "rest_why", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."examination_id", NEW."face_id", NEW."geometry", NEW."id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."rest_why", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="114921fd25bbe32f5cc8a84bd6c18f4c0c47f855",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_bfec2",
                            table="records_coverage",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CoverageVersion",
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
                    "geometry",
                    django.contrib.gis.db.models.fields.GeometryField(
                        blank=True, null=True, srid=0
                    ),
                ),
                (
                    "rest_why",
                    models.TextField(
                        blank=True, help_text="Why the rest of the face was not covered"
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
                        to="records.coverage",
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
                    "examination",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.examination",
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
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="ae634d2da83353d6d44b9ec07992084203a14040",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_b0d22",
                            table="records_coverageversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Source",
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
                ("title", models.CharField(max_length=200)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("letter", "Letter"),
                            ("invoice", "Invoice"),
                            ("report", "Report"),
                            ("catalogue", "Catalogue"),
                            ("newspaper", "Newspaper"),
                            ("inventory", "Inventory"),
                            ("photograph", "Photograph"),
                            ("label", "Label or inscription"),
                            ("interview", "Spoken account"),
                            ("other", "Other"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "reference",
                    models.CharField(
                        blank=True, help_text="Archive and shelf mark", max_length=200
                    ),
                ),
                ("author", models.CharField(blank=True, max_length=200)),
                (
                    "reliability",
                    models.PositiveSmallIntegerField(
                        choices=[
                            (1, "First hand, made at the time"),
                            (2, "First hand, written later"),
                            (3, "Second hand"),
                            (4, "Hearsay or unsigned"),
                        ],
                        default=1,
                    ),
                ),
                (
                    "extract",
                    models.TextField(blank=True, help_text="The words that matter, quoted"),
                ),
                ("scan", models.FileField(blank=True, upload_to="sources/")),
                ("scan_sha256", models.CharField(blank=True, editable=False, max_length=64)),
                (
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sources",
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
                        name="records_source_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_source_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_source_no_bounds_without_date",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("scan", ""), ("scan_sha256", "")),
                            models.Q(
                                models.Q(("scan", ""), _negated=True),
                                ("scan_sha256__regex", "^[0-9a-f]{64}$"),
                            ),
                            _connector="OR",
                        ),
                        name="records_source_scan_has_sha256",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="40ca293e6e1558275a8f5b62209a6eefc2130082",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_b41f1",
                            table="records_source",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="35fda95ccbdbc28e4839d2701c250d1c0d175fbf",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_83667",
                            table="records_source",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."title", OLD."kind", OLD."reference", OLD."author", OLD."reliability", OLD."extract", OLD."scan", OLD."scan_sha256") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."title", NEW."kind", NEW."reference", NEW."author", NEW."reliability", NEW."extract", NEW."scan", NEW."scan_sha256"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="bde382886804033b8bb41218f9afffde19749fd9",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_2c3f6",
                            table="records_source",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_sourceversion" ("author", "created_at", "date", "date_earliest", "date_latest", "extract", "id", "kind", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "reference", "reliability", "scan", "scan_sha256", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."author", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."extract", NEW."id", NEW."kind", NEW."object_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."reference", NEW."reliability", NEW."scan", NEW."scan_sha256", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="22a7018da4988d0b745594a9636dab93851e9cf1",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_40289",
                            table="records_source",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."title", OLD."kind", OLD."reference", OLD."author", OLD."reliability", OLD."extract", OLD."scan", OLD."scan_sha256") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."title", NEW."kind", NEW."reference", NEW."author", NEW."reliability", NEW."extract", NEW."scan", NEW."scan_sha256"))',
                            func='INSERT INTO "records_sourceversion" ("author", "created_at", "date", "date_earliest", "date_latest", "extract", "id", "kind", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "reference", "reliability", "scan", "scan_sha256", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."author", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."extract", NEW."id", NEW."kind", NEW."object_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."reference", NEW."reliability", NEW."scan", NEW."scan_sha256", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="715008dcca06543e2d9bdbc3c00868fd21e0716f",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_f5303",
                            table="records_source",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Image",
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
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("technical", "Technical image"),
                            ("historical", "Historical photograph"),
                            ("section", "Photograph of a sample"),
                            ("document", "Scan of a document"),
                            ("detail", "Detail or overall view"),
                        ],
                        max_length=16,
                    ),
                ),
                ("title", models.CharField(max_length=200)),
                ("file", models.FileField(upload_to="images/")),
                ("sha256", models.CharField(max_length=64)),
                ("byte_size", models.PositiveBigIntegerField()),
                ("width_px", models.PositiveIntegerField()),
                ("height_px", models.PositiveIntegerField()),
                ("note", models.TextField(blank=True)),
                (
                    "window_low",
                    models.FloatField(
                        blank=True,
                        help_text="The value shown as black; empty to choose by itself",
                        null=True,
                    ),
                ),
                (
                    "window_high",
                    models.FloatField(
                        blank=True,
                        help_text="The value shown as white; empty to choose by itself",
                        null=True,
                    ),
                ),
                ("media_type", models.CharField(blank=True, editable=False, max_length=40)),
                ("bands", models.PositiveSmallIntegerField(editable=False, null=True)),
                ("sample_type", models.CharField(blank=True, editable=False, max_length=16)),
                ("metadata", models.JSONField(default=dict, editable=False)),
                ("histogram", models.JSONField(editable=False, null=True)),
                ("pyramid", models.CharField(blank=True, editable=False, max_length=200)),
                ("pyramid_progress", models.PositiveSmallIntegerField(editable=False, null=True)),
                ("pyramid_error", models.TextField(blank=True, editable=False)),
                (
                    "examination",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="images",
                        to="records.examination",
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
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="images",
                        to="records.object",
                    ),
                ),
                (
                    "source",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="images",
                        to="records.source",
                    ),
                ),
            ],
            options={
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
                        name="records_image_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_image_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_image_no_bounds_without_date",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("sha256__regex", "^[0-9a-f]{64}$")),
                        name="records_image_sha256_is_hex",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("object", "sha256"),
                        name="records_image_file_once_per_object",
                        violation_error_message="This very file is already among the object's images.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("window_high__isnull", True), ("window_low__isnull", True)),
                            models.Q(
                                ("window_high__isnull", False),
                                ("window_low__isnull", False),
                                ("window_low__lt", models.F("window_high")),
                            ),
                            _connector="OR",
                        ),
                        name="records_image_window_has_a_width",
                        violation_error_message="Black has to be a lower value than white.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="088355c0d246d2cf92714c944ac5ad46bbc0a42e",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_b66a6",
                            table="records_image",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="b4305616a9579cf5264c95de5cffadf875ef5259",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_acae2",
                            table="records_image",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."examination_id", OLD."source_id", OLD."kind", OLD."title", OLD."file", OLD."sha256", OLD."byte_size", OLD."width_px", OLD."height_px", OLD."note", OLD."window_low", OLD."window_high") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."examination_id", NEW."source_id", NEW."kind", NEW."title", NEW."file", NEW."sha256", NEW."byte_size", NEW."width_px", NEW."height_px", NEW."note", NEW."window_low", NEW."window_high"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="de905a99063087e0398d88c7a2d71c77d82997d4",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_6df71",
                            table="records_image",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_imageversion" ("byte_size", "created_at", "date", "date_earliest", "date_latest", "examination_id", "file", "height_px", "id", "kind", "note", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "sha256", "source_id", "title", "updated_at", "width_px", "window_high", "window_low", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."byte_size", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."examination_id", NEW."file", NEW."height_px", NEW."id", NEW."kind", NEW."note", NEW."object_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."sha256", NEW."source_id", NEW."title", NEW."updated_at", NEW."width_px", NEW."window_high", NEW."window_low", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="307c948c20ac2e741d428a8c6b13c89a082ee754",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_6ab43",
                            table="records_image",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."examination_id", OLD."source_id", OLD."kind", OLD."title", OLD."file", OLD."sha256", OLD."byte_size", OLD."width_px", OLD."height_px", OLD."note", OLD."window_low", OLD."window_high") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."examination_id", NEW."source_id", NEW."kind", NEW."title", NEW."file", NEW."sha256", NEW."byte_size", NEW."width_px", NEW."height_px", NEW."note", NEW."window_low", NEW."window_high"))',
                            func='INSERT INTO "records_imageversion" ("byte_size", "created_at", "date", "date_earliest", "date_latest", "examination_id", "file", "height_px", "id", "kind", "note", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "sha256", "source_id", "title", "updated_at", "width_px", "window_high", "window_low", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."byte_size", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."examination_id", NEW."file", NEW."height_px", NEW."id", NEW."kind", NEW."note", NEW."object_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."sha256", NEW."source_id", NEW."title", NEW."updated_at", NEW."width_px", NEW."window_high", NEW."window_low", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="8bb9466d6a43549798c2c26c166b4fd6de1e68cd",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_05be5",
                            table="records_image",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Material",
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
                ("code", models.SlugField(max_length=80, unique=True)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                (
                    "group",
                    models.CharField(help_text="pigment, filler, binder, varnish …", max_length=60),
                ),
                ("composition", models.TextField(blank=True)),
                ("formula", models.CharField(blank=True, max_length=200)),
                (
                    "elements",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=2),
                        blank=True,
                        default=list,
                        size=None,
                    ),
                ),
                (
                    "marks",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=2),
                        blank=True,
                        default=list,
                        help_text="Elements without which it is not there",
                        size=None,
                    ),
                ),
                (
                    "phases",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=40),
                        blank=True,
                        default=list,
                        help_text="Crystalline phases that it may hold, by their codes",
                        size=None,
                    ),
                ),
                (
                    "bands",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=40),
                        blank=True,
                        default=list,
                        help_text="Groups of infrared bands that it shows, by their codes",
                        size=None,
                    ),
                ),
                (
                    "colours",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=16),
                        blank=True,
                        default=list,
                        size=None,
                    ),
                ),
                ("uv", models.TextField(blank=True, help_text="Look under ultraviolet")),
                (
                    "hazards",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=12),
                        blank=True,
                        default=list,
                        help_text="GHS H-statements",
                        size=None,
                    ),
                ),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="narrower",
                        to="records.material",
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
                "ordering": ["label", "pk"],
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
                        name="records_material_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("broader", models.F("id")), _negated=True),
                        name="records_material_not_its_own_broader",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="5daffbf55ab6b66509d987b3b64f409ae2168a38",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_d7893",
                            table="records_material",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="7238271f8fa3280ef82dac7099437fe619e96ab8",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_79a9f",
                            table="records_material",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."group", OLD."composition", OLD."formula", OLD."elements", OLD."marks", OLD."phases", OLD."bands", OLD."colours", OLD."uv", OLD."hazards") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."group", NEW."composition", NEW."formula", NEW."elements", NEW."marks", NEW."phases", NEW."bands", NEW."colours", NEW."uv", NEW."hazards"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="48033b351e6bd215592c47eba36793bd095f3700",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_1074d",
                            table="records_material",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_materialversion" ("bands", "broader_id", "cautions", "code", "colours", "composition", "created_at", "definition", "elements", "formula", "group", "hazards", "id", "identifiers", "label", "marks", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "phases", "translations", "updated_at", "uv", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."bands", NEW."broader_id", NEW."cautions", NEW."code", NEW."colours", NEW."composition", NEW."created_at", NEW."definition", NEW."elements", NEW."formula", NEW."group", NEW."hazards", NEW."id", NEW."identifiers", NEW."label", NEW."marks", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."phases", NEW."translations", NEW."updated_at", NEW."uv", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="9791a9d62801f2d134dd8b7a0f74a1a50f20cb5a",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_1cfe3",
                            table="records_material",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."group", OLD."composition", OLD."formula", OLD."elements", OLD."marks", OLD."phases", OLD."bands", OLD."colours", OLD."uv", OLD."hazards") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."group", NEW."composition", NEW."formula", NEW."elements", NEW."marks", NEW."phases", NEW."bands", NEW."colours", NEW."uv", NEW."hazards"))',
                            func='INSERT INTO "records_materialversion" ("bands", "broader_id", "cautions", "code", "colours", "composition", "created_at", "definition", "elements", "formula", "group", "hazards", "id", "identifiers", "label", "marks", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "phases", "translations", "updated_at", "uv", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."bands", NEW."broader_id", NEW."cautions", NEW."code", NEW."colours", NEW."composition", NEW."created_at", NEW."definition", NEW."elements", NEW."formula", NEW."group", NEW."hazards", NEW."id", NEW."identifiers", NEW."label", NEW."marks", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."phases", NEW."translations", NEW."updated_at", NEW."uv", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="4c1f5214e60404b3fe5b4dec633ea88740aeaaa1",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_c5abb",
                            table="records_material",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MaterialDate",
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
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("first_attested", "First attested use"),
                            ("common_from", "Common from"),
                            ("common_until", "Common until"),
                            ("last_attested", "Last attested use"),
                        ],
                        max_length=16,
                    ),
                ),
                ("source", models.TextField(help_text="Published source, or 'from memory'")),
                ("note", models.TextField(blank=True)),
                (
                    "material",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="dates",
                        to="records.material",
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
                "ordering": ["material", "date_earliest", "pk"],
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
                        name="records_materialdate_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_materialdate_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_materialdate_no_bounds_without_date",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("date", ""), _negated=True),
                        name="records_materialdate_has_date",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("source", ""), _negated=True),
                        name="records_materialdate_has_source",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="a81479540cb1c941fb08a950de62335d881df126",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_76035",
                            table="records_materialdate",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="15b06fdecf452a5cb4a81d15aca9e441ed1b1d7f",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_5dfdd",
                            table="records_materialdate",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."material_id", OLD."kind", OLD."source", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."material_id", NEW."kind", NEW."source", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="410493f8ddfb70d6ce7d934dca9d7c978314e64f",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_46536",
                            table="records_materialdate",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_materialdateversion" ("created_at", "date", "date_earliest", "date_latest", "id", "kind", "material_id", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "source", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."kind", NEW."material_id", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."source", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="ea78737708b08c9e8b2904aac8876c2612153f44",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_34219",
                            table="records_materialdate",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."material_id", OLD."kind", OLD."source", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."material_id", NEW."kind", NEW."source", NEW."note"))',
                            func='INSERT INTO "records_materialdateversion" ("created_at", "date", "date_earliest", "date_latest", "id", "kind", "material_id", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "source", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."kind", NEW."material_id", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."source", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f587d5740200bbbcb74ac742e55dae3e11f7470f",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_54d62",
                            table="records_materialdate",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MaterialDateVersion",
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
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("first_attested", "First attested use"),
                            ("common_from", "Common from"),
                            ("common_until", "Common until"),
                            ("last_attested", "Last attested use"),
                        ],
                        max_length=16,
                    ),
                ),
                ("source", models.TextField(help_text="Published source, or 'from memory'")),
                ("note", models.TextField(blank=True)),
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
                        to="records.materialdate",
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
                            hash="b788be4f4cb14db3ab0c7fa7512c2e5a1c8cf07e",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_1bc10",
                            table="records_materialdateversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MaterialVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("code", models.SlugField(db_index=False, max_length=80)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                (
                    "group",
                    models.CharField(help_text="pigment, filler, binder, varnish …", max_length=60),
                ),
                ("composition", models.TextField(blank=True)),
                ("formula", models.CharField(blank=True, max_length=200)),
                (
                    "elements",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=2),
                        blank=True,
                        default=list,
                        size=None,
                    ),
                ),
                (
                    "marks",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=2),
                        blank=True,
                        default=list,
                        help_text="Elements without which it is not there",
                        size=None,
                    ),
                ),
                (
                    "phases",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=40),
                        blank=True,
                        default=list,
                        help_text="Crystalline phases that it may hold, by their codes",
                        size=None,
                    ),
                ),
                (
                    "bands",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=40),
                        blank=True,
                        default=list,
                        help_text="Groups of infrared bands that it shows, by their codes",
                        size=None,
                    ),
                ),
                (
                    "colours",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=16),
                        blank=True,
                        default=list,
                        size=None,
                    ),
                ),
                ("uv", models.TextField(blank=True, help_text="Look under ultraviolet")),
                (
                    "hazards",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=12),
                        blank=True,
                        default=list,
                        help_text="GHS H-statements",
                        size=None,
                    ),
                ),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
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
                        to="records.material",
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
                            hash="7842f4bcb5901893e4d686d689aaf3f0ce80a6d3",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_eff7d",
                            table="records_materialversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Mosaic",
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
                ("title", models.CharField(max_length=200)),
                (
                    "layout",
                    models.CharField(
                        choices=[
                            ("grid", "Rows and columns"),
                            ("stage_px", "A table of positions in pixels (column, row downwards)"),
                            (
                                "stage_mm",
                                "A table of positions in millimetres (x to the right, y up)",
                            ),
                        ],
                        default="grid",
                        help_text="Where frames lie",
                        max_length=10,
                    ),
                ),
                ("rows", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("columns", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "order",
                    models.CharField(
                        choices=[
                            ("rows", "Row by row, each from the left"),
                            ("rows_back", "Row by row, there and back"),
                            ("columns", "Column by column, each from the top"),
                            ("cols_back", "Column by column, there and back"),
                        ],
                        default="rows",
                        max_length=10,
                    ),
                ),
                (
                    "overlap_across",
                    models.FloatField(
                        blank=True, null=True, verbose_name="overlap side by side (%)"
                    ),
                ),
                (
                    "overlap_down",
                    models.FloatField(
                        blank=True, null=True, verbose_name="overlap one below the other (%)"
                    ),
                ),
                (
                    "pixel_mm",
                    models.FloatField(blank=True, null=True, verbose_name="size of a pixel (mm)"),
                ),
                (
                    "freedom",
                    models.CharField(
                        choices=[
                            ("shift", "Shifted only (a stage, films laid by a frame)"),
                            ("turn", "Shifted, a little turned, a little larger or smaller"),
                            (
                                "tilt",
                                "… and the camera a little tilted, differently for each frame",
                            ),
                        ],
                        default="turn",
                        max_length=10,
                    ),
                ),
                (
                    "lens",
                    models.CharField(
                        choices=[
                            ("none", "None (films, scanners, corrected already)"),
                            ("given", "Given as k1 and k2"),
                            ("estimated", "Worked out from the overlaps"),
                        ],
                        default="none",
                        max_length=10,
                    ),
                ),
                ("k1", models.FloatField(blank=True, null=True)),
                ("k2", models.FloatField(blank=True, null=True)),
                ("even_exposure", models.BooleanField(default=True)),
                (
                    "even_falloff",
                    models.BooleanField(
                        default=False, verbose_name="also even the falloff towards the edges"
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "stage",
                    models.CharField(
                        choices=[
                            ("new", "Not begun"),
                            ("fetching", "Frames are fetched"),
                            ("frames", "Frames are checked"),
                            ("offsets", "Overlaps are searched"),
                            ("ties", "Overlaps are measured"),
                            ("blocks", "The mosaic is written"),
                            ("joining", "The mosaic is put together"),
                            ("ready", "Ready"),
                            ("failed", "Failed"),
                        ],
                        default="new",
                        editable=False,
                        max_length=10,
                    ),
                ),
                ("error", models.TextField(blank=True, editable=False)),
                ("report", models.JSONField(editable=False, null=True)),
                (
                    "examination",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="mosaics",
                        to="records.examination",
                    ),
                ),
                (
                    "result",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="made_as_mosaic",
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
                        name="records_mosaic_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("layout", "grid"), _negated=True),
                            models.Q(
                                ("columns__gte", 1),
                                ("overlap_across__gt", 0),
                                ("overlap_across__lt", 100),
                                ("overlap_down__gt", 0),
                                ("overlap_down__lt", 100),
                                ("rows__gte", 1),
                            ),
                            _connector="OR",
                        ),
                        name="records_mosaic_grid_is_told",
                        violation_error_message="A grid needs its rows, columns and both overlaps, these between 0 and 100 %.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("layout", "stage_mm"), _negated=True),
                            ("pixel_mm__isnull", False),
                            _connector="OR",
                        ),
                        name="records_mosaic_millimetres_need_pixel",
                        violation_error_message="Positions in millimetres need the size of a pixel.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("pixel_mm__isnull", True), ("pixel_mm__gt", 0), _connector="OR"
                        ),
                        name="records_mosaic_pixel_positive",
                        violation_error_message="The size of a pixel is more than 0 mm.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("lens", "given"), _negated=True),
                            ("k1__isnull", False),
                            _connector="OR",
                        ),
                        name="records_mosaic_lens_is_told",
                        violation_error_message="A lens that is given needs k1.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="907beabd4a8fd601cf13e41bd7e60712c86eedbf",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_c3446",
                            table="records_mosaic",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="b1a644ae7507c913d6535ef67164565d2f115630",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_f89e6",
                            table="records_mosaic",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."examination_id", OLD."title", OLD."layout", OLD."rows", OLD."columns", OLD."order", OLD."overlap_across", OLD."overlap_down", OLD."pixel_mm", OLD."freedom", OLD."lens", OLD."k1", OLD."k2", OLD."even_exposure", OLD."even_falloff", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."examination_id", NEW."title", NEW."layout", NEW."rows", NEW."columns", NEW."order", NEW."overlap_across", NEW."overlap_down", NEW."pixel_mm", NEW."freedom", NEW."lens", NEW."k1", NEW."k2", NEW."even_exposure", NEW."even_falloff", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="0c8e7ef9dbf177c452d6f95e2e8417cdba03bd9f",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_f90db",
                            table="records_mosaic",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_mosaicversion" ("columns", "created_at", "even_exposure", "even_falloff", "examination_id", "freedom", "id", "k1", "k2", "layout", "lens", "note", "order", "overlap_across", "overlap_down", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "pixel_mm", "rows", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."columns", NEW."created_at", NEW."even_exposure", NEW."even_falloff", NEW."examination_id", NEW."freedom", NEW."id", NEW."k1", NEW."k2", NEW."layout", NEW."lens", NEW."note", NEW."order", NEW."overlap_across", NEW."overlap_down", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."pixel_mm", NEW."rows", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="e453dc4c966877f942c3e2bb949b636d8cf13e64",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_d6b67",
                            table="records_mosaic",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."examination_id", OLD."title", OLD."layout", OLD."rows", OLD."columns", OLD."order", OLD."overlap_across", OLD."overlap_down", OLD."pixel_mm", OLD."freedom", OLD."lens", OLD."k1", OLD."k2", OLD."even_exposure", OLD."even_falloff", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."examination_id", NEW."title", NEW."layout", NEW."rows", NEW."columns", NEW."order", NEW."overlap_across", NEW."overlap_down", NEW."pixel_mm", NEW."freedom", NEW."lens", NEW."k1", NEW."k2", NEW."even_exposure", NEW."even_falloff", NEW."note"))',
                            func='INSERT INTO "records_mosaicversion" ("columns", "created_at", "even_exposure", "even_falloff", "examination_id", "freedom", "id", "k1", "k2", "layout", "lens", "note", "order", "overlap_across", "overlap_down", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "pixel_mm", "rows", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."columns", NEW."created_at", NEW."even_exposure", NEW."even_falloff", NEW."examination_id", NEW."freedom", NEW."id", NEW."k1", NEW."k2", NEW."layout", NEW."lens", NEW."note", NEW."order", NEW."overlap_across", NEW."overlap_down", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."pixel_mm", NEW."rows", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="497c6496d7eebfb1e4804cd63425b5e455db3fb1",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_2778b",
                            table="records_mosaic",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MosaicFrame",
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
                    "role",
                    models.CharField(
                        choices=[
                            ("frame", "Frame"),
                            ("dark", "Dark exposure"),
                            ("flat", "Exposure of an even field"),
                        ],
                        default="frame",
                        max_length=10,
                    ),
                ),
                (
                    "number",
                    models.PositiveIntegerField(
                        help_text="In the order in which the frames were taken"
                    ),
                ),
                ("name", models.CharField(max_length=200)),
                ("file", models.FileField(blank=True, upload_to="frames/")),
                ("sha256", models.CharField(max_length=64)),
                ("stage_x", models.FloatField(blank=True, null=True)),
                ("stage_y", models.FloatField(blank=True, null=True)),
                ("place", models.JSONField(editable=False, null=True)),
                ("unplaced_why", models.TextField(blank=True, editable=False)),
                (
                    "image",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="mosaic_frames",
                        to="records.image",
                    ),
                ),
                (
                    "mosaic",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="frames",
                        to="records.mosaic",
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
                "ordering": ["mosaic", "role", "number"],
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
                        name="records_mosaicframe_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        fields=("mosaic", "role", "number"), name="records_mosaicframe_number_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("file", ""), ("image__isnull", False)),
                            models.Q(
                                ("image__isnull", True), models.Q(("file", ""), _negated=True)
                            ),
                            _connector="OR",
                        ),
                        name="records_mosaicframe_image_or_file",
                        violation_error_message="A frame is an image of the examination or a file.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("stage_x__isnull", True), ("stage_y__isnull", True)),
                            models.Q(("stage_x__isnull", False), ("stage_y__isnull", False)),
                            _connector="OR",
                        ),
                        name="records_mosaicframe_both_coordinates",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="54c9fc0e8fb8da33409b664bfed414f7328ecbfe",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_889a5",
                            table="records_mosaicframe",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="692566aeb924b41d565314bcb237fecc2db12579",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_5d7c6",
                            table="records_mosaicframe",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."mosaic_id", OLD."role", OLD."number", OLD."name", OLD."image_id", OLD."file", OLD."sha256", OLD."stage_x", OLD."stage_y") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."mosaic_id", NEW."role", NEW."number", NEW."name", NEW."image_id", NEW."file", NEW."sha256", NEW."stage_x", NEW."stage_y"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ca23c3efeeed0e23ab28f889be9e4f4f53bab4df",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_e92fe",
                            table="records_mosaicframe",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_mosaicframeversion" ("created_at", "file", "id", "image_id", "mosaic_id", "name", "number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "sha256", "stage_x", "stage_y", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."file", NEW."id", NEW."image_id", NEW."mosaic_id", NEW."name", NEW."number", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."role", NEW."sha256", NEW."stage_x", NEW."stage_y", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f8bbc932ac5145d377b02839376126937ed89bfe",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_de1da",
                            table="records_mosaicframe",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."mosaic_id", OLD."role", OLD."number", OLD."name", OLD."image_id", OLD."file", OLD."sha256", OLD."stage_x", OLD."stage_y") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."mosaic_id", NEW."role", NEW."number", NEW."name", NEW."image_id", NEW."file", NEW."sha256", NEW."stage_x", NEW."stage_y"))',
                            func='INSERT INTO "records_mosaicframeversion" ("created_at", "file", "id", "image_id", "mosaic_id", "name", "number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "sha256", "stage_x", "stage_y", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."file", NEW."id", NEW."image_id", NEW."mosaic_id", NEW."name", NEW."number", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."role", NEW."sha256", NEW."stage_x", NEW."stage_y", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="0273901027cef24d7b00c619197bc7e2203b64a8",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_6642c",
                            table="records_mosaicframe",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MosaicFrameVersion",
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
                    "role",
                    models.CharField(
                        choices=[
                            ("frame", "Frame"),
                            ("dark", "Dark exposure"),
                            ("flat", "Exposure of an even field"),
                        ],
                        default="frame",
                        max_length=10,
                    ),
                ),
                (
                    "number",
                    models.PositiveIntegerField(
                        help_text="In the order in which the frames were taken"
                    ),
                ),
                ("name", models.CharField(max_length=200)),
                ("file", models.FileField(blank=True, upload_to="frames/")),
                ("sha256", models.CharField(max_length=64)),
                ("stage_x", models.FloatField(blank=True, null=True)),
                ("stage_y", models.FloatField(blank=True, null=True)),
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
                    "mosaic",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.mosaic",
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
                        to="records.mosaicframe",
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
                            hash="c2d269a21aa0f4c5297b99028bfdc3df983c05f8",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_1e9b8",
                            table="records_mosaicframeversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MosaicStep",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "stage",
                    models.CharField(
                        choices=[
                            ("new", "Not begun"),
                            ("fetching", "Frames are fetched"),
                            ("frames", "Frames are checked"),
                            ("offsets", "Overlaps are searched"),
                            ("ties", "Overlaps are measured"),
                            ("blocks", "The mosaic is written"),
                            ("joining", "The mosaic is put together"),
                            ("ready", "Ready"),
                            ("failed", "Failed"),
                        ],
                        max_length=10,
                    ),
                ),
                ("key", models.CharField(max_length=64)),
                ("number", models.PositiveIntegerField()),
                ("inputs", models.JSONField()),
                ("result", models.JSONField(null=True)),
                ("done_at", models.DateTimeField(null=True)),
                (
                    "mosaic",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="steps",
                        to="records.mosaic",
                    ),
                ),
            ],
            options={
                "ordering": ["mosaic", "stage", "number"],
                "indexes": [
                    models.Index(
                        models.F("mosaic"),
                        models.F("stage"),
                        condition=models.Q(("done_at__isnull", True)),
                        name="records_step_open",
                    )
                ],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("mosaic", "stage", "key"), name="records_mosaicstep_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MosaicVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("title", models.CharField(max_length=200)),
                (
                    "layout",
                    models.CharField(
                        choices=[
                            ("grid", "Rows and columns"),
                            ("stage_px", "A table of positions in pixels (column, row downwards)"),
                            (
                                "stage_mm",
                                "A table of positions in millimetres (x to the right, y up)",
                            ),
                        ],
                        default="grid",
                        help_text="Where frames lie",
                        max_length=10,
                    ),
                ),
                ("rows", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("columns", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "order",
                    models.CharField(
                        choices=[
                            ("rows", "Row by row, each from the left"),
                            ("rows_back", "Row by row, there and back"),
                            ("columns", "Column by column, each from the top"),
                            ("cols_back", "Column by column, there and back"),
                        ],
                        default="rows",
                        max_length=10,
                    ),
                ),
                (
                    "overlap_across",
                    models.FloatField(
                        blank=True, null=True, verbose_name="overlap side by side (%)"
                    ),
                ),
                (
                    "overlap_down",
                    models.FloatField(
                        blank=True, null=True, verbose_name="overlap one below the other (%)"
                    ),
                ),
                (
                    "pixel_mm",
                    models.FloatField(blank=True, null=True, verbose_name="size of a pixel (mm)"),
                ),
                (
                    "freedom",
                    models.CharField(
                        choices=[
                            ("shift", "Shifted only (a stage, films laid by a frame)"),
                            ("turn", "Shifted, a little turned, a little larger or smaller"),
                            (
                                "tilt",
                                "… and the camera a little tilted, differently for each frame",
                            ),
                        ],
                        default="turn",
                        max_length=10,
                    ),
                ),
                (
                    "lens",
                    models.CharField(
                        choices=[
                            ("none", "None (films, scanners, corrected already)"),
                            ("given", "Given as k1 and k2"),
                            ("estimated", "Worked out from the overlaps"),
                        ],
                        default="none",
                        max_length=10,
                    ),
                ),
                ("k1", models.FloatField(blank=True, null=True)),
                ("k2", models.FloatField(blank=True, null=True)),
                ("even_exposure", models.BooleanField(default=True)),
                (
                    "even_falloff",
                    models.BooleanField(
                        default=False, verbose_name="also even the falloff towards the edges"
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "examination",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.examination",
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
                        to="records.mosaic",
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
                            hash="4130b0c8b521d943eae0f88bb016284db707d55c",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_10678",
                            table="records_mosaicversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="FaceVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("name", models.CharField(max_length=80)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("recto", "Recto"),
                            ("verso", "Verso"),
                            ("edge", "Edge"),
                            ("unrolled", "Unrolled surface"),
                            ("other", "Other side"),
                        ],
                        default="recto",
                        max_length=16,
                    ),
                ),
                (
                    "outline",
                    django.contrib.gis.db.models.fields.PolygonField(
                        help_text="In millimetres, lower left corner at 0, 0", srid=0
                    ),
                ),
                (
                    "tolerance_mm",
                    models.FloatField(
                        default=5.0, help_text="How far a record may lie outside the outline"
                    ),
                ),
                ("position", models.PositiveSmallIntegerField(default=0)),
                (
                    "component",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.component",
                    ),
                ),
                (
                    "mirror_of",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
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
                        to="records.face",
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
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.object",
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
                            hash="4b72db08975013e8f5c0cecf4f6c9be4482c6ff2",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_ba2f1",
                            table="records_faceversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ComponentVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("name", models.CharField(max_length=120)),
                ("materials", models.CharField(blank=True, max_length=300)),
                ("description", models.TextField(blank=True)),
                (
                    "parent",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.component",
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
                        to="records.component",
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
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.object",
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
                            hash="add7944a2a944692e22c5503c437e879e24ab0a0",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_4ddac",
                            table="records_componentversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CampaignVersion",
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
                ("title", models.CharField(max_length=200)),
                (
                    "purpose",
                    models.CharField(
                        choices=[
                            ("survey", "Condition survey"),
                            ("study", "Technical study"),
                            ("treatment", "Treatment project"),
                            ("loan", "Loan or transport check"),
                            ("monitoring", "Monitoring"),
                        ],
                        max_length=16,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "parent",
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
                        to="records.campaign",
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
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.object",
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
                            hash="7a30c356b2d0664b03d95925cc118691ac88ded8",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_132a5",
                            table="records_campaignversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Arrival",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=uuid.uuid4, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("filename", models.CharField(max_length=255)),
                ("byte_size", models.PositiveBigIntegerField()),
                (
                    "described",
                    models.JSONField(default=dict, help_text="What was said of it, field by field"),
                ),
                (
                    "in_folder",
                    models.CharField(
                        blank=True,
                        help_text="Where it lies in the ingest folder; '' if uploaded",
                        max_length=1000,
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("arriving", "arriving"),
                            ("waiting", "waiting to be checked"),
                            ("checking", "being checked"),
                            ("kept", "kept"),
                            ("known", "there already"),
                            ("refused", "refused"),
                        ],
                        db_index=True,
                        default="arriving",
                        max_length=16,
                    ),
                ),
                ("problem", models.TextField(blank=True)),
                ("begun_at", models.DateTimeField(auto_now_add=True)),
                ("changed_at", models.DateTimeField(auto_now=True)),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="arrivals",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "image",
                    models.ForeignKey(
                        help_text="As what it is kept",
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="records.image",
                    ),
                ),
                (
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="arrivals",
                        to="records.object",
                    ),
                ),
            ],
            options={
                "ordering": ["begun_at"],
            },
        ),
        migrations.CreateModel(
            name="ObjectVersion",
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
                ("accession_number", models.CharField(max_length=60)),
                ("title", models.CharField(max_length=200)),
                ("maker", models.CharField(blank=True, max_length=200)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("canvas", "Painting on canvas"),
                            ("panel", "Painting on panel"),
                            ("wall", "Wall painting"),
                            ("sculpture", "Polychrome sculpture"),
                            ("paper", "Work on paper"),
                            ("textile", "Textile"),
                            ("other", "Other"),
                        ],
                        default="canvas",
                        max_length=16,
                    ),
                ),
                (
                    "materials",
                    models.CharField(
                        blank=True, help_text="As on the label: 'oil on canvas'", max_length=300
                    ),
                ),
                ("height_mm", models.FloatField(blank=True, null=True)),
                ("width_mm", models.FloatField(blank=True, null=True)),
                ("depth_mm", models.FloatField(blank=True, null=True)),
                ("owner", models.CharField(blank=True, max_length=200)),
                (
                    "place",
                    models.CharField(blank=True, help_text="Where it is now", max_length=200),
                ),
                (
                    "construction",
                    models.TextField(blank=True, help_text="How it is built, in words"),
                ),
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
                        to="records.object",
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
                            hash="b03190a271aa321ae57a53ccaf7b0f0df3a2f166",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_6a308",
                            table="records_objectversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="OccurrenceKind",
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
                ("code", models.SlugField(max_length=80, unique=True)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                ("group", models.CharField(blank=True, max_length=60)),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="narrower",
                        to="records.occurrencekind",
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
                "ordering": ["label", "pk"],
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
                        name="records_occurrencekind_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("broader", models.F("id")), _negated=True),
                        name="records_occurrencekind_not_its_own_broader",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="ac134cf98f2a599f2a2cdc3ab12b9d000143bc69",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_cdb60",
                            table="records_occurrencekind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="93c8d81e7e11eddf503342dadc2a4072ae91e098",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_ee999",
                            table="records_occurrencekind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."group") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."group"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="0f0f883a3912ce33b23a3c432223973fec4be2d0",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_cde0c",
                            table="records_occurrencekind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_occurrencekindversion" ("broader_id", "cautions", "code", "created_at", "definition", "group", "id", "identifiers", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "translations", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."broader_id", NEW."cautions", NEW."code", NEW."created_at", NEW."definition", NEW."group", NEW."id", NEW."identifiers", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."translations", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="cf4b9022fc40fb1630daafb2b4e69bbebaf5cb58",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_633b7",
                            table="records_occurrencekind",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."group") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."group"))',
                            func='INSERT INTO "records_occurrencekindversion" ("broader_id", "cautions", "code", "created_at", "definition", "group", "id", "identifiers", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "translations", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."broader_id", NEW."cautions", NEW."code", NEW."created_at", NEW."definition", NEW."group", NEW."id", NEW."identifiers", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."translations", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="e6a62001faa5f9f9554da2a6601dee81c9c12a26",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_b8b24",
                            table="records_occurrencekind",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Occurrence",
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
                ("title", models.CharField(max_length=200)),
                ("instant", models.BooleanField(default=False, help_text="It happened on one day")),
                ("place_from", models.CharField(blank=True, max_length=200)),
                (
                    "place_to",
                    models.CharField(blank=True, help_text="Or simply: where", max_length=200),
                ),
                ("description", models.TextField(blank=True)),
                (
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="occurrences",
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
                (
                    "kind",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="occurrences",
                        to="records.occurrencekind",
                    ),
                ),
                (
                    "sources",
                    models.ManyToManyField(
                        blank=True, related_name="occurrences", to="records.source"
                    ),
                ),
            ],
            options={
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
                        name="records_occurrence_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_occurrence_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_occurrence_no_bounds_without_date",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="98b812352f5d59bd8cb3c1120be00d8c12bbdc8c",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_11a1e",
                            table="records_occurrence",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="2ededd9d4c64d79a10837a0506bc934593c55fb0",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_7e5a3",
                            table="records_occurrence",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."kind_id", OLD."title", OLD."instant", OLD."place_from", OLD."place_to", OLD."description") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."kind_id", NEW."title", NEW."instant", NEW."place_from", NEW."place_to", NEW."description"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ec3b6c7f168bcc35d46a650e3ddf252c7d830414",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_9cd22",
                            table="records_occurrence",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_occurrenceversion" ("created_at", "date", "date_earliest", "date_latest", "description", "id", "instant", "kind_id", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place_from", "place_to", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."description", NEW."id", NEW."instant", NEW."kind_id", NEW."object_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."place_from", NEW."place_to", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="60101bdbcb6a814abb2755c9fd82e972312463cc",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_f0a50",
                            table="records_occurrence",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."kind_id", OLD."title", OLD."instant", OLD."place_from", OLD."place_to", OLD."description") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."kind_id", NEW."title", NEW."instant", NEW."place_from", NEW."place_to", NEW."description"))',
                            func='INSERT INTO "records_occurrenceversion" ("created_at", "date", "date_earliest", "date_latest", "description", "id", "instant", "kind_id", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "place_from", "place_to", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."description", NEW."id", NEW."instant", NEW."kind_id", NEW."object_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."place_from", NEW."place_to", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="d79d8d5bae831b3ab86449cea52a0d964434121c",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_8b9fd",
                            table="records_occurrence",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="OccurrenceKindVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("code", models.SlugField(db_index=False, max_length=80)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                ("group", models.CharField(blank=True, max_length=60)),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.occurrencekind",
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
                        to="records.occurrencekind",
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
                            hash="0551a632d67f1f00c261f0da234b87136e904ea2",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_447b8",
                            table="records_occurrencekindversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="OccurrenceVersion",
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
                ("title", models.CharField(max_length=200)),
                ("instant", models.BooleanField(default=False, help_text="It happened on one day")),
                ("place_from", models.CharField(blank=True, max_length=200)),
                (
                    "place_to",
                    models.CharField(blank=True, help_text="Or simply: where", max_length=200),
                ),
                ("description", models.TextField(blank=True)),
                (
                    "kind",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.occurrencekind",
                    ),
                ),
                (
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
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
                        to="records.occurrence",
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
                            hash="26eedef734e7c8aaaed0b7ba85708df14423ed88",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_a2a93",
                            table="records_occurrenceversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CampaignPersonVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                (
                    "campaign",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.campaign",
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
                    "person",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.person",
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
                            hash="8a78d1dea4eab0203cf771faf1a96f851dff79b7",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_ed44d",
                            table="records_campaignpersonversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="PersonVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("name", models.CharField(max_length=200)),
                ("occupation", models.CharField(blank=True, max_length=200)),
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
                        to="records.person",
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
                            hash="f5428fa33b0017d67a3845f50e690ea388ac9111",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_b8d24",
                            table="records_personversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Placement",
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
                ("method", models.CharField(default="similarity", max_length=40)),
                ("matrix", models.JSONField()),
                (
                    "control_points",
                    models.JSONField(
                        blank=True, default=list, help_text='[{"px": [column, row], "mm": [x, y]}]'
                    ),
                ),
                (
                    "rms_mm",
                    models.FloatField(
                        help_text="Root mean square of the residuals at the control points"
                    ),
                ),
                (
                    "uncertainty_mm",
                    models.FloatField(
                        help_text="How far what is drawn on the image may lie from its true place on the face"
                    ),
                ),
                (
                    "uncertainty_basis",
                    models.CharField(
                        choices=[
                            ("left_out", "each point foretold by the others"),
                            ("residuals", "what is left at the points"),
                            ("stated", "stated by hand"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "fit",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text="Version of the fit, its parameters and its figures",
                    ),
                ),
                (
                    "footprint",
                    django.contrib.gis.db.models.fields.PolygonField(
                        help_text="The image's edge on the face, in mm", srid=0
                    ),
                ),
                ("rectified", models.CharField(blank=True, editable=False, max_length=200)),
                ("rectified_frame", models.JSONField(editable=False, null=True)),
                ("rectified_progress", models.PositiveSmallIntegerField(editable=False, null=True)),
                ("rectified_error", models.TextField(blank=True, editable=False)),
                (
                    "face",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="placements",
                        to="records.face",
                    ),
                ),
                (
                    "image",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="placements",
                        to="records.image",
                    ),
                ),
                (
                    "reference",
                    models.ForeignKey(
                        blank=True,
                        help_text="The placed image on which the points were set; none when measured on the face",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rests_under",
                        to="records.placement",
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
                        name="records_placement_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("image", "face"),
                        name="records_placement_once_per_face",
                        violation_error_message="The image is placed on this face already: change that.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("rms_mm__gte", 0)),
                        name="records_placement_rms_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("uncertainty_mm__gte", 0)),
                        name="records_placement_uncertainty_not_negative",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="9710dfe4ad9bc45127f79291740d3ebd9ce51f26",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_97372",
                            table="records_placement",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="5f5ca660a5965c3f700abcb9133ead6093b29d97",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_0fe66",
                            table="records_placement",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."image_id", OLD."face_id", OLD."reference_id", OLD."method", OLD."matrix", OLD."control_points", OLD."rms_mm", OLD."uncertainty_mm", OLD."uncertainty_basis", OLD."fit", OLD."footprint") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."image_id", NEW."face_id", NEW."reference_id", NEW."method", NEW."matrix", NEW."control_points", NEW."rms_mm", NEW."uncertainty_mm", NEW."uncertainty_basis", NEW."fit", NEW."footprint"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="36c71ff3129e7c7b77907f366170f178a6a9f440",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_4d0df",
                            table="records_placement",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="pass_on_uncertainty",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    UPDATE records_sighting s SET uncertainty_mm = s.uncertainty_mm\n    FROM records_trace t, records_image i\n    WHERE t.id = s.trace_id AND t.face_id = NEW.face_id AND i.id = NEW.image_id\n        AND (s.image_id = i.id OR s.examination_id = i.examination_id)\n        AND s.geometry IS NOT NULL AND s.withdrawn_at IS NULL\n        AND COALESCE(s.uncertainty_mm, -1) < NEW.uncertainty_mm;\n    RETURN NULL;\n",
                            hash="6b395d6f08943f6debef920b877ff0bbc10a6cbc",
                            operation='INSERT OR UPDATE OF "uncertainty_mm"',
                            pgid="pgtrigger_pass_on_uncertainty_8db90",
                            table="records_placement",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_placementversion" ("control_points", "created_at", "face_id", "fit", "footprint", "id", "image_id", "matrix", "method", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "reference_id", "rms_mm", "uncertainty_basis", "uncertainty_mm", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."control_points", NEW."created_at", NEW."face_id", NEW."fit", NEW."footprint", NEW."id", NEW."image_id", NEW."matrix", NEW."method", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."reference_id", NEW."rms_mm", NEW."uncertainty_basis", NEW."uncertainty_mm", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="b317b4f6fbec681f9e9559b1fe4710cef92a8fa4",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_564ce",
                            table="records_placement",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."image_id", OLD."face_id", OLD."reference_id", OLD."method", OLD."matrix", OLD."control_points", OLD."rms_mm", OLD."uncertainty_mm", OLD."uncertainty_basis", OLD."fit", OLD."footprint") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."image_id", NEW."face_id", NEW."reference_id", NEW."method", NEW."matrix", NEW."control_points", NEW."rms_mm", NEW."uncertainty_mm", NEW."uncertainty_basis", NEW."fit", NEW."footprint"))',
                            func='INSERT INTO "records_placementversion" ("control_points", "created_at", "face_id", "fit", "footprint", "id", "image_id", "matrix", "method", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "reference_id", "rms_mm", "uncertainty_basis", "uncertainty_mm", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."control_points", NEW."created_at", NEW."face_id", NEW."fit", NEW."footprint", NEW."id", NEW."image_id", NEW."matrix", NEW."method", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."reference_id", NEW."rms_mm", NEW."uncertainty_basis", NEW."uncertainty_mm", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="12ecc7d1f18e01644c31a4bdef861feb0ef71a0e",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_ae8b6",
                            table="records_placement",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlacementVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("method", models.CharField(default="similarity", max_length=40)),
                ("matrix", models.JSONField()),
                (
                    "control_points",
                    models.JSONField(
                        blank=True, default=list, help_text='[{"px": [column, row], "mm": [x, y]}]'
                    ),
                ),
                (
                    "rms_mm",
                    models.FloatField(
                        help_text="Root mean square of the residuals at the control points"
                    ),
                ),
                (
                    "uncertainty_mm",
                    models.FloatField(
                        help_text="How far what is drawn on the image may lie from its true place on the face"
                    ),
                ),
                (
                    "uncertainty_basis",
                    models.CharField(
                        choices=[
                            ("left_out", "each point foretold by the others"),
                            ("residuals", "what is left at the points"),
                            ("stated", "stated by hand"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "fit",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text="Version of the fit, its parameters and its figures",
                    ),
                ),
                (
                    "footprint",
                    django.contrib.gis.db.models.fields.PolygonField(
                        help_text="The image's edge on the face, in mm", srid=0
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
                    "image",
                    models.ForeignKey(
                        db_constraint=False,
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
                        to="records.placement",
                    ),
                ),
                (
                    "reference",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        help_text="The placed image on which the points were set; none when measured on the face",
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.placement",
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
                            hash="15a14d33fcdb47f982d76cb761075233eb80817f",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_779a3",
                            table="records_placementversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="PointProposal",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("progress", models.PositiveSmallIntegerField(default=0)),
                (
                    "points",
                    models.JSONField(
                        default=list,
                        help_text='[{"px": [column, row], "on": [column, row]}], best first',
                    ),
                ),
                (
                    "words",
                    models.TextField(
                        blank=True, help_text="What was found, or why nothing can be proposed"
                    ),
                ),
                (
                    "found",
                    models.JSONField(
                        default=dict, help_text="Method, parameters, numbers of matches"
                    ),
                ),
                ("asked_at", models.DateTimeField(auto_now=True)),
                (
                    "image",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="proposals",
                        to="records.image",
                    ),
                ),
                (
                    "reference",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="proposals",
                        to="records.placement",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("image", "reference"), name="records_pointproposal_once_per_pair"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Reconstruction",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "trust",
                    models.CharField(
                        choices=[
                            ("firm", "Firm only"),
                            ("likely", "Firm and likely"),
                            ("all", "All evidence"),
                        ],
                        default="all",
                        max_length=8,
                    ),
                ),
                ("case", models.JSONField()),
                ("case_sha256", models.CharField(max_length=64)),
                ("result", models.JSONField()),
                ("engine_version", models.CharField(max_length=40)),
                ("seconds", models.FloatField()),
                ("computed_at", models.DateTimeField(auto_now_add=True)),
                (
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reconstructions",
                        to="records.object",
                    ),
                ),
            ],
            options={
                "ordering": ["-computed_at", "-pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("object", "trust", "case_sha256", "engine_version"),
                        name="records_reconstruction_once_per_case",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TraceKind",
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
                ("code", models.SlugField(max_length=80, unique=True)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                (
                    "family",
                    models.CharField(
                        choices=[
                            ("alteration", "Alteration"),
                            ("intervention", "Intervention"),
                            ("making", "Making"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "shape",
                    models.CharField(
                        choices=[("point", "Point"), ("line", "Line"), ("polygon", "Area")],
                        help_text="How it is usually drawn on the face",
                        max_length=8,
                    ),
                ),
                (
                    "short",
                    models.CharField(help_text="Letters that stand for it on a map", max_length=4),
                ),
                (
                    "suits",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=16),
                        blank=True,
                        default=list,
                        size=None,
                    ),
                ),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="narrower",
                        to="records.tracekind",
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
                "ordering": ["label", "pk"],
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
                        name="records_tracekind_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("broader", models.F("id")), _negated=True),
                        name="records_tracekind_not_its_own_broader",
                    ),
                    models.UniqueConstraint(fields=("short",), name="records_tracekind_short_once"),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="37be4749d8b5ef6b08848008983a31ed4586e52e",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_67c0a",
                            table="records_tracekind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="cef794eed8f37e746c688b24779f64dc6e591cdd",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_a72a7",
                            table="records_tracekind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."family", OLD."shape", OLD."short", OLD."suits") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."family", NEW."shape", NEW."short", NEW."suits"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="db55b153482929a716d4a6b8b61a58976f3817c9",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_24351",
                            table="records_tracekind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_tracekindversion" ("broader_id", "cautions", "code", "created_at", "definition", "family", "id", "identifiers", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "shape", "short", "suits", "translations", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."broader_id", NEW."cautions", NEW."code", NEW."created_at", NEW."definition", NEW."family", NEW."id", NEW."identifiers", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."shape", NEW."short", NEW."suits", NEW."translations", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="0a972f4a854bff9f7ba25ea673377f3eb23c2dff",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_63d26",
                            table="records_tracekind",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."family", OLD."shape", OLD."short", OLD."suits") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."family", NEW."shape", NEW."short", NEW."suits"))',
                            func='INSERT INTO "records_tracekindversion" ("broader_id", "cautions", "code", "created_at", "definition", "family", "id", "identifiers", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "shape", "short", "suits", "translations", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."broader_id", NEW."cautions", NEW."code", NEW."created_at", NEW."definition", NEW."family", NEW."id", NEW."identifiers", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."shape", NEW."short", NEW."suits", NEW."translations", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="060954d6940b0be31912f7384cc3a7263e7a3277",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_8a51f",
                            table="records_tracekind",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Trace",
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
                ("number", models.CharField(help_text="Its number on this face", max_length=24)),
                (
                    "label",
                    models.CharField(blank=True, help_text="'tear, lower left'", max_length=200),
                ),
                ("description", models.TextField(blank=True)),
                (
                    "shape",
                    django.contrib.gis.db.models.fields.GeometryField(
                        editable=False, null=True, srid=0
                    ),
                ),
                (
                    "face",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="traces",
                        to="records.face",
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
                    "kind",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="traces",
                        to="records.tracekind",
                    ),
                ),
            ],
            options={
                "ordering": ["face", "number", "pk"],
                "abstract": False,
                "indexes": [
                    models.Index(
                        models.F("face"),
                        django.db.models.functions.text.Length("number"),
                        models.F("number"),
                        models.F("id"),
                        name="records_trace_in_order",
                    )
                ],
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
                        name="records_trace_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        fields=("face", "number"),
                        name="records_trace_number_once_per_face",
                        violation_error_message="This face already has a trace of that number.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="07f223d7a0670302b5390c5167a41d0408ce5619",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_259e4",
                            table="records_trace",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="cf5703f8360db5b06c4338371ea9a1f74cd62f0c",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_72a97",
                            table="records_trace",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."face_id", OLD."kind_id", OLD."number", OLD."label", OLD."description") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."face_id", NEW."kind_id", NEW."number", NEW."label", NEW."description"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="f1c5f1a8ef7710b75c12c011be04a8804932dff8",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_13132",
                            table="records_trace",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="face_id_stays",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (OLD."face_id" IS DISTINCT FROM NEW."face_id")',
                            func="RAISE EXCEPTION 'A trace stays on its face: record a new trace instead.' USING ERRCODE = 'check_violation';",
                            hash="509d0b84847e2d2cca15a4d2e98f1b32413e0350",
                            operation="UPDATE",
                            pgid="pgtrigger_face_id_stays_095fe",
                            table="records_trace",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_traceversion" ("created_at", "description", "face_id", "id", "kind_id", "label", "number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."description", NEW."face_id", NEW."id", NEW."kind_id", NEW."label", NEW."number", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="625062011e4423491d2e142ff02b12919632de76",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_31161",
                            table="records_trace",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."face_id", OLD."kind_id", OLD."number", OLD."label", OLD."description") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."face_id", NEW."kind_id", NEW."number", NEW."label", NEW."description"))',
                            func='INSERT INTO "records_traceversion" ("created_at", "description", "face_id", "id", "kind_id", "label", "number", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."description", NEW."face_id", NEW."id", NEW."kind_id", NEW."label", NEW."number", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f7ffc78e77c6c62ff07996260fc6bc4e052a3158",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_0017b",
                            table="records_trace",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Relation",
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
                    "order",
                    models.CharField(
                        choices=[
                            ("lies_over", "lies over"),
                            ("cuts_through", "cuts through"),
                            ("fills", "fills"),
                        ],
                        default="lies_over",
                        max_length=16,
                    ),
                ),
                (
                    "strength",
                    models.CharField(
                        choices=[
                            ("firm", "Firm"),
                            ("likely", "Likely"),
                            ("tentative", "Tentative"),
                        ],
                        default="firm",
                        max_length=16,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "examination",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="relations",
                        to="records.examination",
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
                    "lower",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="relations_up",
                        to="records.trace",
                    ),
                ),
                (
                    "upper",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="relations_down",
                        to="records.trace",
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
                        name="records_relation_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("upper", models.F("lower")), _negated=True),
                        name="records_relation_between_two",
                        violation_error_message="A trace cannot lie over itself.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("upper", "lower", "order"),
                        name="records_relation_once",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="a043879e9bef8ceb884ceefa3d436875f8d9e4dc",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_abbaa",
                            table="records_relation",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="b0195097e39468703643729aab9fdddcbfaa55fe",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_09184",
                            table="records_relation",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."upper_id", OLD."lower_id", OLD."order", OLD."strength", OLD."examination_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."upper_id", NEW."lower_id", NEW."order", NEW."strength", NEW."examination_id", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="2d5e3b642d018c1b21eac43885c986e54148f59d",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_bf004",
                            table="records_relation",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_relationversion" ("created_at", "examination_id", "id", "lower_id", "note", "order", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "strength", "updated_at", "upper_id", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."examination_id", NEW."id", NEW."lower_id", NEW."note", NEW."order", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."strength", NEW."updated_at", NEW."upper_id", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="934f6bb8fcde81574a468516691287dfba4f3057",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_effad",
                            table="records_relation",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."upper_id", OLD."lower_id", OLD."order", OLD."strength", OLD."examination_id", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."upper_id", NEW."lower_id", NEW."order", NEW."strength", NEW."examination_id", NEW."note"))',
                            func='INSERT INTO "records_relationversion" ("created_at", "examination_id", "id", "lower_id", "note", "order", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "strength", "updated_at", "upper_id", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."examination_id", NEW."id", NEW."lower_id", NEW."note", NEW."order", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."strength", NEW."updated_at", NEW."upper_id", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="da58e8ea6f9c4f531c81ad3e6347ee9951cbf915",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_e0c9f",
                            table="records_relation",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SetAside",
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
                ("item", models.CharField(max_length=80)),
                ("why", models.TextField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="set_aside",
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
                "ordering": ["-created_at", "-pk"],
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
                        name="records_setaside_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("why", ""), _negated=True),
                        name="records_setaside_has_reason",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("object", "item"),
                        name="records_setaside_once",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="cea27b52214a285bfacfeeb44e4bc388d04ec190",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_10dcf",
                            table="records_setaside",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="e32c5f6f1f03cf9b1af171ea78c30c5d0575bbe3",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_96dd8",
                            table="records_setaside",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."object_id", OLD."item", OLD."why", OLD."by_id") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."object_id", NEW."item", NEW."why", NEW."by_id"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="6b0fbfeb9ab7a684162e233b4fc63f4fc14b6018",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_92d7d",
                            table="records_setaside",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_setasideversion" ("by_id", "created_at", "id", "item", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "why", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."by_id", NEW."created_at", NEW."id", NEW."item", NEW."object_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."updated_at", NEW."why", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="22312d3a1213cf603d95a5661fd9ca73f0fd1c81",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_9f942",
                            table="records_setaside",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."object_id", OLD."item", OLD."why", OLD."by_id") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."object_id", NEW."item", NEW."why", NEW."by_id"))',
                            func='INSERT INTO "records_setasideversion" ("by_id", "created_at", "id", "item", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "why", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."by_id", NEW."created_at", NEW."id", NEW."item", NEW."object_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."updated_at", NEW."why", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="3eb87023f09bdd46e7be76010330b6458bac1e2d",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_6b1c5",
                            table="records_setaside",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SetAsideVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("item", models.CharField(max_length=80)),
                ("why", models.TextField()),
                (
                    "by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
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
                        to="records.setaside",
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
                            hash="455d8bfbe544fdd0722797edfeae97d61dc03787",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_37e83",
                            table="records_setasideversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Sighting",
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
                    "outcome",
                    models.CharField(
                        choices=[
                            ("seen", "Seen"),
                            ("not_seen", "Not seen"),
                            ("unclear", "Unclear"),
                        ],
                        default="seen",
                        max_length=8,
                    ),
                ),
                (
                    "strength",
                    models.CharField(
                        choices=[
                            ("firm", "Firm"),
                            ("likely", "Likely"),
                            ("tentative", "Tentative"),
                        ],
                        default="firm",
                        max_length=16,
                    ),
                ),
                (
                    "geometry",
                    django.contrib.gis.db.models.fields.GeometryField(
                        blank=True, null=True, srid=0
                    ),
                ),
                (
                    "uncertainty_mm",
                    models.FloatField(
                        blank=True, help_text="How far the drawn edge may be off", null=True
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "area_mm2",
                    models.GeneratedField(
                        db_persist=True,
                        expression=models.Func("geometry", function="ST_Area"),
                        output_field=models.FloatField(),
                    ),
                ),
                (
                    "length_mm",
                    models.GeneratedField(
                        db_persist=True,
                        expression=models.Func("geometry", function="ST_Length"),
                        output_field=models.FloatField(),
                    ),
                ),
                (
                    "examination",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sightings",
                        to="records.examination",
                    ),
                ),
                (
                    "image",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sightings",
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
                    "trace",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sightings",
                        to="records.trace",
                    ),
                ),
            ],
            options={
                "ordering": ["trace", "pk"],
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
                        name="records_sighting_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("examination__isnull", False), ("image__isnull", True)),
                            models.Q(("examination__isnull", True), ("image__isnull", False)),
                            _connector="OR",
                        ),
                        name="records_sighting_at_one_look",
                        violation_error_message="Say in which examination or on which image: one of them.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome", "not_seen"), _negated=True),
                            ("geometry__isnull", True),
                            _connector="OR",
                        ),
                        name="records_sighting_not_seen_has_no_shape",
                        violation_error_message="What was not seen has no shape.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("uncertainty_mm__isnull", True),
                            ("uncertainty_mm__gte", 0),
                            _connector="OR",
                        ),
                        name="records_sighting_uncertainty_not_negative",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(
                            ("examination__isnull", False), ("withdrawn_at__isnull", True)
                        ),
                        fields=("trace", "examination"),
                        name="records_sighting_once_per_examination",
                        violation_error_message="This examination already speaks of the trace.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(
                            ("image__isnull", False), ("withdrawn_at__isnull", True)
                        ),
                        fields=("trace", "image"),
                        name="records_sighting_once_per_image",
                        violation_error_message="This image already speaks of the trace.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="5c353b127e744e49c7ed8e90e50552ffe8a17633",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_1025b",
                            table="records_sighting",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="2e86ab706bf3b2665085224b4a2c674dd3110987",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_11bcf",
                            table="records_sighting",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."trace_id", OLD."examination_id", OLD."image_id", OLD."outcome", OLD."strength", OLD."geometry", OLD."uncertainty_mm", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."trace_id", NEW."examination_id", NEW."image_id", NEW."outcome", NEW."strength", NEW."geometry", NEW."uncertainty_mm", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ebf49745063ee1610ca28ad39b0593d17d6bc58d",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_48cf6",
                            table="records_sighting",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="geometry_on_face",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (NEW."geometry" IS NOT NULL)',
                            declare="DECLARE outline geometry; tolerance double precision;",
                            func='\n            IF NOT ST_IsValid(NEW."geometry") OR ST_IsEmpty(NEW."geometry") THEN\n                RAISE EXCEPTION \'The shape is not valid: %.\', ST_IsValidReason(NEW."geometry")\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            SELECT f.outline, f.tolerance_mm INTO outline, tolerance\n                FROM records_face f WHERE f.id = (SELECT t.face_id FROM records_trace t WHERE t.id = NEW.trace_id);\n            IF outline IS NOT NULL AND NOT ST_CoveredBy(NEW."geometry", outline)\n               AND NOT ST_CoveredBy(NEW."geometry", ST_Buffer(outline, tolerance)) THEN\n                RAISE EXCEPTION \'The shape lies % mm outside the outline of the face.\',\n                    round((SELECT max(ST_Distance(p.geom, outline))\n                           FROM ST_DumpPoints(NEW."geometry") p)::numeric, 1)\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            RETURN NEW;\n        ',
                            hash="2df02b90abb2a40ce42a54ab78ef150160203563",
                            operation='INSERT OR UPDATE OF "geometry"',
                            pgid="pgtrigger_geometry_on_face_09b42",
                            table="records_sighting",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="uncertain_as_its_image",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (NEW."geometry" IS NOT NULL)',
                            declare="DECLARE floor_mm double precision;",
                            func="\n    SELECT min(p.uncertainty_mm) INTO floor_mm\n    FROM records_placement p\n    JOIN records_image i ON i.id = p.image_id\n    JOIN records_trace t ON t.id = NEW.trace_id\n    WHERE p.face_id = t.face_id AND p.withdrawn_at IS NULL AND i.withdrawn_at IS NULL\n        AND (i.id = NEW.image_id\n            OR i.examination_id = NEW.examination_id AND ST_Intersects(p.footprint, NEW.geometry));\n    NEW.uncertainty_mm := GREATEST(NEW.uncertainty_mm, floor_mm);\n    RETURN NEW;\n",
                            hash="dcabcae1acab68b927215bb5f0ab0a2b92fd7c7b",
                            operation='INSERT OR UPDATE OF "geometry", "uncertainty_mm", "image_id", "examination_id"',
                            pgid="pgtrigger_uncertain_as_its_image_69be4",
                            table="records_sighting",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="shape_when_added",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    UPDATE records_trace t SET shape = latest.geometry\n    FROM (\n        SELECT DISTINCT ON (concerned.trace_id) concerned.trace_id, s.geometry\n        FROM (SELECT DISTINCT trace_id FROM changed) concerned\n        LEFT JOIN records_sighting s ON s.trace_id = concerned.trace_id\n            AND s.geometry IS NOT NULL AND s.withdrawn_at IS NULL\n        LEFT JOIN records_examination e ON e.id = s.examination_id\n        LEFT JOIN records_image i ON i.id = s.image_id\n        ORDER BY concerned.trace_id,\n            COALESCE(e.date_latest, i.date_latest, i.date_earliest) DESC NULLS LAST, s.id DESC\n    ) latest\n    WHERE t.id = latest.trace_id AND t.shape IS DISTINCT FROM latest.geometry;\n    RETURN NULL;\n",
                            hash="830984d8aba096b2b08feb94ab329543e7852fb7",
                            level="STATEMENT",
                            operation="INSERT",
                            pgid="pgtrigger_shape_when_added_93e9a",
                            referencing="REFERENCING NEW TABLE AS changed ",
                            table="records_sighting",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="shape_when_changed",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    UPDATE records_trace t SET shape = latest.geometry\n    FROM (\n        SELECT DISTINCT ON (concerned.trace_id) concerned.trace_id, s.geometry\n        FROM (SELECT DISTINCT trace_id FROM changed) concerned\n        LEFT JOIN records_sighting s ON s.trace_id = concerned.trace_id\n            AND s.geometry IS NOT NULL AND s.withdrawn_at IS NULL\n        LEFT JOIN records_examination e ON e.id = s.examination_id\n        LEFT JOIN records_image i ON i.id = s.image_id\n        ORDER BY concerned.trace_id,\n            COALESCE(e.date_latest, i.date_latest, i.date_earliest) DESC NULLS LAST, s.id DESC\n    ) latest\n    WHERE t.id = latest.trace_id AND t.shape IS DISTINCT FROM latest.geometry;\n    RETURN NULL;\n",
                            hash="a3b0bd0cd42a37017420ab1fb9041e1e5aac21b4",
                            level="STATEMENT",
                            operation="UPDATE",
                            pgid="pgtrigger_shape_when_changed_b1461",
                            referencing="REFERENCING NEW TABLE AS changed ",
                            table="records_sighting",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="trace_id_stays",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (OLD."trace_id" IS DISTINCT FROM NEW."trace_id")',
                            func="RAISE EXCEPTION 'A sighting stays with its trace: record a new sighting instead.' USING ERRCODE = 'check_violation';",
                            hash="f68dfae0a392f5073d23acaf8520c2c863df1c6c",
                            operation="UPDATE",
                            pgid="pgtrigger_trace_id_stays_894f4",
                            table="records_sighting",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_sightingversion" ("created_at", "examination_id", "geometry", "id", "image_id", "note", "outcome", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "strength", "trace_id", "uncertainty_mm", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."examination_id", NEW."geometry", NEW."id", NEW."image_id", NEW."note", NEW."outcome", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."strength", NEW."trace_id", NEW."uncertainty_mm", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f52065110449e6aad23cf6d9825365ef886e9a96",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_cd607",
                            table="records_sighting",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."trace_id", OLD."examination_id", OLD."image_id", OLD."outcome", OLD."strength", OLD."geometry", OLD."uncertainty_mm", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."trace_id", NEW."examination_id", NEW."image_id", NEW."outcome", NEW."strength", NEW."geometry", NEW."uncertainty_mm", NEW."note"))',
                            func='INSERT INTO "records_sightingversion" ("created_at", "examination_id", "geometry", "id", "image_id", "note", "outcome", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "strength", "trace_id", "uncertainty_mm", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."examination_id", NEW."geometry", NEW."id", NEW."image_id", NEW."note", NEW."outcome", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."strength", NEW."trace_id", NEW."uncertainty_mm", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="19b70c3ee39715cadb2fb9a09ff380bf38f1b63d",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_c74bb",
                            table="records_sighting",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="OccurrenceSourceVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                (
                    "occurrence",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.occurrence",
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
                    "source",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.source",
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
                            hash="7e82e0759ff8ad58b308ef46ea6bae66948028dd",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_ee356",
                            table="records_occurrencesourceversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ImageVersion",
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
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("technical", "Technical image"),
                            ("historical", "Historical photograph"),
                            ("section", "Photograph of a sample"),
                            ("document", "Scan of a document"),
                            ("detail", "Detail or overall view"),
                        ],
                        max_length=16,
                    ),
                ),
                ("title", models.CharField(max_length=200)),
                ("file", models.FileField(upload_to="images/")),
                ("sha256", models.CharField(max_length=64)),
                ("byte_size", models.PositiveBigIntegerField()),
                ("width_px", models.PositiveIntegerField()),
                ("height_px", models.PositiveIntegerField()),
                ("note", models.TextField(blank=True)),
                (
                    "window_low",
                    models.FloatField(
                        blank=True,
                        help_text="The value shown as black; empty to choose by itself",
                        null=True,
                    ),
                ),
                (
                    "window_high",
                    models.FloatField(
                        blank=True,
                        help_text="The value shown as white; empty to choose by itself",
                        null=True,
                    ),
                ),
                (
                    "examination",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.examination",
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
                        to="records.image",
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
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.object",
                    ),
                ),
                (
                    "source",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.source",
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
                            hash="d65432131ac03dd10e38280c13e5c2218af64703",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_f6b2f",
                            table="records_imageversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SourceVersion",
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
                ("title", models.CharField(max_length=200)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("letter", "Letter"),
                            ("invoice", "Invoice"),
                            ("report", "Report"),
                            ("catalogue", "Catalogue"),
                            ("newspaper", "Newspaper"),
                            ("inventory", "Inventory"),
                            ("photograph", "Photograph"),
                            ("label", "Label or inscription"),
                            ("interview", "Spoken account"),
                            ("other", "Other"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "reference",
                    models.CharField(
                        blank=True, help_text="Archive and shelf mark", max_length=200
                    ),
                ),
                ("author", models.CharField(blank=True, max_length=200)),
                (
                    "reliability",
                    models.PositiveSmallIntegerField(
                        choices=[
                            (1, "First hand, made at the time"),
                            (2, "First hand, written later"),
                            (3, "Second hand"),
                            (4, "Hearsay or unsigned"),
                        ],
                        default=1,
                    ),
                ),
                (
                    "extract",
                    models.TextField(blank=True, help_text="The words that matter, quoted"),
                ),
                ("scan", models.FileField(blank=True, upload_to="sources/")),
                ("scan_sha256", models.CharField(blank=True, editable=False, max_length=64)),
                (
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
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
                        to="records.source",
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
                            hash="3739cce0ecd7b06674a50587d06bb40636d645c5",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_02cf6",
                            table="records_sourceversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Statement",
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
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("dated_event", "an event is dated"),
                            ("dated_made", "the making of a trace is dated"),
                            ("dated_gone", "the end of a trace is dated"),
                            ("seen", "a trace was there at an event"),
                            ("not_seen", "a trace was not there at an event"),
                            ("made_during", "a trace was made during one of some events"),
                            ("gone_during", "a trace was removed during one of some events"),
                            ("precedes", "one event came before another"),
                            ("within", "one event lay within another"),
                            ("lasts", "an event lasted so long"),
                            ("together", "traces were made at about the same time"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "strength",
                    models.CharField(
                        choices=[
                            ("firm", "Firm"),
                            ("likely", "Likely"),
                            ("tentative", "Tentative"),
                        ],
                        default="likely",
                        max_length=16,
                    ),
                ),
                ("text", models.TextField(help_text="The claim in words")),
                ("min_days", models.PositiveIntegerField(blank=True, null=True)),
                ("max_days", models.PositiveIntegerField(blank=True, null=True)),
                ("within_days", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="statements",
                        to="records.object",
                    ),
                ),
                (
                    "source",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="statements",
                        to="records.source",
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
                        name="records_statement_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_statement_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_statement_no_bounds_without_date",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("min_days__isnull", True),
                            ("max_days__isnull", True),
                            ("min_days__lte", models.F("max_days")),
                            _connector="OR",
                        ),
                        name="records_statement_days_in_order",
                        violation_error_message="The least number of days is greater than the most.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("kind__in", ["dated_event", "dated_made", "dated_gone"]),
                                _negated=True,
                            ),
                            models.Q(("date", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="records_statement_dated_kinds_have_date",
                        violation_error_message="This kind of statement needs a date.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "lasts"), _negated=True),
                            models.Q(("max_days__isnull", False), ("min_days__isnull", False)),
                            _connector="OR",
                        ),
                        name="records_statement_lasts_has_days",
                        violation_error_message="Give the least and the most number of days.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "together"), _negated=True),
                            ("within_days__isnull", False),
                            _connector="OR",
                        ),
                        name="records_statement_together_has_days",
                        violation_error_message="Give the days within which the traces were made.",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="b8b1572cbef783ec26b3809617c67bb957c9e08b",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_89479",
                            table="records_statement",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ef6f2e6043b4bb767164a90b8c271022b7c902ec",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_2826e",
                            table="records_statement",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."source_id", OLD."kind", OLD."strength", OLD."text", OLD."min_days", OLD."max_days", OLD."within_days") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."source_id", NEW."kind", NEW."strength", NEW."text", NEW."min_days", NEW."max_days", NEW."within_days"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="f435b9ee9c13255f9f034e2ed359c5cece4ee5fe",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_d8ffe",
                            table="records_statement",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_statementversion" ("created_at", "date", "date_earliest", "date_latest", "id", "kind", "max_days", "min_days", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "source_id", "strength", "text", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why", "within_days") VALUES (NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."kind", NEW."max_days", NEW."min_days", NEW."object_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."source_id", NEW."strength", NEW."text", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."within_days"); RETURN NULL;',
                            hash="1c3ffefd03b5b3cec8f474ccd5bb53ad48c75ad8",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_33434",
                            table="records_statement",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."source_id", OLD."kind", OLD."strength", OLD."text", OLD."min_days", OLD."max_days", OLD."within_days") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."source_id", NEW."kind", NEW."strength", NEW."text", NEW."min_days", NEW."max_days", NEW."within_days"))',
                            func='INSERT INTO "records_statementversion" ("created_at", "date", "date_earliest", "date_latest", "id", "kind", "max_days", "min_days", "object_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "source_id", "strength", "text", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why", "within_days") VALUES (NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."kind", NEW."max_days", NEW."min_days", NEW."object_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."source_id", NEW."strength", NEW."text", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."within_days"); RETURN NULL;',
                            hash="8164fa2fb84e5c8a193721c3ba8bb867259def69",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_7e70b",
                            table="records_statement",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentKind",
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
                ("code", models.SlugField(max_length=80, unique=True)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                ("group", models.CharField(blank=True, max_length=60)),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="narrower",
                        to="records.treatmentkind",
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
                "ordering": ["label", "pk"],
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
                        name="records_treatmentkind_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("broader", models.F("id")), _negated=True),
                        name="records_treatmentkind_not_its_own_broader",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="5bdab6c4d3f9be3886c96cc4a0a4d0750c741a19",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_8fba5",
                            table="records_treatmentkind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="d904b6187ccb88c7dbb66b9d388143b65bd665d3",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_cf5a0",
                            table="records_treatmentkind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."group") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."group"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="f5436a6ffe04b1eb3fc392a48aee66560d9fca22",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_7550c",
                            table="records_treatmentkind",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentkindversion" ("broader_id", "cautions", "code", "created_at", "definition", "group", "id", "identifiers", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "translations", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."broader_id", NEW."cautions", NEW."code", NEW."created_at", NEW."definition", NEW."group", NEW."id", NEW."identifiers", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."translations", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="287127ded1f6a44311dbdcb4a308f0d539fb0e59",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_bff9b",
                            table="records_treatmentkind",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."code", OLD."label", OLD."definition", OLD."broader_id", OLD."note", OLD."cautions", OLD."identifiers", OLD."translations", OLD."group") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."code", NEW."label", NEW."definition", NEW."broader_id", NEW."note", NEW."cautions", NEW."identifiers", NEW."translations", NEW."group"))',
                            func='INSERT INTO "records_treatmentkindversion" ("broader_id", "cautions", "code", "created_at", "definition", "group", "id", "identifiers", "label", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "translations", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."broader_id", NEW."cautions", NEW."code", NEW."created_at", NEW."definition", NEW."group", NEW."id", NEW."identifiers", NEW."label", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."translations", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="39fa6a4f6a36c3c2b69640bf655616bb8b9e8116",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_e90ef",
                            table="records_treatmentkind",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Treatment",
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
                ("title", models.CharField(max_length=200)),
                (
                    "standing",
                    models.CharField(
                        choices=[
                            ("documented", "Documented in a source"),
                            ("inferred", "Inferred from traces alone"),
                        ],
                        default="documented",
                        max_length=16,
                    ),
                ),
                ("reason", models.TextField(blank=True)),
                ("method", models.TextField(blank=True)),
                ("outcome", models.TextField(blank=True)),
                (
                    "campaign",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="treatments",
                        to="records.campaign",
                    ),
                ),
                (
                    "materials",
                    models.ManyToManyField(
                        blank=True, related_name="treatments", to="records.material"
                    ),
                ),
                (
                    "object",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="treatments",
                        to="records.object",
                    ),
                ),
                (
                    "people",
                    models.ManyToManyField(
                        blank=True, related_name="treatments", to="records.person"
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
                    "sources",
                    models.ManyToManyField(
                        blank=True, related_name="treatments", to="records.source"
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
                    "kind",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="treatments",
                        to="records.treatmentkind",
                    ),
                ),
            ],
            options={
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
                        name="records_treatment_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("date_earliest__lte", models.F("date_latest")),
                            ("date_earliest__isnull", True),
                            ("date_latest__isnull", True),
                            _connector="OR",
                        ),
                        name="records_treatment_date_in_order",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("date", ""), _negated=True),
                            models.Q(
                                ("date_earliest__isnull", True), ("date_latest__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="records_treatment_no_bounds_without_date",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="05dab369ac08742f8ef17eabde8afa35a5369fb9",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_023a7",
                            table="records_treatment",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="dbd7806d24957352df26fc81a7abbadcbd913427",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_1d3b0",
                            table="records_treatment",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."campaign_id", OLD."kind_id", OLD."title", OLD."standing", OLD."reason", OLD."method", OLD."outcome") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."campaign_id", NEW."kind_id", NEW."title", NEW."standing", NEW."reason", NEW."method", NEW."outcome"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="0451d5a7d066fc2d53d0e27ef6081aecdff9dda0",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_9b5a4",
                            table="records_treatment",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_when_signed",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (OLD.signed_at IS NOT NULL AND ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."campaign_id", OLD."kind_id", OLD."title", OLD."standing", OLD."reason", OLD."method", OLD."outcome") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."campaign_id", NEW."kind_id", NEW."title", NEW."standing", NEW."reason", NEW."method", NEW."outcome"))',
                            func="RAISE EXCEPTION 'The record is signed and locked: add an amendment instead.' USING ERRCODE = 'check_violation';",
                            hash="1bbe47fe0bc24717fc6efa6214274c3dd970e1b6",
                            operation="UPDATE",
                            pgid="pgtrigger_locked_when_signed_eb067",
                            table="records_treatment",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentversion" ("campaign_id", "created_at", "date", "date_earliest", "date_latest", "id", "kind_id", "method", "object_id", "outcome", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "reason", "signed_at", "signed_by_id", "standing", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."kind_id", NEW."method", NEW."object_id", NEW."outcome", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."reason", NEW."signed_at", NEW."signed_by_id", NEW."standing", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="c3df48ae76d4f39eade5a4a901d2b569fafd7674",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_26701",
                            table="records_treatment",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."signed_at", OLD."signed_by_id", OLD."date", OLD."date_earliest", OLD."date_latest", OLD."object_id", OLD."campaign_id", OLD."kind_id", OLD."title", OLD."standing", OLD."reason", OLD."method", OLD."outcome") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."signed_at", NEW."signed_by_id", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."object_id", NEW."campaign_id", NEW."kind_id", NEW."title", NEW."standing", NEW."reason", NEW."method", NEW."outcome"))',
                            func='INSERT INTO "records_treatmentversion" ("campaign_id", "created_at", "date", "date_earliest", "date_latest", "id", "kind_id", "method", "object_id", "outcome", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "reason", "signed_at", "signed_by_id", "standing", "title", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."created_at", NEW."date", NEW."date_earliest", NEW."date_latest", NEW."id", NEW."kind_id", NEW."method", NEW."object_id", NEW."outcome", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."reason", NEW."signed_at", NEW."signed_by_id", NEW."standing", NEW."title", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="159b0ea9e23b7a53e51840a29a082ee550007f4c",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_32085",
                            table="records_treatment",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StatementEvent",
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
                ("position", models.PositiveSmallIntegerField(default=0)),
                (
                    "campaign",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.campaign",
                    ),
                ),
                (
                    "examination",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.examination",
                    ),
                ),
                (
                    "image",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.image",
                    ),
                ),
                (
                    "occurrence",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.occurrence",
                    ),
                ),
                (
                    "statement",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="events",
                        to="records.statement",
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
                    "treatment",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.treatment",
                    ),
                ),
            ],
            options={
                "ordering": ["statement", "position", "pk"],
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
                        name="records_statementevent_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=django.db.models.lookups.Exact(
                            models.Func(
                                "treatment",
                                "occurrence",
                                "campaign",
                                "examination",
                                "image",
                                function="num_nonnulls",
                                output_field=models.IntegerField(),
                            ),
                            1,
                        ),
                        name="records_statementevent_names_one",
                        violation_error_message="Name one event.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("statement", "position"),
                        name="records_statementevent_position_once",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="95d1645068d4e4f11e6823060bc463a802372eb4",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_f87a5",
                            table="records_statementevent",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="90f6452bd7a04f632cc13769d7be042cd11644d1",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_69576",
                            table="records_statementevent",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."statement_id", OLD."position", OLD."treatment_id", OLD."occurrence_id", OLD."campaign_id", OLD."examination_id", OLD."image_id") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."statement_id", NEW."position", NEW."treatment_id", NEW."occurrence_id", NEW."campaign_id", NEW."examination_id", NEW."image_id"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="e1e0dc5de6f309949d2b1ae11c92d39589ed72ed",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_4c3b8",
                            table="records_statementevent",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_statementeventversion" ("campaign_id", "created_at", "examination_id", "id", "image_id", "occurrence_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "position", "statement_id", "treatment_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."created_at", NEW."examination_id", NEW."id", NEW."image_id", NEW."occurrence_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."position", NEW."statement_id", NEW."treatment_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="fe3ee549cac6de34126f679e166273cf38fa7b02",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_73250",
                            table="records_statementevent",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."statement_id", OLD."position", OLD."treatment_id", OLD."occurrence_id", OLD."campaign_id", OLD."examination_id", OLD."image_id") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."statement_id", NEW."position", NEW."treatment_id", NEW."occurrence_id", NEW."campaign_id", NEW."examination_id", NEW."image_id"))',
                            func='INSERT INTO "records_statementeventversion" ("campaign_id", "created_at", "examination_id", "id", "image_id", "occurrence_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "position", "statement_id", "treatment_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."campaign_id", NEW."created_at", NEW."examination_id", NEW."id", NEW."image_id", NEW."occurrence_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."position", NEW."statement_id", NEW."treatment_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="39c49e762ee73e6678493d473d651031f42b4d35",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_58d4b",
                            table="records_statementevent",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StatementTrace",
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
                    "statement",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="traces",
                        to="records.statement",
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
                    "trace",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="mentions",
                        to="records.trace",
                    ),
                ),
            ],
            options={
                "ordering": ["statement", "pk"],
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
                        name="records_statementtrace_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("statement", "trace"),
                        name="records_statementtrace_once",
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="c99e59dd1ce7938d159944d4ffb0036f5ef987ad",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_73d6d",
                            table="records_statementtrace",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ad9aa0358988ed98d220ed94118707f0efbbce6b",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_e7268",
                            table="records_statementtrace",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."statement_id", OLD."trace_id") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."statement_id", NEW."trace_id"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="cc40e678332a6338745e5b4465124ace207a25da",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_3b525",
                            table="records_statementtrace",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_statementtraceversion" ("created_at", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "statement_id", "trace_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."statement_id", NEW."trace_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="9c26645e63be363148105b41987727ba4f1c61e2",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_ff76c",
                            table="records_statementtrace",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."statement_id", OLD."trace_id") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."statement_id", NEW."trace_id"))',
                            func='INSERT INTO "records_statementtraceversion" ("created_at", "id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "statement_id", "trace_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."statement_id", NEW."trace_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="2280420c1271959833bc8bc72767f682cab22a1c",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_da888",
                            table="records_statementtrace",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StatementVersion",
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
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("dated_event", "an event is dated"),
                            ("dated_made", "the making of a trace is dated"),
                            ("dated_gone", "the end of a trace is dated"),
                            ("seen", "a trace was there at an event"),
                            ("not_seen", "a trace was not there at an event"),
                            ("made_during", "a trace was made during one of some events"),
                            ("gone_during", "a trace was removed during one of some events"),
                            ("precedes", "one event came before another"),
                            ("within", "one event lay within another"),
                            ("lasts", "an event lasted so long"),
                            ("together", "traces were made at about the same time"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "strength",
                    models.CharField(
                        choices=[
                            ("firm", "Firm"),
                            ("likely", "Likely"),
                            ("tentative", "Tentative"),
                        ],
                        default="likely",
                        max_length=16,
                    ),
                ),
                ("text", models.TextField(help_text="The claim in words")),
                ("min_days", models.PositiveIntegerField(blank=True, null=True)),
                ("max_days", models.PositiveIntegerField(blank=True, null=True)),
                ("within_days", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
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
                        to="records.statement",
                    ),
                ),
                (
                    "source",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.source",
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
                            hash="f50f9eedbe3fb0cde5001cef24140f149ec0c6cb",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_8bf8a",
                            table="records_statementversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ExaminationVersion",
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
                        blank=True,
                        default=dict,
                        help_text="Values under the codes of the settings vocabulary (voltage_kv: 28), others by name with their unit",
                    ),
                ),
                ("conditions", models.TextField(blank=True, help_text="Light, room, access")),
                (
                    "not_covered",
                    models.TextField(blank=True, help_text="What was not examined, and why"),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "campaign",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.campaign",
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
                        to="records.examination",
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
                    "technique",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.technique",
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
                            hash="c175836aeb747513ab94923a2a847077577e8815",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_d6f64",
                            table="records_examinationversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TechniqueVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("code", models.SlugField(db_index=False, max_length=80)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                (
                    "group",
                    models.CharField(
                        choices=[
                            ("imaging", "Imaging"),
                            ("surface", "Surface examination"),
                            ("analysis", "Analysis"),
                        ],
                        max_length=16,
                    ),
                ),
                ("abbreviation", models.CharField(blank=True, max_length=16)),
                (
                    "invasive",
                    models.BooleanField(default=False, help_text="Needs a sample or leaves a mark"),
                ),
                (
                    "band",
                    models.CharField(
                        blank=True, help_text="Wavelengths or energies used", max_length=120
                    ),
                ),
                (
                    "asks",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=40),
                        blank=True,
                        default=list,
                        help_text="Settings that its information sheet asks for; empty: those of the broader term",
                        size=None,
                    ),
                ),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.technique",
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
            ],
            options={
                "abstract": False,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="append_only",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot update or delete rows from % table', TG_TABLE_NAME;",
                            hash="c77f51393e7ddc20e85c1d95254d800c8ec062bd",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_48266",
                            table="records_techniqueversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="StatementTraceVersion",
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
                        to="records.statementtrace",
                    ),
                ),
                (
                    "statement",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.statement",
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
                    "trace",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.trace",
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
                            hash="4f83508e084c552ef80ae20b6d11b4228923886b",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_ddf05",
                            table="records_statementtraceversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="SightingVersion",
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
                    "outcome",
                    models.CharField(
                        choices=[
                            ("seen", "Seen"),
                            ("not_seen", "Not seen"),
                            ("unclear", "Unclear"),
                        ],
                        default="seen",
                        max_length=8,
                    ),
                ),
                (
                    "strength",
                    models.CharField(
                        choices=[
                            ("firm", "Firm"),
                            ("likely", "Likely"),
                            ("tentative", "Tentative"),
                        ],
                        default="firm",
                        max_length=16,
                    ),
                ),
                (
                    "geometry",
                    django.contrib.gis.db.models.fields.GeometryField(
                        blank=True, null=True, srid=0
                    ),
                ),
                (
                    "uncertainty_mm",
                    models.FloatField(
                        blank=True, help_text="How far the drawn edge may be off", null=True
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "examination",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.examination",
                    ),
                ),
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
                        to="records.sighting",
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
                    "trace",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.trace",
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
                            hash="2158d461a41f325fd0db74bb0aa6d6a9a37db7a1",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_79e07",
                            table="records_sightingversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="RelationVersion",
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
                    "order",
                    models.CharField(
                        choices=[
                            ("lies_over", "lies over"),
                            ("cuts_through", "cuts through"),
                            ("fills", "fills"),
                        ],
                        default="lies_over",
                        max_length=16,
                    ),
                ),
                (
                    "strength",
                    models.CharField(
                        choices=[
                            ("firm", "Firm"),
                            ("likely", "Likely"),
                            ("tentative", "Tentative"),
                        ],
                        default="firm",
                        max_length=16,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "examination",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.examination",
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
                        to="records.relation",
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
                    "lower",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.trace",
                    ),
                ),
                (
                    "upper",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.trace",
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
                            hash="4a8eb32eaed801417794f1b931242b1126ee4a40",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_2742f",
                            table="records_relationversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Effect",
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
                            ("produced", "made"),
                            ("removed", "removed"),
                            ("altered", "altered"),
                        ],
                        default="produced",
                        max_length=16,
                    ),
                ),
                (
                    "strength",
                    models.CharField(
                        choices=[
                            ("firm", "Firm"),
                            ("likely", "Likely"),
                            ("tentative", "Tentative"),
                        ],
                        default="likely",
                        max_length=16,
                    ),
                ),
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
                    "occurrence",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="effects",
                        to="records.occurrence",
                    ),
                ),
                (
                    "trace",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="effects",
                        to="records.trace",
                    ),
                ),
                (
                    "treatment",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="effects",
                        to="records.treatment",
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
                        name="records_effect_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("occurrence__isnull", True), ("treatment__isnull", False)),
                            models.Q(("occurrence__isnull", False), ("treatment__isnull", True)),
                            _connector="OR",
                        ),
                        name="records_effect_of_one_event",
                        violation_error_message="An effect belongs to one treatment or one occurrence.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("withdrawn_at__isnull", True)),
                        fields=("treatment", "occurrence", "trace", "kind"),
                        name="records_effect_once",
                        nulls_distinct=False,
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="5878108ec899adc38e9ba2861bb2117a74c2fd36",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_e7624",
                            table="records_effect",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="2ea0da920a052b38a1a96dbed439d1a0c59529c8",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_d88b5",
                            table="records_effect",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."treatment_id", OLD."occurrence_id", OLD."trace_id", OLD."kind", OLD."strength", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."treatment_id", NEW."occurrence_id", NEW."trace_id", NEW."kind", NEW."strength", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="9710b4a13d4475c1d0291598540abf2e324f394c",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_71045",
                            table="records_effect",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_effectversion" ("created_at", "id", "kind", "note", "occurrence_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "strength", "trace_id", "treatment_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."id", NEW."kind", NEW."note", NEW."occurrence_id", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."strength", NEW."trace_id", NEW."treatment_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="b4f96d65167ebee33b3bb32f7f77190d78c1ac07",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_6aeed",
                            table="records_effect",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."treatment_id", OLD."occurrence_id", OLD."trace_id", OLD."kind", OLD."strength", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."treatment_id", NEW."occurrence_id", NEW."trace_id", NEW."kind", NEW."strength", NEW."note"))',
                            func='INSERT INTO "records_effectversion" ("created_at", "id", "kind", "note", "occurrence_id", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "strength", "trace_id", "treatment_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."id", NEW."kind", NEW."note", NEW."occurrence_id", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."strength", NEW."trace_id", NEW."treatment_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="35aed1c6a60cc8e3586db2161df15cd857c662c7",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_88ffc",
                            table="records_effect",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TraceKindVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("code", models.SlugField(db_index=False, max_length=80)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                (
                    "family",
                    models.CharField(
                        choices=[
                            ("alteration", "Alteration"),
                            ("intervention", "Intervention"),
                            ("making", "Making"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "shape",
                    models.CharField(
                        choices=[("point", "Point"), ("line", "Line"), ("polygon", "Area")],
                        help_text="How it is usually drawn on the face",
                        max_length=8,
                    ),
                ),
                (
                    "short",
                    models.CharField(help_text="Letters that stand for it on a map", max_length=4),
                ),
                (
                    "suits",
                    django.contrib.postgres.fields.ArrayField(
                        base_field=models.CharField(max_length=16),
                        blank=True,
                        default=list,
                        size=None,
                    ),
                ),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.tracekind",
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
                        to="records.tracekind",
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
                            hash="a0f189bd84a03ad25992cd18e8dcc658c6605024",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_9ed06",
                            table="records_tracekindversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TraceVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("number", models.CharField(help_text="Its number on this face", max_length=24)),
                (
                    "label",
                    models.CharField(blank=True, help_text="'tear, lower left'", max_length=200),
                ),
                ("description", models.TextField(blank=True)),
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
                    "kind",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.tracekind",
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
                            hash="eaa39293f6a93f53e6acf9cf62811bd877df91ea",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_66695",
                            table="records_traceversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="StatementEventVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("position", models.PositiveSmallIntegerField(default=0)),
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
                    "examination",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.examination",
                    ),
                ),
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
                    "occurrence",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.occurrence",
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
                        to="records.statementevent",
                    ),
                ),
                (
                    "statement",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.statement",
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
                    "treatment",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.treatment",
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
                            hash="a7e0f21437c1fed11cdb023289ae996ad9c65c63",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_c21eb",
                            table="records_statementeventversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="EffectVersion",
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
                            ("produced", "made"),
                            ("removed", "removed"),
                            ("altered", "altered"),
                        ],
                        default="produced",
                        max_length=16,
                    ),
                ),
                (
                    "strength",
                    models.CharField(
                        choices=[
                            ("firm", "Firm"),
                            ("likely", "Likely"),
                            ("tentative", "Tentative"),
                        ],
                        default="likely",
                        max_length=16,
                    ),
                ),
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
                        to="records.effect",
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
                    "occurrence",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.occurrence",
                    ),
                ),
                (
                    "trace",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.trace",
                    ),
                ),
                (
                    "treatment",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.treatment",
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
                            hash="19e88b679b1247a11d88fda60e2be8fb9131a72d",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_87e79",
                            table="records_effectversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentArea",
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
                    "geometry",
                    django.contrib.gis.db.models.fields.GeometryField(
                        blank=True, null=True, srid=0
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "face",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="treatment_areas",
                        to="records.face",
                    ),
                ),
                (
                    "treatment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="areas",
                        to="records.treatment",
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
                        name="records_treatmentarea_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    )
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="1fb90b63b9d5d9e4776ea4e63cd10b1e9b421b3b",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_b1a22",
                            table="records_treatmentarea",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="a31ccce92d9c60c66f2ef3c99b79bd1fb52642c0",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_5344a",
                            table="records_treatmentarea",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."treatment_id", OLD."face_id", OLD."geometry", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."treatment_id", NEW."face_id", NEW."geometry", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="5a70c811a111738ab539853614f13e93618f7b48",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_5e753",
                            table="records_treatmentarea",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="geometry_on_face",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (NEW."geometry" IS NOT NULL)',
                            declare="DECLARE outline geometry; tolerance double precision;",
                            func='\n            IF NOT ST_IsValid(NEW."geometry") OR ST_IsEmpty(NEW."geometry") THEN\n                RAISE EXCEPTION \'The shape is not valid: %.\', ST_IsValidReason(NEW."geometry")\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            SELECT f.outline, f.tolerance_mm INTO outline, tolerance\n                FROM records_face f WHERE f.id = (NEW.face_id);\n            IF outline IS NOT NULL AND NOT ST_CoveredBy(NEW."geometry", outline)\n               AND NOT ST_CoveredBy(NEW."geometry", ST_Buffer(outline, tolerance)) THEN\n                RAISE EXCEPTION \'The shape lies % mm outside the outline of the face.\',\n                    round((SELECT max(ST_Distance(p.geom, outline))\n                           FROM ST_DumpPoints(NEW."geometry") p)::numeric, 1)\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            RETURN NEW;\n        ',
                            hash="6b14de89576f9f7aa129b08cf1c0fb070fdf072d",
                            operation='INSERT OR UPDATE OF "geometry"',
                            pgid="pgtrigger_geometry_on_face_7e2ba",
                            table="records_treatmentarea",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_with_its_record",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n            PERFORM FROM records_treatment WHERE id IN (OLD.treatment_id, NEW.treatment_id) FOR SHARE;\n            IF EXISTS (\n                SELECT FROM records_treatment\n                WHERE id IN (OLD.treatment_id, NEW.treatment_id) AND signed_at IS NOT NULL\n            ) THEN\n                RAISE EXCEPTION 'This belongs to a signed record and is locked with it: add an amendment to that record.' USING ERRCODE = 'check_violation';\n            END IF;\n            RETURN COALESCE(NEW, OLD);\n        ",
                            hash="622a1b0b58951ddd5ad2d1096bac9158666646c8",
                            operation="INSERT OR UPDATE OR DELETE",
                            pgid="pgtrigger_locked_with_its_record_b0a48",
                            table="records_treatmentarea",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentareaversion" ("created_at", "face_id", "geometry", "id", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "treatment_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."face_id", NEW."geometry", NEW."id", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."treatment_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="2248f9328fd74a43ea90a612a837e94200624365",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_a1faf",
                            table="records_treatmentarea",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."treatment_id", OLD."face_id", OLD."geometry", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."treatment_id", NEW."face_id", NEW."geometry", NEW."note"))',
                            func='INSERT INTO "records_treatmentareaversion" ("created_at", "face_id", "geometry", "id", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "treatment_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."face_id", NEW."geometry", NEW."id", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."treatment_id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="ea4f1bbba5133d5dc94076282ac8b14031f50da5",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_7f38f",
                            table="records_treatmentarea",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentAreaVersion",
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
                    "geometry",
                    django.contrib.gis.db.models.fields.GeometryField(
                        blank=True, null=True, srid=0
                    ),
                ),
                ("note", models.TextField(blank=True)),
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
                        to="records.treatmentarea",
                    ),
                ),
                (
                    "treatment",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.treatment",
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
                            hash="ea4abe58fb376976a0a837d6ef4d0a670b14e1aa",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_a10e1",
                            table="records_treatmentareaversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentKindVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("code", models.SlugField(db_index=False, max_length=80)),
                ("label", models.CharField(max_length=120)),
                ("definition", models.TextField()),
                ("note", models.TextField(blank=True)),
                ("cautions", models.TextField(blank=True)),
                (
                    "identifiers",
                    models.JSONField(
                        blank=True,
                        default=list,
                        help_text='[{"scheme": "…", "uri": "…"}] of published lists',
                    ),
                ),
                (
                    "translations",
                    models.JSONField(
                        blank=True,
                        default=dict,
                        help_text='{"de": {"label": "…", "definition": "…"}}',
                    ),
                ),
                ("group", models.CharField(blank=True, max_length=60)),
                (
                    "broader",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.treatmentkind",
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
                        to="records.treatmentkind",
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
                            hash="1e7c29ea80e6dbb9bf8b0e4dab2d9000dea386bd",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_21009",
                            table="records_treatmentkindversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentMaterialVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                (
                    "material",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
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
                    "treatment",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.treatment",
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
                            hash="5ad552e3ff727e891cbb28a34aac365c35af88b5",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_3e1eb",
                            table="records_treatmentmaterialversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentPersonVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                (
                    "person",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
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
                    "treatment",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.treatment",
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
                            hash="b99b93565118f0bb9a545fbe9b19ccc9f9d16d0b",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_af56e",
                            table="records_treatmentpersonversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentSourceVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
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
                    "source",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.source",
                    ),
                ),
                (
                    "treatment",
                    models.ForeignKey(
                        db_constraint=False,
                        db_tablespace="",
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.treatment",
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
                            hash="86ad88f7a3802570442623caf3995b427b65948d",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_ac942",
                            table="records_treatmentsourceversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentVersion",
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
                ("title", models.CharField(max_length=200)),
                (
                    "standing",
                    models.CharField(
                        choices=[
                            ("documented", "Documented in a source"),
                            ("inferred", "Inferred from traces alone"),
                        ],
                        default="documented",
                        max_length=16,
                    ),
                ),
                ("reason", models.TextField(blank=True)),
                ("method", models.TextField(blank=True)),
                ("outcome", models.TextField(blank=True)),
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
                    "kind",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        related_query_name="+",
                        to="records.treatmentkind",
                    ),
                ),
                (
                    "object",
                    models.ForeignKey(
                        db_constraint=False,
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
                        to="records.treatment",
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
                            hash="c1d9ed998441b36c52a1db556cd27432f960f392",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_0c82c",
                            table="records_treatmentversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Zone",
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
                ("name", models.CharField(max_length=120)),
                ("geometry", django.contrib.gis.db.models.fields.GeometryField(srid=0)),
                ("note", models.TextField(blank=True)),
                (
                    "face",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="zones",
                        to="records.face",
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
                "ordering": ["face", "name", "pk"],
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
                        name="records_zone_withdrawn_with_reason",
                        violation_error_message="Say why the record is withdrawn.",
                    ),
                    models.UniqueConstraint(
                        fields=("face", "name"), name="records_zone_name_once_per_face"
                    ),
                ],
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="never_deleted",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="RAISE EXCEPTION 'pgtrigger: Cannot delete rows from % table', TG_TABLE_NAME;",
                            hash="cc1b6b9c76867c4d8d99ad8d31aa48d6fb83fe3d",
                            operation="DELETE",
                            pgid="pgtrigger_never_deleted_1b7eb",
                            table="records_zone",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="fa193f2bc718ecd78ff79f3f9d28f140ff2f0c3d",
                            operation="INSERT",
                            pgid="pgtrigger_insert_needs_reason_adafc",
                            table="records_zone",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."face_id", OLD."name", OLD."geometry", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."face_id", NEW."name", NEW."geometry", NEW."note"))',
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN NEW;\n",
                            hash="ca4b47f12d032caee4672fba5dcc10428d4f6be0",
                            operation="UPDATE",
                            pgid="pgtrigger_update_needs_reason_0b6b4",
                            table="records_zone",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="geometry_on_face",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (NEW."geometry" IS NOT NULL)',
                            declare="DECLARE outline geometry; tolerance double precision;",
                            func='\n            IF NOT ST_IsValid(NEW."geometry") OR ST_IsEmpty(NEW."geometry") THEN\n                RAISE EXCEPTION \'The shape is not valid: %.\', ST_IsValidReason(NEW."geometry")\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            SELECT f.outline, f.tolerance_mm INTO outline, tolerance\n                FROM records_face f WHERE f.id = (NEW.face_id);\n            IF outline IS NOT NULL AND NOT ST_CoveredBy(NEW."geometry", outline)\n               AND NOT ST_CoveredBy(NEW."geometry", ST_Buffer(outline, tolerance)) THEN\n                RAISE EXCEPTION \'The shape lies % mm outside the outline of the face.\',\n                    round((SELECT max(ST_Distance(p.geom, outline))\n                           FROM ST_DumpPoints(NEW."geometry") p)::numeric, 1)\n                    USING ERRCODE = \'check_violation\';\n            END IF;\n            RETURN NEW;\n        ',
                            hash="aa6b583f65f203cfc5feda0ef0ef55a9fd1239c3",
                            operation='INSERT OR UPDATE OF "geometry"',
                            pgid="pgtrigger_geometry_on_face_6c9a1",
                            table="records_zone",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_zoneversion" ("created_at", "face_id", "geometry", "id", "name", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."face_id", NEW."geometry", NEW."id", NEW."name", NEW."note", _pgh_attach_context(), NOW(), \'insert\', NEW."id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="f1ea4072f215ff7b1a74f70b5960ca2d6b57b5e0",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_dfbb4",
                            table="records_zone",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="update_update",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            condition='WHEN (ROW(OLD."id", OLD."created_at", OLD."updated_at", OLD."withdrawn_at", OLD."withdrawn_by_id", OLD."withdrawn_why", OLD."face_id", OLD."name", OLD."geometry", OLD."note") IS DISTINCT FROM ROW(NEW."id", NEW."created_at", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why", NEW."face_id", NEW."name", NEW."geometry", NEW."note"))',
                            func='INSERT INTO "records_zoneversion" ("created_at", "face_id", "geometry", "id", "name", "note", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "updated_at", "withdrawn_at", "withdrawn_by_id", "withdrawn_why") VALUES (NEW."created_at", NEW."face_id", NEW."geometry", NEW."id", NEW."name", NEW."note", _pgh_attach_context(), NOW(), \'update\', NEW."id", NEW."updated_at", NEW."withdrawn_at", NEW."withdrawn_by_id", NEW."withdrawn_why"); RETURN NULL;',
                            hash="dc1eb7901955a26c4acfbcf80f4d49b5d75aa302",
                            operation="UPDATE",
                            pgid="pgtrigger_update_update_db051",
                            table="records_zone",
                            when="AFTER",
                        ),
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ZoneVersion",
            fields=[
                ("pgh_id", models.AutoField(primary_key=True, serialize=False)),
                ("pgh_created_at", models.DateTimeField(auto_now_add=True)),
                ("pgh_label", models.TextField(help_text="The event label.")),
                ("id", models.BigIntegerField()),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("updated_at", models.DateTimeField(auto_now=True)),
                ("withdrawn_at", models.DateTimeField(blank=True, editable=False, null=True)),
                ("withdrawn_why", models.TextField(blank=True, editable=False)),
                ("name", models.CharField(max_length=120)),
                ("geometry", django.contrib.gis.db.models.fields.GeometryField(srid=0)),
                ("note", models.TextField(blank=True)),
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
                        to="records.zone",
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
                            hash="77623e130f55dda4ef2cb9f472a26be03b332aa2",
                            operation="UPDATE OR DELETE",
                            pgid="pgtrigger_append_only_1604e",
                            table="records_zoneversion",
                            when="BEFORE",
                        ),
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CampaignPerson",
            fields=[],
            options={
                "proxy": True,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="link_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN COALESCE(NEW, OLD);\n",
                            hash="03fa994a9cc4402f60be30bf1835053dea7e2c59",
                            operation="INSERT OR DELETE",
                            pgid="pgtrigger_link_needs_reason_0b5f2",
                            table="records_campaign_people",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_campaignpersonversion" ("campaign_id", "id", "person_id", "pgh_context_id", "pgh_created_at", "pgh_label") VALUES (NEW."campaign_id", NEW."id", NEW."person_id", _pgh_attach_context(), NOW(), \'insert\'); RETURN NULL;',
                            hash="a81fe450f3dbfa828e463cf5b1d77bce92a05d00",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_b7527",
                            table="records_campaign_people",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="delete_delete",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_campaignpersonversion" ("campaign_id", "id", "person_id", "pgh_context_id", "pgh_created_at", "pgh_label") VALUES (OLD."campaign_id", OLD."id", OLD."person_id", _pgh_attach_context(), NOW(), \'delete\'); RETURN NULL;',
                            hash="98f93475ac652262d13ce428a693ce0811406481",
                            operation="DELETE",
                            pgid="pgtrigger_delete_delete_6740f",
                            table="records_campaign_people",
                            when="AFTER",
                        ),
                    ),
                ],
            },
            bases=("records.campaign_people",),
        ),
        migrations.CreateModel(
            name="OccurrenceSource",
            fields=[],
            options={
                "proxy": True,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="link_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN COALESCE(NEW, OLD);\n",
                            hash="cdad9dae9f43bdf9db9a45073a8e0c078ca00389",
                            operation="INSERT OR DELETE",
                            pgid="pgtrigger_link_needs_reason_8aecf",
                            table="records_occurrence_sources",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_occurrencesourceversion" ("id", "occurrence_id", "pgh_context_id", "pgh_created_at", "pgh_label", "source_id") VALUES (NEW."id", NEW."occurrence_id", _pgh_attach_context(), NOW(), \'insert\', NEW."source_id"); RETURN NULL;',
                            hash="5326fc43f12824ceff3cbe89adad9204ea9c77ab",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_27ba5",
                            table="records_occurrence_sources",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="delete_delete",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_occurrencesourceversion" ("id", "occurrence_id", "pgh_context_id", "pgh_created_at", "pgh_label", "source_id") VALUES (OLD."id", OLD."occurrence_id", _pgh_attach_context(), NOW(), \'delete\', OLD."source_id"); RETURN NULL;',
                            hash="d7b794c05552238147a63a1f2b97c294a381abb0",
                            operation="DELETE",
                            pgid="pgtrigger_delete_delete_9d4f6",
                            table="records_occurrence_sources",
                            when="AFTER",
                        ),
                    ),
                ],
            },
            bases=("records.occurrence_sources",),
        ),
        migrations.CreateModel(
            name="TreatmentMaterial",
            fields=[],
            options={
                "proxy": True,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="link_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN COALESCE(NEW, OLD);\n",
                            hash="ec30eac68b12422c55e26ae57bd47028078c61ef",
                            operation="INSERT OR DELETE",
                            pgid="pgtrigger_link_needs_reason_fda30",
                            table="records_treatment_materials",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentmaterialversion" ("id", "material_id", "pgh_context_id", "pgh_created_at", "pgh_label", "treatment_id") VALUES (NEW."id", NEW."material_id", _pgh_attach_context(), NOW(), \'insert\', NEW."treatment_id"); RETURN NULL;',
                            hash="0628a8d10bfa916dccbcc903698d661b41299b5a",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_059cb",
                            table="records_treatment_materials",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="delete_delete",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentmaterialversion" ("id", "material_id", "pgh_context_id", "pgh_created_at", "pgh_label", "treatment_id") VALUES (OLD."id", OLD."material_id", _pgh_attach_context(), NOW(), \'delete\', OLD."treatment_id"); RETURN NULL;',
                            hash="4566f5dec07257fcb469c347cefb8d395966660c",
                            operation="DELETE",
                            pgid="pgtrigger_delete_delete_4f427",
                            table="records_treatment_materials",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_with_its_record",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n            PERFORM FROM records_treatment WHERE id IN (OLD.treatment_id, NEW.treatment_id) FOR SHARE;\n            IF EXISTS (\n                SELECT FROM records_treatment\n                WHERE id IN (OLD.treatment_id, NEW.treatment_id) AND signed_at IS NOT NULL\n            ) THEN\n                RAISE EXCEPTION 'This belongs to a signed record and is locked with it: add an amendment to that record.' USING ERRCODE = 'check_violation';\n            END IF;\n            RETURN COALESCE(NEW, OLD);\n        ",
                            hash="84b7f7c8dbe028faf20e9feabf5b3f8f920c8366",
                            operation="INSERT OR UPDATE OR DELETE",
                            pgid="pgtrigger_locked_with_its_record_1cd1a",
                            table="records_treatment_materials",
                            when="BEFORE",
                        ),
                    ),
                ],
            },
            bases=("records.treatment_materials",),
        ),
        migrations.CreateModel(
            name="TreatmentPerson",
            fields=[],
            options={
                "proxy": True,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="link_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN COALESCE(NEW, OLD);\n",
                            hash="2b009fbcc0e49f70bb85af1d5457482563f79512",
                            operation="INSERT OR DELETE",
                            pgid="pgtrigger_link_needs_reason_23c8a",
                            table="records_treatment_people",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentpersonversion" ("id", "person_id", "pgh_context_id", "pgh_created_at", "pgh_label", "treatment_id") VALUES (NEW."id", NEW."person_id", _pgh_attach_context(), NOW(), \'insert\', NEW."treatment_id"); RETURN NULL;',
                            hash="ffebd8a2e60576a2b6d3bf7373b681e07d60598c",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_ba030",
                            table="records_treatment_people",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="delete_delete",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentpersonversion" ("id", "person_id", "pgh_context_id", "pgh_created_at", "pgh_label", "treatment_id") VALUES (OLD."id", OLD."person_id", _pgh_attach_context(), NOW(), \'delete\', OLD."treatment_id"); RETURN NULL;',
                            hash="737701865fca23894adb20be2262f5cdc49f2485",
                            operation="DELETE",
                            pgid="pgtrigger_delete_delete_7a232",
                            table="records_treatment_people",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_with_its_record",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n            PERFORM FROM records_treatment WHERE id IN (OLD.treatment_id, NEW.treatment_id) FOR SHARE;\n            IF EXISTS (\n                SELECT FROM records_treatment\n                WHERE id IN (OLD.treatment_id, NEW.treatment_id) AND signed_at IS NOT NULL\n            ) THEN\n                RAISE EXCEPTION 'This belongs to a signed record and is locked with it: add an amendment to that record.' USING ERRCODE = 'check_violation';\n            END IF;\n            RETURN COALESCE(NEW, OLD);\n        ",
                            hash="71721ca0b654b4ba05165f0596a094c33693b2d6",
                            operation="INSERT OR UPDATE OR DELETE",
                            pgid="pgtrigger_locked_with_its_record_95073",
                            table="records_treatment_people",
                            when="BEFORE",
                        ),
                    ),
                ],
            },
            bases=("records.treatment_people",),
        ),
        migrations.CreateModel(
            name="TreatmentSource",
            fields=[],
            options={
                "proxy": True,
                "triggers": [
                    pgtrigger.compiler.Trigger(
                        name="link_needs_reason",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n    IF COALESCE(\n        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''\n    ) = '' THEN\n        RAISE EXCEPTION 'A record can only be changed with a stated reason.'\n            USING ERRCODE = 'check_violation';\n    END IF;\n    RETURN COALESCE(NEW, OLD);\n",
                            hash="dc26797e7690e9ae6ae52fd220d95938dfcb4919",
                            operation="INSERT OR DELETE",
                            pgid="pgtrigger_link_needs_reason_f4021",
                            table="records_treatment_sources",
                            when="BEFORE",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="insert_insert",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentsourceversion" ("id", "pgh_context_id", "pgh_created_at", "pgh_label", "source_id", "treatment_id") VALUES (NEW."id", _pgh_attach_context(), NOW(), \'insert\', NEW."source_id", NEW."treatment_id"); RETURN NULL;',
                            hash="32d18619fbf331c1b77bcf94fd44a1cd94de972d",
                            operation="INSERT",
                            pgid="pgtrigger_insert_insert_43bca",
                            table="records_treatment_sources",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="delete_delete",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func='INSERT INTO "records_treatmentsourceversion" ("id", "pgh_context_id", "pgh_created_at", "pgh_label", "source_id", "treatment_id") VALUES (OLD."id", _pgh_attach_context(), NOW(), \'delete\', OLD."source_id", OLD."treatment_id"); RETURN NULL;',
                            hash="0e1a6d8be791d214fc613a2f76613c5c8e3dce0e",
                            operation="DELETE",
                            pgid="pgtrigger_delete_delete_adce4",
                            table="records_treatment_sources",
                            when="AFTER",
                        ),
                    ),
                    pgtrigger.compiler.Trigger(
                        name="locked_with_its_record",
                        sql=pgtrigger.compiler.UpsertTriggerSql(
                            func="\n            PERFORM FROM records_treatment WHERE id IN (OLD.treatment_id, NEW.treatment_id) FOR SHARE;\n            IF EXISTS (\n                SELECT FROM records_treatment\n                WHERE id IN (OLD.treatment_id, NEW.treatment_id) AND signed_at IS NOT NULL\n            ) THEN\n                RAISE EXCEPTION 'This belongs to a signed record and is locked with it: add an amendment to that record.' USING ERRCODE = 'check_violation';\n            END IF;\n            RETURN COALESCE(NEW, OLD);\n        ",
                            hash="e0588ce4830f1821689e290a17431062df994082",
                            operation="INSERT OR UPDATE OR DELETE",
                            pgid="pgtrigger_locked_with_its_record_72ef1",
                            table="records_treatment_sources",
                            when="BEFORE",
                        ),
                    ),
                ],
            },
            bases=("records.treatment_sources",),
        ),
        records.models.triggers.InstallTriggers(),
    ]

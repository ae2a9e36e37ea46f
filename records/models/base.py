"""What every record has: who and why behind each version, withdrawal instead of deletion, signing.

The guarantees are triggers in the database, so they hold for any code and for a console alike.
"""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar, Self, TypeVar

import pghistory
import pgtrigger
from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

if TYPE_CHECKING:
    from records.models.users import User

M = TypeVar("M", bound=type[models.Model])
R = TypeVar("R", bound=models.Model, covariant=True)

NEEDS_REASON = """
    IF COALESCE(
        NULLIF(current_setting('pghistory.context_metadata', true), '')::jsonb ->> 'why', ''
    ) = '' THEN
        RAISE EXCEPTION 'A record can only be changed with a stated reason.'
            USING ERRCODE = 'check_violation';
    END IF;
    RETURN NEW;
"""


class StatedChange(pgtrigger.Condition):
    """Something that people state has changed, not merely what is worked out from other records."""

    def __init__(self, derived: Sequence[str] = ()) -> None:
        self.derived = frozenset(derived)

    def resolve(self, model: type[models.Model]) -> str:
        columns = [
            f'"{field.column}"'
            for field in model._meta.concrete_fields
            if field.name not in self.derived and not field.generated
        ]
        old, new = (", ".join(f"{row}.{c}" for c in columns) for row in ("OLD", "NEW"))
        return f"ROW({old}) IS DISTINCT FROM ROW({new})"


class Signed(pgtrigger.Condition):
    """The record was signed before this change."""

    def __init__(self, change: StatedChange) -> None:
        self.change = change

    def resolve(self, model: type[models.Model]) -> str:
        return f"OLD.signed_at IS NOT NULL AND {self.change.resolve(model)}"


def refuse(name: str, words: str, condition: pgtrigger.Condition) -> pgtrigger.Trigger:
    """Trigger: refuse an update under a condition, in words that a person can act on."""
    return pgtrigger.Trigger(
        name=name,
        when=pgtrigger.Before,
        operation=pgtrigger.Update,
        condition=condition,
        func=f"RAISE EXCEPTION '{words}' USING ERRCODE = 'check_violation';",
    )


def stays(column: str, words: str) -> pgtrigger.Trigger:
    """Trigger: a column keeps its first value."""
    changed = pgtrigger.Condition(f'OLD."{column}" IS DISTINCT FROM NEW."{column}"')
    return refuse(f"{column}_stays", words, changed)


LOCKED_PART = (
    "This belongs to a signed record and is locked with it: add an amendment to that record."
)


def signed_with(parent: str, table: str) -> pgtrigger.Trigger:
    """Trigger: a part of a signable record is locked with it.

    `parent` is the column that names that record, in `table`. The record is locked against being
    signed meanwhile, so that nothing slips in beside a signature.
    """
    return pgtrigger.Trigger(
        name="locked_with_its_record",
        when=pgtrigger.Before,
        operation=pgtrigger.Insert | pgtrigger.Update | pgtrigger.Delete,
        func=f"""
            PERFORM FROM {table} WHERE id IN (OLD.{parent}, NEW.{parent}) FOR SHARE;
            IF EXISTS (
                SELECT FROM {table}
                WHERE id IN (OLD.{parent}, NEW.{parent}) AND signed_at IS NOT NULL
            ) THEN
                RAISE EXCEPTION '{LOCKED_PART}' USING ERRCODE = 'check_violation';
            END IF;
            RETURN COALESCE(NEW, OLD);
        """,
    )


def record(
    *, derived: Sequence[str] = (), triggers: Sequence[pgtrigger.Trigger] = ()
) -> Callable[[M], M]:
    """Class decorator: keep every version, refuse deletion and unexplained or locked changes.

    `derived` names columns that the database or the program works out from other records; they are
    neither versioned nor need a reason. `triggers` are the model's own guards.
    """

    def decorate(model: M) -> M:
        generated = [f.name for f in model._meta.concrete_fields if f.generated]
        unversioned = [*derived, *generated]
        stated = StatedChange(derived)
        guards = [
            pgtrigger.Protect(name="never_deleted", operation=pgtrigger.Delete),
            pgtrigger.Trigger(
                name="insert_needs_reason",
                when=pgtrigger.Before,
                operation=pgtrigger.Insert,
                func=NEEDS_REASON,
            ),
            pgtrigger.Trigger(
                name="update_needs_reason",
                when=pgtrigger.Before,
                operation=pgtrigger.Update,
                condition=stated,
                func=NEEDS_REASON,
            ),
            *triggers,
        ]
        if issubclass(model, Signable):
            guards.append(
                refuse(
                    "locked_when_signed",
                    "The record is signed and locked: add an amendment instead.",
                    Signed(stated),
                )
            )
        pgtrigger.register(*guards)(model)
        pghistory.track(
            pghistory.InsertEvent(),
            pghistory.UpdateEvent(condition=stated),
            exclude=unversioned,
            obj_field=pghistory.ObjForeignKey(related_name="versions"),
            model_name=f"{model.__name__}Version",
        )(model)
        return model

    return decorate


class RecordQuerySet(models.QuerySet[R]):
    """Records of any kind."""

    def standing(self) -> Self:
        """Those that have not been withdrawn."""
        return self.filter(withdrawn_at__isnull=True)


class Record(models.Model):
    """A record is never deleted: it is withdrawn with a reason and stays readable."""

    created_at = models.DateTimeField(auto_now_add=True)
    updated_at = models.DateTimeField(auto_now=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
    )
    withdrawn_why = models.TextField(blank=True, editable=False)

    objects = RecordQuerySet.as_manager()

    class Meta:
        abstract = True
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(withdrawn_at__isnull=True, withdrawn_why="")
                | (Q(withdrawn_at__isnull=False) & ~Q(withdrawn_why="")),
                name="%(app_label)s_%(class)s_withdrawn_with_reason",
                violation_error_message="Say why the record is withdrawn.",
            )
        ]

    @property
    def is_withdrawn(self) -> bool:
        return self.withdrawn_at is not None

    def withdraw(self, *, user: "User | None", why: str) -> None:
        """Take the record out of use; raises ValueError without a reason."""
        from records.changes import change

        with change(user=user, why=why):
            self.withdrawn_at = timezone.now()
            self.withdrawn_by = user
            self.withdrawn_why = why.strip()
            self.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_why", "updated_at"])


class Signable(models.Model):
    """A record that a person can sign; from then on it is locked (see `Amendment`)."""

    signed_at = models.DateTimeField(null=True, blank=True, editable=False)
    signed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        editable=False,
        related_name="+",
    )

    class Meta:
        abstract = True

    @property
    def is_signed(self) -> bool:
        return self.signed_at is not None

    def sign(self, *, user: "User") -> None:
        """Sign and lock the record."""
        from records.changes import change

        with change(user=user, why="signed"):
            self.signed_at = timezone.now()
            self.signed_by = user
            self.save(update_fields=["signed_at", "signed_by"])


def links(model: type[models.Model]) -> type[models.Model]:
    """Class decorator for the proxy of a many-to-many table: who tied what to what, and why."""
    pgtrigger.register(
        pgtrigger.Trigger(
            name="link_needs_reason",
            when=pgtrigger.Before,
            operation=pgtrigger.Insert | pgtrigger.Delete,
            func=NEEDS_REASON.replace("RETURN NEW;", "RETURN COALESCE(NEW, OLD);"),
        )
    )(model)
    pghistory.track(
        pghistory.InsertEvent(),
        pghistory.DeleteEvent(),
        obj_field=None,
        model_name=f"{model.__name__}Version",
    )(model)
    return model

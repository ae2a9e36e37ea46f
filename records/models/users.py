"""Accounts and the people who appear in records."""

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.urls import reverse

from records.choices import Role
from records.models.base import Record, record


class User(AbstractUser):
    """Somebody who may sign in. The role decides what they see and write."""

    role = models.CharField(max_length=16, choices=Role, default=Role.COMMITTEE)

    REQUIRED_FIELDS = ["email", "role"]

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @property
    def sees_records(self) -> bool:
        """All but committee members see the records themselves."""
        return self.role != Role.COMMITTEE

    @property
    def writes_records(self) -> bool:
        return self.role in {Role.CONSERVATOR, Role.ADMINISTRATOR}

    @property
    def writes_analyses(self) -> bool:
        return self.role in {Role.SCIENTIST, Role.CONSERVATOR, Role.ADMINISTRATOR}

    @property
    def manages_accounts(self) -> bool:
        return self.role == Role.ADMINISTRATOR


@record()
class Person(Record):
    """Somebody who made, treated, examined or wrote: a name in the records, not an account."""

    name = models.CharField(max_length=200)
    occupation = models.CharField(max_length=200, blank=True)
    note = models.TextField(blank=True)

    class Meta(Record.Meta):
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("person", args=[self.pk])

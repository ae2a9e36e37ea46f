"""What every test shares."""

from collections.abc import Iterator, Sequence
from typing import Any
from unittest.mock import patch

import hypothesis
import pytest
from django.db.backends.postgresql.operations import DatabaseOperations
from pytest_django.fixtures import Settings

# How long an example takes says something of the machine, not of the program.
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")


@pytest.fixture(autouse=True)
def quick_passwords(settings: Settings) -> None:
    """Accounts made in tests need no slow password hash."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def files_of_the_test(settings: Settings, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Files that a test stores stay out of the installation's own."""
    settings.MEDIA_ROOT = tmp_path_factory.mktemp("media")


@pytest.fixture(autouse=True, scope="session")
def emptied_row_by_row() -> Iterator[None]:
    """Let tests that commit empty their few full tables, not make all tables and indexes anew.

    Without triggers, which refuse deletion; only a superuser may do that, so others truncate.
    """
    truncated = DatabaseOperations.sql_flush

    def deleted(
        self: DatabaseOperations, style: Any, tables: Sequence[str], **options: bool
    ) -> list[str]:
        with self.connection.cursor() as cursor:
            cursor.execute("show is_superuser")
            if cursor.fetchone() != ("on",) or options.get("reset_sequences"):
                return truncated(self, style, tables, **options)
        named = [self.quote_name(table) for table in tables]
        return [
            "set local session_replication_role = replica",
            *(f"delete from {t}" for t in named),
        ]

    with patch.object(DatabaseOperations, "sql_flush", deleted):
        yield

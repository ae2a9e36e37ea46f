"""Changing many records at once."""

import pytest
from django.db import connection

pytestmark = pytest.mark.django_db


def test_no_trigger_fails_to_look_up_whether_it_is_ignored() -> None:
    """Each failure would search all that the transaction has still to check (`records.apps`)."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('pgtrigger.ignore')::text[]")
        assert cursor.fetchone() == ([],)

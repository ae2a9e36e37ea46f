from typing import Any

from django.apps import AppConfig
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.signals import connection_created


class RecordsConfig(AppConfig):
    name = "records"
    verbose_name = "Records"

    def ready(self) -> None:
        from records.reconstruction import watching

        watching.watch()
        connection_created.connect(ignore_no_trigger)


def ignore_no_trigger(connection: BaseDatabaseWrapper, **_: Any) -> None:
    """Define the setting in which every trigger looks up whether it is to be ignored.

    Without it each look-up fails and is taken back, and taking back goes through all foreign keys
    that wait for the end of the transaction: an import would take the square of its rows.
    """
    with connection.cursor() as cursor:
        cursor.execute("SET pgtrigger.ignore = '{}'")

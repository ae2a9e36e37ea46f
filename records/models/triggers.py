"""Installing the triggers of many models in one step of a migration.

A step for each of some three hundred triggers would make Django render every model again each time,
a minute and more on a new database; here the state is rendered once.
"""

from typing import Any

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.operations.base import Operation
from django.db.migrations.state import ProjectState


class InstallTriggers(Operation):
    """Install every trigger that the app's models carry in their `triggers` option."""

    reduces_to_sql = True
    reversible = True

    def state_forwards(self, app_label: str, state: ProjectState) -> None:
        """Nothing: the models' options name their triggers already."""

    def database_forwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for trigger in self._triggers(app_label, to_state):
            schema_editor.execute(trigger.install_sql, params=None)

    def database_backwards(
        self,
        app_label: str,
        schema_editor: BaseDatabaseSchemaEditor,
        from_state: ProjectState,
        to_state: ProjectState,
    ) -> None:
        for trigger in self._triggers(app_label, from_state):
            schema_editor.execute(trigger.uninstall_sql, params=None)

    def describe(self) -> str:
        return "Install the triggers of the app's models"

    @staticmethod
    def _triggers(app_label: str, state: ProjectState) -> list[Any]:
        return [
            trigger
            for (app, _), model in state.models.items()
            if app == app_label
            for trigger in model.options.get("triggers", [])
        ]

"""Entry of named rows (a setting and its value, an identifier and its list) instead of raw JSON."""

from itertools import zip_longest
from typing import Any, ClassVar

from django import forms


class RowsWidget(forms.Widget):
    """A small table of text inputs, with a few empty rows at its end."""

    template_name = "records/forms/rows.html"
    spare: ClassVar[int] = 3

    def __init__(self, columns: dict[str, str], attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs)
        self.columns = columns

    def use_required_attribute(self, initial: Any) -> bool:
        return False

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        rows = list(value or []) + [{} for _ in range(self.spare)]
        context["widget"]["columns"] = self.columns
        context["widget"]["rows"] = [
            [
                (f"{name}.{column}", label, row.get(column, ""))
                for column, label in self.columns.items()
            ]
            for row in rows
        ]
        return context

    def value_from_datadict(self, data: Any, files: Any, name: str) -> list[dict[str, str]]:
        typed = [data.getlist(f"{name}.{column}") for column in self.columns]
        rows = [
            dict(zip(self.columns, cells, strict=True))
            for cells in zip_longest(*typed, fillvalue="")
        ]
        return [row for row in rows if any(cell.strip() for cell in row.values())]

    def value_omitted_from_data(self, data: Any, files: Any, name: str) -> bool:
        return not any(f"{name}.{column}" in data for column in self.columns)


class RowsField(forms.Field):
    """Rows of named cells; the first cell of each row is needed."""

    columns: ClassVar[dict[str, str]]

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(widget=RowsWidget(self.columns), **kwargs)

    def clean(self, value: Any) -> Any:
        rows = [{key: cell.strip() for key, cell in row.items()} for row in value or []]
        needed, label = next(iter(self.columns.items()))
        for number, row in enumerate(rows, 1):
            if not row[needed]:
                raise forms.ValidationError(f"Row {number} needs its {label.lower()}.")
        names = [row[needed].casefold() for row in rows]
        if repeated := next((name for name in names if names.count(name) > 1), None):
            raise forms.ValidationError(f"“{repeated}” stands in two rows; keep one.")
        return self.pack(rows)

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool(self.prepare_value(initial) != (data or []))

    def prepare_value(self, value: Any) -> list[dict[str, str]]:
        """The stored value as rows; what was typed passes through."""
        if isinstance(value, list) and all(set(row) == set(self.columns) for row in value):
            return value
        return self.unpack(value) if value else []

    def pack(self, rows: list[dict[str, str]]) -> Any:
        """Rows as they are stored."""
        raise NotImplementedError

    def unpack(self, value: Any) -> list[dict[str, str]]:
        """What is stored, as rows."""
        raise NotImplementedError


class SettingsField(RowsField):
    """Settings of an instrument, stored as {"name": "value with unit"}."""

    columns = {"name": "Setting", "value": "Value with its unit"}

    def pack(self, rows: list[dict[str, str]]) -> dict[str, str]:
        return {row["name"]: row["value"] for row in rows}

    def unpack(self, value: Any) -> list[dict[str, str]]:
        return [{"name": str(name), "value": str(part)} for name, part in value.items()]


class IdentifiersField(RowsField):
    """Identifiers in published lists, stored as [{"scheme", "code" or "uri"}]."""

    columns = {"scheme": "Name of the list", "code": "Name in it", "uri": "Address (URI)"}

    def pack(self, rows: list[dict[str, str]]) -> list[dict[str, str]]:
        return [{name: cell for name, cell in row.items() if cell} for row in rows]

    def unpack(self, value: Any) -> list[dict[str, str]]:
        return [{name: part.get(name, "") for name in self.columns} for part in value]


class TranslationsField(RowsField):
    """Translations, stored as {"de": {"label", "definition"}}."""

    columns = {"language": "Language (de, fr …)", "label": "Term", "definition": "Definition"}

    def pack(self, rows: list[dict[str, str]]) -> dict[str, dict[str, str]]:
        return {
            row["language"]: {part: row[part] for part in ("label", "definition") if row[part]}
            for row in rows
        }

    def unpack(self, value: Any) -> list[dict[str, str]]:
        return [
            {
                "language": language,
                "label": term.get("label", ""),
                "definition": term.get("definition", ""),
            }
            for language, term in value.items()
        ]

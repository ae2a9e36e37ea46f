"""Entry of uncertain dates: a text field that says in plain words what it understood."""

from typing import Any

from django import forms
from django.urls import reverse_lazy


class EdtfInput(forms.TextInput):
    """A text input that asks the server, while one types, how the date is understood."""

    template_name = "records/parts/edtf_input.html"

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        context["widget"]["read_url"] = reverse_lazy("read-date")
        return context


class EdtfFormField(forms.CharField):
    """EDTF text; the model field's validator says which part is not understood."""

    widget = EdtfInput

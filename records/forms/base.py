"""What the form of every record shares: the reason for a change, and refusals told at the field."""

from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar, cast

from django import forms
from django.db import IntegrityError
from django.http import QueryDict

from records.changes import change
from records.models import Record, User
from records.refusals import explain

if TYPE_CHECKING:
    ModelForm = forms.ModelForm[Any]
else:
    ModelForm = forms.ModelForm


class RecordForm(ModelForm):
    """The form of one kind of record; `store` saves it, all or nothing.

    A change to an existing record needs a reason, and is refused when somebody else has changed
    the record since the form was opened.
    """

    why = forms.CharField(
        label="Why is it changed?",
        help_text="Kept with the record: the next reader sees who changed what, when and why.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    opened = forms.CharField(widget=forms.HiddenInput, required=False)

    intro: ClassVar[str] = ""

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user
        self.is_new = self.instance.pk is None
        if self.is_new:
            del self.fields["why"], self.fields["opened"]
        else:
            self.fields["opened"].initial = self.instance.updated_at.isoformat()
        self.set_up()
        self.order_fields([*(n for n in self.fields if n not in ("why", "opened")), "why"])

    def set_up(self) -> None:
        """Fit the fields to the record at hand: what may be chosen, what is asked."""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.is_new and self._changed_meanwhile(cleaned.get("opened", "")):
            data = cast(QueryDict, self.data).copy()
            data[self.add_prefix("opened")] = self.instance.updated_at.isoformat()
            self.data = data
            raise forms.ValidationError(
                "Somebody changed this record while you were writing. Your entries are kept below: "
                "compare them with the record, then save again."
            )
        return cleaned

    def _changed_meanwhile(self, opened: str) -> bool:
        try:
            return bool(datetime.fromisoformat(opened) != self.instance.updated_at)
        except ValueError:
            return False

    def store(self) -> bool:
        """Save the checked form; False, with the refusal at its field, if the database says no."""
        why = self.cleaned_data.get("why") or "recorded"
        try:
            with change(user=self.user, why=why):
                self.prepare()
                self.save()
                self.store_parts()
        except IntegrityError as error:
            if self.is_new:
                self.instance.pk = None
            for name, words in explain(error, self._meta.model, self.fields).items():
                self.add_error(name if name in self.fields else None, words)
            return False
        return True

    def prepare(self) -> None:
        """Record what the record will point to, in the same change."""

    def store_parts(self) -> None:
        """Save what belongs to the record and has a table of its own, in the same change."""


class Reason(forms.Form):
    """Why a record is withdrawn."""

    why = forms.CharField(
        label="Why is it withdrawn?",
        help_text="The record stays readable, marked as withdrawn, with this reason.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )


class Correction(forms.Form):
    """The text of an amendment."""

    text = forms.CharField(
        label="What is corrected?",
        help_text="The signed record stays as it is; this text, signed by you, stands with it.",
        widget=forms.Textarea(attrs={"rows": 4}),
    )


def standing(queryset: Any, *keep: Record | None) -> Any:
    """The records to choose from: those not withdrawn, and what the record names already."""
    kept = [record.pk for record in keep if record is not None]
    return queryset.filter(withdrawn_at__isnull=True) | queryset.filter(pk__in=kept)

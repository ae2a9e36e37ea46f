"""Asking for a dossier, and handing in a file to be verified."""

from typing import TYPE_CHECKING, Any, ClassVar

from django import forms

from reports.models import Dossier

if TYPE_CHECKING:
    ModelForm = forms.ModelForm[Any]
else:
    ModelForm = forms.ModelForm

MOST_BYTES = 500_000_000


class AskForm(ModelForm):
    """What a dossier is to be called, and the decision that it is for."""

    class Meta:
        model = Dossier
        fields: ClassVar = ["title", "request"]
        labels: ClassVar = {"request": "The decision it is for"}
        help_texts: ClassVar = {
            "title": "As it should read in the list: ‘Loan to the summer exhibition’.",
            "request": "In one or two sentences: who decides what, and by when. It stands on the"
            " cover.",
        }
        widgets: ClassVar = {"request": forms.Textarea(attrs={"rows": 3})}


class VerifyForm(forms.Form):
    """A PDF to be compared with the dossiers kept here."""

    file = forms.FileField(
        label="The PDF",
        help_text="It is read and compared, and not kept.",
        widget=forms.ClearableFileInput(attrs={"accept": "application/pdf,.pdf"}),
    )

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError("The file is larger than 500 MB: no dossier is.")
        return file

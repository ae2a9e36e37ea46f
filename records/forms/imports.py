"""Forms for importing a file: choosing it, saying where it belongs, confirming what was found."""

from typing import Any, cast

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from records.forms.dates import EdtfFormField
from records.imports.uploads import Upload, keep, waiting
from records.models import Campaign, Face, Object, Technique, User
from records.models.dates import validate_edtf

LARGEST_MB = 50


class ImportDoor(forms.Form):
    """Which object a file is for, and what it holds."""

    number = forms.CharField(
        label="Accession number",
        help_text="Of the object that the file is about.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    what = forms.ChoiceField(
        label="What the file holds",
        widget=forms.RadioSelect,
        choices=[
            ("survey", "A survey of one face: traces and sightings (GeoJSON)"),
            ("results", "Samples and results of the laboratory (CSV or XLSX)"),
            ("raw-files", "Raw files of the laboratory: spectra, patterns (ZIP)"),
        ],
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not user.writes_records:
            self.fields["what"].choices = self.fields["what"].choices[1:]  # type: ignore[attr-defined]
        self.fields["what"].initial = self.fields["what"].choices[0][0]  # type: ignore[attr-defined]

    def clean_number(self) -> Object:
        number = self.cleaned_data["number"].strip()
        item = Object.objects.filter(accession_number__iexact=number, withdrawn_at=None).first()
        if item is None:
            raise ValidationError(
                f"There is no object “{number}”. Look it up in the list of objects."
            )
        return item


class FileForm(forms.Form):
    """A file, uploaded now or waiting since its check, and why it is imported."""

    file = forms.FileField(label="File", error_messages={"required": "Choose the file to import."})
    upload = forms.CharField(required=False, widget=forms.HiddenInput)
    why = forms.CharField(
        label="Why it is imported",
        help_text="Kept with every record that the import adds.",
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    accept = ""

    def __init__(self, *args: Any, item: Object, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.item, self.user = item, user
        self.fields["file"].widget.attrs["accept"] = self.accept
        self.fields["file"].required = not self.data.get("upload")
        self.set_up()

    def set_up(self) -> None:
        """Fit the fields to the object."""

    def clean_file(self) -> Any:
        file = self.cleaned_data["file"]
        if file and file.size > LARGEST_MB * 1024 * 1024:
            raise ValidationError(
                f"The file is larger than {LARGEST_MB} MB: divide it, or import it by command."
            )
        return file

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("file"):
            cleaned["waiting"] = keep(cleaned["file"].read(), cleaned["file"].name)
        elif "file" not in self.errors:
            cleaned["waiting"] = waiting(cleaned.get("upload", ""), self.user)
            if cleaned["waiting"] is None:
                self.add_error("file", "It is no longer waiting: choose it again.")
        return cleaned

    @property
    def waits(self) -> Upload:
        """The file of the checked form."""
        upload: Upload = self.cleaned_data["waiting"]
        return upload

    def to_confirm(self) -> "FileForm":
        """The same answers, with the file waiting on the server, to be sent back as they are."""
        data = cast(QueryDict, self.data).copy()
        data["upload"] = self.waits.token(self.user)
        return type(self)(data, item=self.item, user=self.user)


class SurveyForm(FileForm):
    """A survey: which face was looked at, in which campaign, by which technique, when."""

    face = forms.ModelChoiceField(
        Face.objects.none(), help_text="Coordinates in the file are millimetres on this face."
    )
    campaign = forms.CharField(
        max_length=200,
        help_text="Its title. A campaign that the object has already is used; any other is made.",
        widget=forms.TextInput(attrs={"list": "campaigns", "autocomplete": "off"}),
    )
    technique = forms.ModelChoiceField(
        Technique.objects.filter(withdrawn_at=None).exclude(group="analysis"),
        help_text="How the traces were seen.",
    )
    date = EdtfFormField(
        label="Date of the survey",
        validators=[validate_edtf],
        help_text="As exactly as you know it: 2024-05-14, 2024-05, 2024~.",
    )

    accept = ".geojson,.json,application/geo+json"
    field_order = ("file", "face", "campaign", "technique", "date", "why")

    def set_up(self) -> None:
        faces = Face.objects.filter(object=self.item, withdrawn_at=None).select_related("object")
        self.fields["face"].queryset = faces  # type: ignore[attr-defined]
        self.fields["file"].help_text = "GeoJSON with coordinates in millimetres."
        if len(faces) == 1:
            self.fields["face"].initial = faces[0].pk
        technique = Technique.objects.filter(code="visual_inspection").first()
        self.fields["technique"].initial = technique and technique.pk

    @property
    def campaigns(self) -> Any:
        """Titles of the object's campaigns, to choose from while typing."""
        return Campaign.objects.filter(object=self.item, withdrawn_at=None).values_list(
            "title", flat=True
        )

"""Forms of images: adding files, describing them, placing them on a face."""

import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError
from django.utils.html import format_html

from records.arrivals import Examined, KnownError, describe, examine, keep, lay, pick_up
from records.changes import change
from records.choices import ImageKind
from records.forms.base import RecordForm, standing
from records.imaging.originals import ENDINGS, OriginalError
from records.models import Arrival, Examination, Image, Object, Source, User
from records.models.dates import validate_edtf
from records.refusals import explain

if TYPE_CHECKING:
    File = UploadedFile[Any]
else:
    File = UploadedFile


class FilesInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """One or many files; each is checked as a file of its own."""

    widget = FilesInput

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        files = data if isinstance(data, list | tuple) else [data]
        return [super(FilesField, self).clean(file, initial) for file in files]


class DescribedForm(forms.Form):
    """What is said of image files as they come, of all of them together."""

    kind = forms.ChoiceField(choices=ImageKind.choices, label="What they are")
    examination = forms.ModelChoiceField(
        Examination.objects.none(),
        required=False,
        empty_label="None",
        help_text="For images made in an examination.",
    )
    source = forms.ModelChoiceField(
        Source.objects.none(),
        required=False,
        empty_label="None",
        help_text="For historical photographs and scans: the paper they belong to.",
    )
    title = forms.CharField(
        required=False, max_length=150, help_text="Leave empty to take the names of the files."
    )
    date = Image._meta.get_field("date").formfield(
        label="When it was made",
        help_text="Leave empty to take the date of the examination.",
        validators=[validate_edtf],
    )

    def __init__(self, *args: Any, item: Object, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.item, self.user = item, user
        offer_looks(self, item)
        if not user.writes_records:  # a scientist's own images are those of samples
            self.fields["kind"].choices = [  # type: ignore[attr-defined]
                (kind.value, kind.label) for kind in ImageKind if kind == ImageKind.SECTION
            ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("kind") == ImageKind.TECHNICAL and not cleaned.get("examination"):
            self.add_error("examination", "A technical image is made in an examination: name it.")
        return cleaned

    def described(self, filename: str, *, many: bool) -> dict[str, Any]:
        return describe(self.cleaned_data, filename, many=many)


class UploadForm(DescribedForm):
    """One or many image files of an object, sent with the form; all are kept or none."""

    uploads = FilesField(
        label="Files",
        help_text="TIFF, JPEG, PNG or JPEG 2000; one or many.",
        widget=FilesInput(attrs={"accept": ",".join(ENDINGS)}),
    )
    field_order = ["uploads"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.examined: list[Examined] = []
        self.laid: list[Path] = []

    def clean_uploads(self) -> list[File]:
        """Examine each file where it is laid for that, so that all or none are taken."""
        files: list[File] = self.cleaned_data["uploads"]
        problems: list[Any] = []
        known: dict[str, str] = {}
        for file in files:
            name = str(file.name)
            try:
                path = lay(file)
                self.laid.append(path.parent)
                found = examine(path, name, self.item)
            except OriginalError as error:
                problems.append(f"“{name}” {error}")
            except KnownError as error:
                problems.append(told_as_known(name, error))
            else:
                if found.sha256 in known:
                    problems.append(f"“{name}” is the same file as “{known[found.sha256]}”.")
                known[found.sha256] = name
                self.examined.append(found)
        if problems:
            self.clear()
            raise forms.ValidationError(problems)
        return files

    def clear(self) -> None:
        """Remove the files that were laid for examining."""
        for folder in self.laid:
            shutil.rmtree(folder, ignore_errors=True)

    def store(self) -> list[Image]:
        """Keep the files and record them, all or none; [] when the database refuses."""
        images: list[Image] = []
        many = len(self.examined) > 1
        try:
            with change(user=self.user, why="recorded"):
                for file in self.examined:
                    described = self.described(file.filename, many=many)
                    images.append(keep(file, self.item, described))
        except IntegrityError as error:
            for image in images:
                image.file.storage.delete(str(image.file.name))
            for name, words in explain(error, Image).items():
                self.add_error(name if name in self.fields else None, words)
            return []
        finally:
            self.clear()
        return images


class IngestForm(DescribedForm):
    """Files of the ingest folder to take in."""

    chosen = forms.MultipleChoiceField(label="Files", widget=forms.CheckboxSelectMultiple)
    field_order = ["chosen"]

    def __init__(self, *args: Any, found: Sequence[Path], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["chosen"].choices = [  # type: ignore[attr-defined]
            (str(path), path) for path in found
        ]

    def pick_up(self) -> list[Arrival]:
        """Announce the chosen files; the task queue takes them in."""
        names = [Path(name) for name in self.cleaned_data["chosen"]]
        many = len(names) > 1
        return [
            pick_up(name, self.item, self.user, self.described(name.name, many=many))
            for name in names
        ]


def told_as_known(name: str, error: KnownError) -> str:
    """That a file is there already, with the way to it."""
    return format_html(
        "“{}” is already among the images of this object, as <a href='{}'>“{}”</a>. Leave it out.",
        name,
        error.image.get_absolute_url(),
        error.image,
    )


def offer_looks(form: Any, item: Object, image: Image | None = None) -> None:
    """Let the form choose among the examinations and papers of the object."""
    looks = Examination.objects.filter(campaign__object=item).select_related("technique")
    form.fields["examination"].queryset = standing(looks, image.examination if image else None)
    papers = Source.objects.filter(object=item)
    form.fields["source"].queryset = standing(papers, image.source if image else None)


class ImageForm(RecordForm):
    """What is said of an image; the file itself is never changed."""

    class Meta:
        model = Image
        fields = ["title", "kind", "examination", "source", "date", "note"]

    def set_up(self) -> None:
        offer_looks(self, self.instance.object, self.instance)


class DisplayWindowForm(RecordForm):
    """Which values of an image are shown as black and as white. The original is not touched."""

    intro = "Values between the two are spread evenly from black to white. The file stays as it is."

    class Meta:
        model = Image
        fields = ["window_low", "window_high"]
        labels = {"window_low": "Shown as black", "window_high": "Shown as white"}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        low, high = cleaned.get("window_low"), cleaned.get("window_high")
        if (low is None) != (high is None):
            missing = "window_low" if low is None else "window_high"
            self.add_error(missing, "Give both values, or leave both empty.")
        elif low is not None and high is not None and low >= high:
            self.add_error("window_high", "White has to be a higher value than black.")
        return cleaned

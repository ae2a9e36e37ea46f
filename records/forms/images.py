"""Forms of images: adding files, describing them, placing them on a face."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pyvips
from django import forms
from django.contrib.gis.geos import Polygon
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError

from records.changes import change
from records.choices import ImageKind, UncertaintyBasis
from records.fixity import sha256
from records.forms.base import RecordForm, standing
from records.forms.rows import RowsField
from records.imaging.placement import METHODS, PlacementError, Placing, footprint, place
from records.models import Examination, Face, Image, Object, Placement, Source, User
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


@dataclass(frozen=True, slots=True)
class Size:
    width_px: int
    height_px: int


def measure(file: File) -> Size:
    """Width and height of an image file. Raises ValueError when it is none that can be opened."""
    file.seek(0)
    try:
        image = pyvips.Image.new_from_buffer(file.read(), "")
        if image.format == "notset":
            raise ValueError
        size = Size(image.width, image.height)
    except (pyvips.Error, ValueError) as error:
        raise ValueError(
            f"“{file.name}” is not an image that can be opened. Use TIFF, JPEG, PNG, WebP or "
            "JPEG 2000; raw camera files have to be developed first."
        ) from error
    finally:
        file.seek(0)
    return size


class UploadForm(forms.Form):
    """One or many image files of an object."""

    uploads = FilesField(
        label="Files", help_text="TIFF, JPEG, PNG, WebP or JPEG 2000; one or many."
    )
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
        required=False, max_length=200, help_text="Leave empty to take the names of the files."
    )
    date = Image._meta.get_field("date").formfield(
        label="When it was made", help_text="Leave empty to take the date of the examination."
    )

    def __init__(self, *args: Any, item: Object, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.item, self.user = item, user
        offer_looks(self, item)

    def clean_uploads(self) -> list[File]:
        """Measure each file and tell duplicates, so that all or none are taken."""
        files: list[File] = self.cleaned_data["uploads"]
        self.sizes, self.sums, problems = [], [], []
        known = known_files(self.item)
        for file in files:
            try:
                self.sizes.append(measure(file))
            except ValueError as error:
                problems.append(str(error))
                continue
            digest = sha256(file)
            if digest in known:
                problems.append(
                    f"“{file.name}” is already among the images of this object, as "
                    f"“{known[digest]}”. Leave it out."
                )
            known[digest] = str(file.name)
            self.sums.append(digest)
        if problems:
            raise forms.ValidationError(problems)
        return files

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("kind") == ImageKind.TECHNICAL and not cleaned.get("examination"):
            self.add_error("examination", "A technical image is made in an examination: name it.")
        return cleaned

    def store(self) -> list[Image]:
        """Keep the files and record them, all or none; [] when the database refuses."""
        given = self.cleaned_data
        images: list[Image] = []
        try:
            with change(user=self.user, why="recorded"):
                for file, size, digest in zip(given["uploads"], self.sizes, self.sums, strict=True):
                    images.append(self._image(file, size, digest))
                    images[-1].save()
        except IntegrityError as error:
            for image in images:
                image.file.storage.delete(str(image.file.name))
            for name, words in explain(error, Image).items():
                self.add_error(name if name in self.fields else None, words)
            return []
        return images

    def _image(self, file: File, size: Size, digest: str) -> Image:
        given = self.cleaned_data
        name = str(file.name).rsplit(".", 1)[0].replace("_", " ")
        title = given["title"] or name
        if given["title"] and len(given["uploads"]) > 1:
            title = f"{given['title']}, {name}"
        return Image(
            object=self.item,
            examination=given["examination"],
            source=given["source"],
            kind=given["kind"],
            title=title[:200],
            date=given["date"],
            file=file,
            sha256=digest,
            byte_size=file.size or 0,
            width_px=size.width_px,
            height_px=size.height_px,
        )


def known_files(item: Object) -> dict[str, str]:
    """The titles of an object's images by the SHA-256 of their files."""
    images = Image.objects.filter(object=item, withdrawn_at__isnull=True)
    return dict(images.values_list("sha256", "title"))


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


class ControlPointsField(RowsField):
    """Pairs of a pixel and a place on the face."""

    columns = {
        "column": "Pixel from the left",
        "row": "Pixel from the top",
        "x": "x on the face (mm)",
        "y": "y on the face (mm)",
    }

    def clean(self, value: Any) -> list[dict[str, list[float]]]:
        points = []
        for number, row in enumerate(value or [], 1):
            try:
                column, down, x, y = (float(row[key].replace(",", ".")) for key in self.columns)
            except ValueError as error:
                raise forms.ValidationError(
                    f"Row {number} needs four numbers: pixel from the left and from the top, "
                    "x and y in millimetres."
                ) from error
            points.append({"px": [column, down], "mm": [x, y]})
        return points

    def unpack(self, value: Any) -> list[dict[str, str]]:
        return [
            {
                "column": f"{point['px'][0]:g}",
                "row": f"{point['px'][1]:g}",
                "x": f"{point['mm'][0]:g}",
                "y": f"{point['mm'][1]:g}",
            }
            for point in value
        ]


class PlacementForm(RecordForm):
    """Places an image on a face by pairs of a pixel and a face point."""

    method = forms.ChoiceField(
        choices=[(name, method.words) for name, method in METHODS.items()],
        help_text="The simplest that fits: more freedom hides measuring errors.",
    )
    control_points = ControlPointsField(
        required=True,
        help_text="Points that can be found in the image and measured on the face, spread to its "
        "edges. One more than the method needs lets the error be seen.",
    )

    class Meta:
        model = Placement
        fields = ["face", "method", "control_points"]

    def set_up(self) -> None:
        faces = Face.objects.filter(object=self.instance.image.object)
        kept = self.instance.face if self.instance.face_id else None
        self.fields["face"].queryset = standing(faces, kept)  # type: ignore[attr-defined]
        self.fields["control_points"].widget.spare = 4

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        points: Sequence[dict[str, list[float]]] | None = cleaned.get("control_points")
        if points is None or self.errors:
            return cleaned
        try:
            placing = place([p["px"] for p in points], [p["mm"] for p in points], cleaned["method"])
        except PlacementError as error:
            self.add_error("control_points", str(error))
        else:
            self._take(placing)
        return cleaned

    def _take(self, placing: Placing) -> None:
        image = self.instance.image
        self.instance.matrix = placing.matrix.tolist()
        self.instance.rms_mm = placing.rms_mm
        self.instance.uncertainty_mm = placing.rms_mm
        self.instance.uncertainty_basis = UncertaintyBasis.RESIDUALS
        corners = footprint(placing.matrix, image.width_px, image.height_px).tolist()
        self.instance.footprint = Polygon([*corners, corners[0]])

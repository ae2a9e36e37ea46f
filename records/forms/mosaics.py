"""The form of a mosaic: its frames, how they lie, what is corrected."""

import re
from collections.abc import Sequence
from pathlib import PurePosixPath
from typing import Any

from django import forms

from records.choices import FrameRole, Lens, MosaicLayout
from records.forms.base import RecordForm
from records.forms.choosing import Checks, SomeOf
from records.models import Image, Mosaic, MosaicFrame

Position = tuple[float, float]


def in_order(name: str) -> list[Any]:
    """A key that sorts names as people count: frame 9 before frame 10."""
    return [int(part) if part.isdigit() else part.lower() for part in re.split(r"(\d+)", name)]


def read_positions(text: str) -> dict[str, Position]:
    """Positions by the name of a frame, from lines 'name, x, y' (commas, semicolons or tabs).

    Raises forms.ValidationError that names each line that cannot be read.
    """
    found: dict[str, Position] = {}
    problems = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        cells = [cell.strip() for cell in re.split(r"[;\t]|,(?=\s*[^\s])", line)]
        try:
            name, x, y = cells
            place = float(x.replace(",", ".")), float(y.replace(",", "."))
        except ValueError:
            if number > 1:  # the first line may be a heading
                problems.append(f"Line {number} needs a name and two numbers: “{line.strip()}”.")
            continue
        if name in found:
            problems.append(f"Line {number}: “{name}” has a position already.")
        found[name] = place
    if problems:
        raise forms.ValidationError(problems)
    return found


class Titled(SomeOf):
    """Images by title and size."""

    def label_from_instance(self, image: Any) -> str:
        return f"{image.title} ({image.width_px} × {image.height_px} px)"


class MosaicForm(RecordForm):
    """A mosaic of images of one examination."""

    frames = Titled(
        Image.objects.none(),
        widget=Checks,
        help_text="Taken in the order of their names; untick what is no frame.",
    )
    darks = Titled(
        Image.objects.none(),
        label="Dark exposures",
        required=False,
        widget=Checks,
        help_text="Taken with the lens covered, or without rays; several are averaged.",
    )
    flats = Titled(
        Image.objects.none(),
        label="Exposures of an even field",
        required=False,
        widget=Checks,
        help_text="Of an evenly lit white board, or of the beam alone: they even the light over "
        "each frame.",
    )
    positions = forms.CharField(
        label="Table of positions",
        required=False,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text="For a layout by a table: one line for each frame, its name, x, y, as the stage "
        "wrote them.",
    )

    class Meta:
        model = Mosaic
        fields = [
            "title", "layout", "rows", "columns", "order", "overlap_across", "overlap_down",
            "pixel_mm", "freedom", "lens", "k1", "k2", "even_exposure", "even_falloff", "note",
        ]  # fmt: skip
        labels = {
            "layout": "Where the frames lie",
            "order": "Order in which a grid was taken",
            "pixel_mm": "Size of a pixel on the object (mm)",
            "freedom": "How a frame may lie",
            "lens": "Radial distortion of the lens",
            "even_exposure": "Even the exposure of frames",
        }
        help_texts = {
            "layout": "Roughly: the overlaps decide.",
            "overlap_across": "The share that two frames side by side have in common.",
            "overlap_down": "The share that two frames one below the other have in common.",
            "pixel_mm": "If it is known: residuals are then told in millimetres too.",
            "k1": "For a given lens: true radius = r (1 + k1 r² + k2 r⁴), r from the middle, in "
            "half diagonals.",
            "even_falloff": "For frames without an exposure of an even field.",
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def set_up(self) -> None:
        images = Image.objects.filter(
            examination=self.instance.examination, withdrawn_at=None, made_as_mosaic=None
        )
        parts = ("frames", "darks", "flats")
        if not self.is_new:
            for name in (*parts, "positions"):
                del self.fields[name]
            return
        for name in parts:
            self.fields[name].queryset = images.order_by("title", "pk")  # type: ignore[attr-defined]
        self.fields["frames"].initial = [image.pk for image in images]
        self.order_fields(["title", *parts, "layout", "rows", "columns", "order"])

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if cleaned.get("lens") == Lens.GIVEN and cleaned.get("k1") is None:
            self.add_error("k1", "A lens that is given needs k1; k2 may stay empty.")
        layout = cleaned.get("layout")
        if layout == MosaicLayout.GRID:
            for name in ("rows", "columns", "overlap_across", "overlap_down"):
                if not cleaned.get(name) and name not in self.errors:
                    self.add_error(name, "A grid needs this.")
        if layout == MosaicLayout.STAGE_MM and not cleaned.get("pixel_mm"):
            self.add_error("pixel_mm", "Positions in millimetres need the size of a pixel.")
        if self.is_new and "frames" in cleaned:
            self._check_frames(cleaned)
        return cleaned

    def _check_frames(self, cleaned: dict[str, Any]) -> None:
        others = {image.pk for name in ("darks", "flats") for image in cleaned.get(name) or ()}
        # What is ticked as a dark or an even field is no frame, though all are ticked at first.
        chosen = [image for image in cleaned["frames"] if image.pk not in others]
        self.chosen = sorted(chosen, key=lambda image: in_order(image.title))
        if len(chosen) < 2:
            self.add_error("frames", "A mosaic needs two frames at least.")
        rows, columns = cleaned.get("rows"), cleaned.get("columns")
        self.places: dict[str, Position] = {}
        if cleaned.get("layout") == MosaicLayout.GRID:
            if rows and columns and rows * columns != len(chosen):
                self.add_error(
                    "rows",
                    f"{rows} rows of {columns} need {rows * columns} frames; {len(chosen)} are "
                    "ticked. Where a frame was left out or taken twice, give a table of positions.",
                )
        elif cleaned.get("layout"):
            self._read_positions(cleaned.get("positions") or "")

    def _read_positions(self, text: str) -> None:
        try:
            self.places = read_positions(text)
        except forms.ValidationError as error:
            self.add_error("positions", error)
            return
        without = [image.title for image in self.chosen if self._place(image) is None]
        if without:
            some = ", ".join(without[:5]) + (" …" if len(without) > 5 else "")
            self.add_error("positions", f"{len(without)} frames have no position: {some}")

    def _place(self, image: Image) -> Position | None:
        """The position of an image, by its title or the name of its file."""
        file = PurePosixPath(str(image.file.name))
        for name in (image.title, file.name, file.stem):
            if name in self.places:
                return self.places[name]
        return None

    def store_parts(self) -> None:
        if not self.is_new:
            return
        lay(self.instance, FrameRole.FRAME, self.chosen, [self._place(i) for i in self.chosen])
        lay(self.instance, FrameRole.DARK, self.cleaned_data["darks"])
        lay(self.instance, FrameRole.FLAT, self.cleaned_data["flats"])


def lay(
    item: Mosaic,
    role: FrameRole,
    images: Sequence[Image],
    places: Sequence[Position | None] | None = None,
) -> None:
    """Record images as frames of a mosaic, within a `change`, in this order."""
    places = places or [None] * len(images)
    MosaicFrame.objects.bulk_create(
        MosaicFrame(
            mosaic=item,
            role=role,
            number=number,
            name=image.title,
            image=image,
            sha256=image.sha256,
            stage_x=place[0] if place else None,
            stage_y=place[1] if place else None,
        )
        for number, (image, place) in enumerate(zip(images, places, strict=True), 1)
    )

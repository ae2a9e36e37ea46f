"""The form of a mosaic: its frames, how they lie, what is corrected."""

import re
from pathlib import Path, PurePosixPath
from typing import Any

from django import forms

from records.choices import FrameRole, Lens, MosaicLayout
from records.forms.base import RecordForm
from records.forms.choosing import Checks, SomeOf
from records.frames import Position, announce, folders, in_order, lay, offered, role_of
from records.models import Image, Mosaic


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

    folder = forms.ChoiceField(
        label="Frames from the ingest folder",
        required=False,
        help_text="All image files of one folder are frames, in the order of the numbers in their "
        "names; those whose names begin with “dark” or “flat” are such exposures. They are kept "
        "with the mosaic, not among the images, and removed from the folder once they are kept.",
    )
    frames = Titled(
        Image.objects.none(),
        required=False,
        widget=Checks,
        help_text="Taken in the order of their names; untick what is no frame. With a folder "
        "chosen above, these are left aside.",
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
        images = offered(self.instance.examination)
        parts = ("frames", "darks", "flats")
        if not self.is_new:
            for name in ("folder", *parts, "positions"):
                del self.fields[name]
            return
        self.folders = folders()
        self.fields["folder"].choices = [  # type: ignore[attr-defined]
            ("", "None: the images ticked below are the frames"),
            *((name, _told(name, paths)) for name, paths in self.folders.items()),
        ]
        for name in parts:
            self.fields[name].queryset = images  # type: ignore[attr-defined]
        self.fields["frames"].initial = [image.pk for image in images]
        grid = ("rows", "columns", "order", "overlap_across", "overlap_down")
        self.order_fields(["title", "folder", *parts, "layout", *grid, "positions"])

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
        if self.is_new and "frames" in cleaned and "folder" in cleaned:
            self._check_frames(cleaned)
        return cleaned

    def _check_frames(self, cleaned: dict[str, Any]) -> None:
        self.paths = self.folders.get(cleaned["folder"], [])
        others = {image.pk for name in ("darks", "flats") for image in cleaned.get(name) or ()}
        # What is ticked as a dark or an even field is no frame, though all are ticked at first.
        self.chosen: list[Any] = [p for p in self.paths if role_of(p) == FrameRole.FRAME]
        if not self.paths:
            images = (image for image in cleaned["frames"] if image.pk not in others)
            self.chosen = sorted(images, key=lambda image: in_order(image.title))
        field, where = ("folder", "lie in the folder") if self.paths else ("frames", "are ticked")
        if len(self.chosen) < 2:
            self.add_error(field, "A mosaic needs two frames at least.")
        rows, columns = cleaned.get("rows"), cleaned.get("columns")
        self.places: dict[str, Position] = {}
        if cleaned.get("layout") == MosaicLayout.GRID:
            if rows and columns and rows * columns != len(self.chosen):
                self.add_error(
                    "rows",
                    f"{rows} rows of {columns} need {rows * columns} frames; {len(self.chosen)} "
                    f"{where}. Where a frame was left out or taken twice, give a table of "
                    "positions.",
                )
        elif cleaned.get("layout"):
            self._read_positions(cleaned.get("positions") or "")

    def _read_positions(self, text: str) -> None:
        try:
            self.places = read_positions(text)
        except forms.ValidationError as error:
            self.add_error("positions", error)
            return
        without = [_names(frame)[0] for frame in self.chosen if self._place(frame) is None]
        if without:
            some = ", ".join(without[:5]) + (" …" if len(without) > 5 else "")
            self.add_error("positions", f"{len(without)} frames have no position: {some}")

    def _place(self, frame: Image | Path) -> Position | None:
        """The position of a frame, by one of its names."""
        return next((self.places[n] for n in _names(frame) if n in self.places), None)

    def store_parts(self) -> None:
        if not self.is_new:
            return
        item, places = self.instance, {frame: self._place(frame) for frame in self.chosen}
        if self.paths:
            announce(item, self.paths, places, self.user)
        else:
            lay(item, FrameRole.FRAME, self.chosen, list(places.values()))
        lay(item, FrameRole.DARK, self.cleaned_data["darks"])
        lay(item, FrameRole.FLAT, self.cleaned_data["flats"])


def _names(frame: Image | Path) -> tuple[str, ...]:
    """By what names a table may call a frame: the title of an image, the name of a file."""
    if isinstance(frame, Path):
        return frame.name, frame.stem
    file = PurePosixPath(str(frame.file.name))
    return frame.title, file.name, file.stem


def _told(name: str, paths: list[Path]) -> str:
    count = f"{len(paths)} file{'s' if len(paths) > 1 else ''}"
    return f"{'The ingest folder itself' if name == '.' else name} ({count})"

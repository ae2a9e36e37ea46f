"""Entry of shapes in face millimetres as text: pairs of numbers, WKT or GeoJSON."""

import json
import re
from typing import Any

from django import forms
from django.contrib.gis.gdal import GDALException
from django.contrib.gis.geos import GEOSException, GEOSGeometry, LineString, Point, Polygon

from records.choices import Shape
from records.models import Face
from records.models.places import SRID, outside_mm

NUMBER = r"[-+]?\d+(?:\.\d+)?"
PAIR = re.compile(rf"({NUMBER})\s*[,\s]\s*({NUMBER})")
EXAMPLES = {
    Shape.POINT: "120, 80",
    Shape.LINE: "10, 10; 40, 25; 60, 22",
    Shape.POLYGON: "0, 0; 300, 0; 300, 200; 0, 200",
}
LEAST = {Shape.POINT: 1, Shape.LINE: 2, Shape.POLYGON: 3}


def read_shape(text: str, shape: Shape = Shape.POLYGON) -> GEOSGeometry:
    """Read a shape in millimetres.

    `text` is WKT, a GeoJSON geometry or feature, or pairs of numbers (x, y) divided by semicolons
    or line breaks, which `shape` says how to join. Raises ValueError in words.
    """
    text = text.strip()
    try:
        if text.startswith("{"):
            found = json.loads(text)
            found = found.get("geometry") or found
            geometry = GEOSGeometry(json.dumps(found))
        elif text[:1].isalpha():
            geometry = _wkt(text)
        else:
            geometry = _join(_pairs(text, shape), shape)
    except (GEOSException, GDALException, json.JSONDecodeError, TypeError, AttributeError) as error:
        raise ValueError(
            "This shape cannot be read. Write pairs of millimetres with decimal points, for "
            f"example {EXAMPLES[shape]}."
        ) from error
    if geometry.hasz:
        raise ValueError("A place on a face has two numbers, x and y; this has three.")
    geometry.srid = SRID
    if not geometry.valid:
        raise ValueError(f"The shape crosses itself or is broken: {geometry.valid_reason}.")
    return geometry


def _wkt(text: str) -> GEOSGeometry:
    try:
        return GEOSGeometry(text)
    except ValueError as error:
        raise GEOSException(str(error)) from error


def _pairs(text: str, shape: Shape) -> list[tuple[float, float]]:
    pairs = []
    for part in re.split(r"[;\n]+", text):
        if not part.strip():
            continue
        match = PAIR.fullmatch(part.strip())
        if not match:
            raise ValueError(
                f"“{part.strip()}” is not a pair of millimetres. Write with decimal points, for "
                f"example {EXAMPLES[shape]}."
            )
        pairs.append((float(match[1]), float(match[2])))
    return pairs


def _join(pairs: list[tuple[float, float]], shape: Shape) -> GEOSGeometry:
    if len(pairs) < LEAST[shape]:
        raise ValueError(
            f"{shape.label} needs at least {LEAST[shape]} pairs of numbers, for example "
            f"{EXAMPLES[shape]}."
        )
    if shape == Shape.POINT:
        if len(pairs) > 1:
            raise ValueError("A point is one pair of numbers, for example 120, 80.")
        return Point(*pairs[0])
    if shape == Shape.LINE:
        return LineString(*pairs)
    closed = pairs if pairs[0] == pairs[-1] and len(pairs) > 3 else [*pairs, pairs[0]]
    return Polygon(closed)


def write_shape(geometry: GEOSGeometry) -> str:
    """A shape as a person may edit it: pairs of numbers where that says everything, else WKT."""
    if isinstance(geometry, Point):
        return _write([geometry.coords])
    if isinstance(geometry, LineString):
        return _write(geometry.coords)
    if isinstance(geometry, Polygon) and len(geometry) == 1:
        return _write(geometry.exterior_ring.coords[:-1])
    return str(geometry.wkt)


def _write(pairs: Any) -> str:
    return "; ".join(f"{x:.10g}, {y:.10g}" for x, y, *_ in pairs)


class ShapeField(forms.CharField):
    """A shape in face millimetres, typed or pasted."""

    widget = forms.Textarea(attrs={"rows": 3, "class": "figures", "spellcheck": "false"})

    def __init__(self, *, shape: Shape = Shape.POLYGON, **kwargs: Any) -> None:
        self.shape = shape
        kwargs.setdefault(
            "help_text",
            f"Pairs x, y in millimetres from the lower left corner of the face, divided by "
            f"semicolons ({EXAMPLES[shape]}); WKT and GeoJSON are read too.",
        )
        super().__init__(**kwargs)

    def clean(self, value: Any) -> GEOSGeometry | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            return read_shape(text, self.shape)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error

    def prepare_value(self, value: Any) -> Any:
        return write_shape(value) if isinstance(value, GEOSGeometry) else value

    def has_changed(self, initial: Any, data: Any) -> bool:
        return bool(self.prepare_value(initial) != data)


def refuse_outside(geometry: GEOSGeometry | None, face: Face) -> None:
    """Raise ValidationError, saying by how much, when a shape lies off its face."""
    if geometry is None:
        return
    outside = outside_mm(geometry, face)
    if outside > face.tolerance_mm:
        width, height = face.size_mm
        raise forms.ValidationError(
            f"The shape lies {outside:,.1f} mm outside {face} ({width:,.0f} × {height:,.0f} mm, "
            f"tolerance {face.tolerance_mm:g} mm). Check the numbers: x runs to the right and y "
            f"upwards from the lower left corner."
        )

"""Thin database functions in face millimetres, named once and used everywhere.

GeoDjango's own distance lookups and measures assume a geographic or metre-based reference system;
faces are planar millimetres (SRID 0).
"""

from django.contrib.gis.db.models import GeometryField
from django.contrib.gis.geos import GEOSGeometry, Polygon
from django.db.models import BooleanField, FloatField, Func, Value

from records.models.places import SRID


class AreaMm2(Func):
    """Area in mm²; 0 for points and lines."""

    function = "ST_Area"
    output_field = FloatField()


class LengthMm(Func):
    """Length of a line in mm; 0 for points and polygons."""

    function = "ST_Length"
    output_field = FloatField()


class DistanceMm(Func):
    """Least distance between two geometries in mm."""

    function = "ST_Distance"
    arity = 2
    output_field = FloatField()


class WithinMm(Func):
    """Whether two geometries come within so many mm of each other; uses the spatial index."""

    function = "ST_DWithin"
    arity = 3
    output_field = BooleanField()


class Intersects(Func):
    """Whether two geometries share a point; uses the spatial index."""

    function = "ST_Intersects"
    arity = 2
    output_field = BooleanField()


def literal(geometry: GEOSGeometry) -> Value:
    """A geometry of the caller as a database value in face millimetres."""
    geometry.srid = SRID
    return Value(geometry, output_field=GeometryField(srid=SRID))


def box(xmin: float, ymin: float, xmax: float, ymax: float) -> Polygon:
    """A rectangle in face millimetres."""
    polygon = Polygon.from_bbox((xmin, ymin, xmax, ymax))
    polygon.srid = SRID
    return polygon

"""Asking the database, once for all shapes of a file, whether they may lie where they are drawn."""

import re
from collections.abc import Mapping
from typing import Any

from django.contrib.gis.geos import (
    GEOSGeometry,
    LineString,
    MultiLineString,
    MultiPoint,
    MultiPolygon,
    Point,
    Polygon,
)
from django.db import connection

from records.models import Face
from records.models.places import SRID

# The same rule as the trigger on every spatial record (records.models.places.inside_face).
MISPLACED_SQL = """
    WITH face AS (
        SELECT outline, ST_Buffer(outline, tolerance_mm) AS allowed
        FROM records_face WHERE id = %s
    ), shape AS (
        SELECT position, ST_GeomFromWKB(wkb, 0) AS geometry
        FROM unnest(%s::int[], %s::bytea[]) AS given(position, wkb)
    ), checked AS (
        SELECT position, geometry, ST_IsValid(geometry) AS valid FROM shape
    )
    SELECT position,
           CASE WHEN NOT valid THEN ST_IsValidReason(geometry) END,
           CASE WHEN valid THEN (
               SELECT max(ST_Distance(point.geom, outline)) FROM ST_DumpPoints(geometry) point
           ) END
    FROM checked, face
    WHERE CASE WHEN valid
               THEN NOT ST_CoveredBy(geometry, outline) AND NOT ST_CoveredBy(geometry, allowed)
               ELSE true END
    ORDER BY position
"""
FAULTS = {
    "Self-intersection": "crosses itself",
    "Ring Self-intersection": "has a ring that touches or crosses itself",
    "Too few points in geometry component": "has too few different points",
    "Hole lies outside shell": "has a hole outside its edge",
    "Holes are nested": "has a hole within a hole",
    "Nested shells": "has parts that lie within each other",
    "Duplicate Rings": "has the same ring twice",
    "Interior is disconnected": "is cut apart by its holes",
}


def misplaced(face: Face, shapes: Mapping[int, GEOSGeometry]) -> dict[int, str]:
    """By the key of the shape, what is wrong: not valid, or outside the face; in one query."""
    if not shapes:
        return {}
    with connection.cursor() as cursor:
        cursor.execute(
            MISPLACED_SQL, [face.pk, list(shapes), [bytes(g.wkb) for g in shapes.values()]]
        )
        return {
            position: _invalid(reason) if reason else _outside(face, distance)
            for position, reason, distance in cursor.fetchall()
        }


def _invalid(reason: str) -> str:
    match = re.fullmatch(r"(?P<fault>.*?)(?:\[(?P<x>\S+) (?P<y>\S+)\])?", reason)
    assert match is not None
    words = FAULTS.get(match["fault"], f"is not valid ({match['fault']})")
    if match["x"] is None:
        return f"{words}."
    return f"{words} at {float(match['x']):.1f}, {float(match['y']):.1f} mm."


def _outside(face: Face, distance: float) -> str:
    width, height = face.size_mm
    return (
        f"lies {distance:.1f} mm outside the outline of the face ({width:.0f} × {height:.0f} mm, "
        f"tolerance {face.tolerance_mm:g} mm)."
    )


def build(geometry: Mapping[str, Any]) -> GEOSGeometry:
    """A geometry from the members `type` and `coordinates`, structurally sound; heights dropped."""
    coordinates = geometry["coordinates"]
    match geometry["type"]:
        case "Point":
            return Point(coordinates[0], coordinates[1], srid=SRID)
        case "LineString":
            return LineString(_flat(coordinates), srid=SRID)
        case "Polygon":
            return Polygon(*map(_flat, coordinates), srid=SRID)
        case "MultiPoint":
            return MultiPoint([Point(*c[:2]) for c in coordinates], srid=SRID)
        case "MultiLineString":
            return MultiLineString([LineString(_flat(line)) for line in coordinates], srid=SRID)
        case "MultiPolygon":
            return MultiPolygon([Polygon(*map(_flat, rings)) for rings in coordinates], srid=SRID)
        case other:
            raise ValueError(f"{other} is no type of geometry that a face can carry.")


def _flat(positions: list[list[float]]) -> list[tuple[float, float]]:
    return [(position[0], position[1]) for position in positions]

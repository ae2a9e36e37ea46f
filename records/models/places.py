"""Geometry on a face: valid, in face millimetres, inside the outline plus the face's tolerance.

The rules stand as database triggers; `outside_mm` asks the same question beforehand so that a form
can say by how much a shape lies outside.
"""

import pgtrigger
from django.contrib.gis.geos import GEOSGeometry
from django.db import connection, models

SRID = 0  # planar face millimetres, no geographic reference system


def inside_face(face_of_row: str, column: str = "geometry") -> pgtrigger.Trigger:
    """Trigger: NEW.<column> must be valid and lie on its face.

    `face_of_row` is an SQL scalar expression over NEW that yields the face's id.
    """
    return pgtrigger.Trigger(
        name=f"{column}_on_face",
        when=pgtrigger.Before,
        operation=pgtrigger.Insert | pgtrigger.UpdateOf(column),
        condition=pgtrigger.Condition(f'NEW."{column}" IS NOT NULL'),
        declare=[("outline", "geometry"), ("tolerance", "double precision")],
        func=f"""
            IF NOT ST_IsValid(NEW."{column}") OR ST_IsEmpty(NEW."{column}") THEN
                RAISE EXCEPTION 'The shape is not valid: %.', ST_IsValidReason(NEW."{column}")
                    USING ERRCODE = 'check_violation';
            END IF;
            SELECT f.outline, f.tolerance_mm INTO outline, tolerance
                FROM records_face f WHERE f.id = ({face_of_row});
            IF outline IS NOT NULL AND NOT ST_CoveredBy(NEW."{column}", outline)
               AND NOT ST_CoveredBy(NEW."{column}", ST_Buffer(outline, tolerance)) THEN
                RAISE EXCEPTION 'The shape lies % mm outside the outline of the face.',
                    round((SELECT max(ST_Distance(p.geom, outline))
                           FROM ST_DumpPoints(NEW."{column}") p)::numeric, 1)
                    USING ERRCODE = 'check_violation';
            END IF;
            RETURN NEW;
        """,
    )


OUTSIDE_SQL = """
    SELECT COALESCE(max(ST_Distance(p.geom, f.outline)), 0)
    FROM records_face f
    LEFT JOIN LATERAL ST_DumpPoints(ST_SetSRID(%s::geometry, 0)) p ON true
    WHERE f.id = %s
"""


def outside_mm(geometry: GEOSGeometry, face: models.Model) -> float:
    """How far the farthest vertex lies outside the face's outline, in mm (0: inside)."""
    with connection.cursor() as cursor:
        cursor.execute(OUTSIDE_SQL, [geometry.wkt, face.pk])
        (distance,) = cursor.fetchone()
    return float(distance)

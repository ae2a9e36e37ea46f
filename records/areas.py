"""How much of a face each kind of trace covers, measured by the database in face millimetres.

Overlaps count once: areas and lengths are those of the union of the shapes. The uncertainty of an
area is the length of its traces' edges times how far each edge may be off
(`Sighting.uncertainty_mm`), summed without assuming that errors cancel; that of a length is the
same distance at both ends of each line. Where a trace is clipped to a zone, only its own edge
counts, not the zone's border.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db import connection

WHOLE_FACE_SHARE = 0.95  # of a face: from here on a coat counts as covering all of it


@dataclass(frozen=True)
class Mapped:
    """A trace to measure; `uncertainty_mm` is None where it was never stated."""

    trace: int
    certain: bool
    uncertainty_mm: float | None


@dataclass(frozen=True)
class Extent:
    """What the traces of one kind (or one family: `kind` is None) amount to.

    `zone` is None for the whole face. A family leaves out what covers the whole face, such as a
    varnish, beside which nothing else would count. `uncertain` tells that some trace has no
    stated uncertainty, so that the two uncertainties are too small.
    """

    face: int
    zone: int | None
    family: str
    kind: int | None
    certain: bool
    count: int
    area_mm2: float
    area_uncertainty_mm2: float
    length_mm: float
    length_uncertainty_mm: float
    uncertain: bool


MEASURE = """
WITH mapped AS (
    SELECT t.id, t.face_id, t.kind_id, k.family, m.certain, m.uncertainty_mm, t.shape,
        ST_Area(t.shape) >= %s * ST_Area(f.outline) AS is_whole_face
    FROM unnest(%s::bigint[], %s::boolean[], %s::double precision[])
        AS m (id, certain, uncertainty_mm)
    JOIN records_trace t ON t.id = m.id
    JOIN records_tracekind k ON k.id = t.kind_id
    JOIN records_face f ON f.id = t.face_id
    WHERE t.shape IS NOT NULL
), part AS (
    SELECT m.*, NULL::bigint AS zone_id, m.shape AS inside, ST_Boundary(m.shape) AS edge
    FROM mapped m
    UNION ALL
    SELECT m.*, z.id, ST_Intersection(m.shape, z.geometry),
        ST_Intersection(ST_Boundary(m.shape), z.geometry)
    FROM mapped m
    JOIN records_zone z ON z.face_id = m.face_id AND ST_Intersects(m.shape, z.geometry)
    WHERE z.withdrawn_at IS NULL AND ST_Dimension(z.geometry) = 2
), counted AS (
    SELECT part.*, kind_id AS of_kind FROM part
    UNION ALL
    SELECT part.*, NULL FROM part WHERE NOT is_whole_face
)
SELECT face_id, zone_id, family, of_kind, certain,
    count(*),
    COALESCE(ST_Area(ST_Union(ST_CollectionExtract(inside, 3))), 0),
    COALESCE(sum(ST_Length(edge) * uncertainty_mm) FILTER (WHERE ST_Dimension(shape) = 2), 0),
    COALESCE(ST_Length(ST_Union(ST_CollectionExtract(inside, 2))), 0),
    COALESCE(sum(2 * ST_NumGeometries(shape) * uncertainty_mm)
        FILTER (WHERE ST_Dimension(shape) = 1), 0),
    bool_or(uncertainty_mm IS NULL AND ST_Dimension(shape) > 0)
FROM counted
WHERE ST_Dimension(inside) = ST_Dimension(shape) AND NOT ST_IsEmpty(inside)
GROUP BY face_id, zone_id, family, of_kind, certain
"""


def measure(traces: Sequence[Mapped]) -> list[Extent]:
    """Extents by face, zone, family, kind and certainty, in one query."""
    if not traces:
        return []
    with connection.cursor() as cursor:
        cursor.execute(
            MEASURE,
            [
                WHOLE_FACE_SHARE,
                [m.trace for m in traces],
                [m.certain for m in traces],
                [m.uncertainty_mm for m in traces],
            ],
        )
        return [Extent(*row) for row in cursor.fetchall()]

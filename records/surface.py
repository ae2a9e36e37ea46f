"""What is drawn on a face, asked of the database: one query a layer, answered as GeoJSON text.

Coordinates are face millimetres. A map asks for a window and the size of its pixels; shapes come
simplified to that size. Where a window holds more traces than a map can show, the largest come as
shapes and the rest gathered into counted points, so that 100,000 traces answer like a hundred.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import connection
from django.db.models import Exists, OuterRef, Q, QuerySet

from records.models import Campaign, Face, Sighting, Trace, TraceKind, Zone
from records.spatial import Intersects, literal

MOST_SHAPES = 2500  # drawn as themselves in one window
CELL_PX = 28  # side of the squares that the rest are gathered into, in pixels of the map


@dataclass(frozen=True)
class Window:
    """A rectangle of a face in mm, and how many mm one pixel of the map shows."""

    xmin: float
    ymin: float
    xmax: float
    ymax: float
    mm_per_px: float


@dataclass(frozen=True)
class Choice:
    """Which traces are wanted; what is empty does not narrow.

    With a campaign (or one of its phases) the shapes are those drawn then; without one, those of
    the latest sighting.
    """

    families: Iterable[str] = ()
    kind: TraceKind | None = None
    zone: Zone | None = None
    campaign: Campaign | None = None
    words: str = ""

    def of(self, face: Face) -> QuerySet[Trace]:
        """The standing traces of a face that are wanted."""
        wanted = Q(face=face, withdrawn_at__isnull=True)
        if self.families:
            wanted &= Q(kind__family__in=list(self.families))
        if self.kind is not None:
            wanted &= Q(kind=self.kind)
        if self.zone is not None:
            wanted &= Q(Intersects("shape", literal(self.zone.geometry)))
        if self.campaign is not None:
            looked = Q(examination__campaign=self.campaign) | Q(
                examination__campaign__parent=self.campaign
            )
            looked |= Q(image__examination__campaign=self.campaign) | Q(
                image__examination__campaign__parent=self.campaign
            )
            sightings = Sighting.objects.filter(looked, trace=OuterRef("pk"), withdrawn_at=None)
            wanted &= Q(Exists(sightings))
        for word in self.words.split():
            wanted &= (
                Q(number__iexact=word)
                | Q(label__icontains=word)
                | Q(description__icontains=word)
                | Q(kind__label__icontains=word)
            )
        return Trace.objects.filter(wanted)


NOW = (
    "SELECT t.id, t.number, t.label, t.kind_id, t.shape, NULL::text AS outcome FROM records_trace t"
)

THEN = """
    SELECT DISTINCT ON (t.id) t.id, t.number, t.label, t.kind_id,
        COALESCE(s.geometry, t.shape) AS shape, s.outcome::text AS outcome
    FROM records_trace t
    JOIN records_sighting s ON s.trace_id = t.id AND s.withdrawn_at IS NULL
    LEFT JOIN records_image i ON i.id = s.image_id
    JOIN records_examination e ON e.id = COALESCE(s.examination_id, i.examination_id)
    JOIN records_campaign c ON c.id = e.campaign_id AND %(campaign)s IN (c.id, c.parent_id)
"""
THEN_LATEST_FIRST = """
    ORDER BY t.id, (s.geometry IS NULL), e.date_latest DESC NULLS LAST, s.id DESC
"""

TRACES = """
WITH chosen AS ({chosen}),
ranked AS (
    SELECT c.*, k.family, k.short, row_number() OVER (
        ORDER BY GREATEST(
            ST_XMax(c.shape) - ST_XMin(c.shape), ST_YMax(c.shape) - ST_YMin(c.shape)
        ) DESC, c.id
    ) AS rank
    FROM chosen c JOIN records_tracekind k ON k.id = c.kind_id
    WHERE c.shape && ST_MakeEnvelope(%(xmin)s, %(ymin)s, %(xmax)s, %(ymax)s, 0)
),
drawn AS (
    SELECT json_build_object(
        'type', 'Feature', 'id', r.id,
        'geometry', ST_AsGeoJSON(ST_Affine(
            ST_SimplifyPreserveTopology(r.shape, %(mm_per_px)s / 2.0),
            %(flip)s, 0, 0, 1, %(shift)s, 0), 2)::json,
        'properties', json_build_object(
            'number', r.number, 'label', r.label, 'kind', r.kind_id, 'family', r.family,
            'short', r.short,
            'state', CASE WHEN ended.removed THEN 'not_seen'
                ELSE COALESCE(r.outcome, latest.outcome, 'unclear') END)
    ) AS feature
    FROM ranked r
    -- The last word of a trace's sightings, asked only for those that are drawn.
    LEFT JOIN LATERAL (
        SELECT s.outcome::text AS outcome FROM records_sighting s
        LEFT JOIN records_examination e ON e.id = s.examination_id
        LEFT JOIN records_image i ON i.id = s.image_id
        WHERE s.trace_id = r.id AND s.withdrawn_at IS NULL
        ORDER BY COALESCE(e.date_latest, i.date_latest, i.date_earliest) DESC NULLS LAST, s.id DESC
        LIMIT 1
    ) latest ON r.outcome IS NULL
    LEFT JOIN LATERAL (
        SELECT true AS removed FROM records_effect f
        WHERE f.trace_id = r.id AND f.kind = 'removed' AND f.withdrawn_at IS NULL LIMIT 1
    ) ended ON r.outcome IS NULL
    WHERE %(most)s IS NULL OR r.rank <= %(most)s
),
gathered AS (
    SELECT json_build_object(
        'type', 'Feature',
        'geometry', ST_AsGeoJSON(
            ST_Affine(ST_Point(avg(x), avg(y), 0), %(flip)s, 0, 0, 1, %(shift)s, 0), 2)::json,
        'properties', json_build_object('family', family, 'many', count(*))
    ) AS feature
    FROM (
        SELECT family, (ST_XMin(shape) + ST_XMax(shape)) / 2 AS x,
            (ST_YMin(shape) + ST_YMax(shape)) / 2 AS y
        FROM ranked WHERE rank > %(most)s
    ) rest
    GROUP BY family, floor(x / %(cell)s), floor(y / %(cell)s)
)
SELECT json_build_object('type', 'FeatureCollection',
    'features', COALESCE((SELECT json_agg(feature) FROM (
        SELECT feature FROM drawn UNION ALL SELECT feature FROM gathered) every), '[]'::json),
    'found', (SELECT count(*) FROM ranked))::text
"""

COLLECTION = """
SELECT json_build_object('type', 'FeatureCollection', 'features', COALESCE(json_agg(
    json_build_object('type', 'Feature', 'id', id,
        'geometry', ST_AsGeoJSON(ST_Affine(shape, %(flip)s, 0, 0, 1, %(shift)s, 0), 2)::json,
        'properties', properties)), '[]'::json))::text
FROM ({rows}) AS rows
"""

PLACES = {
    "zones": """
        SELECT z.id, z.geometry AS shape, json_build_object('name', z.name) AS properties
        FROM records_zone z WHERE z.face_id = %(face)s AND z.withdrawn_at IS NULL
    """,
    "points": """
        SELECT p.id, p.geometry AS shape,
            json_build_object('number', p.number, 'invasive', p.invasive) AS properties
        FROM analyses_samplingpoint p WHERE p.face_id = %(face)s AND p.withdrawn_at IS NULL
    """,
    "areas": """
        SELECT a.id, COALESCE(a.geometry, f.outline) AS shape,
            json_build_object('name', t.title, 'standing', t.standing) AS properties
        FROM records_treatmentarea a
        JOIN records_treatment t ON t.id = a.treatment_id
        JOIN records_face f ON f.id = a.face_id
        WHERE a.face_id = %(face)s AND a.withdrawn_at IS NULL AND t.withdrawn_at IS NULL
    """,
}


def whole(face: Face) -> Window:
    """A window that holds everything on a face, in full detail."""
    xmin, ymin, xmax, ymax = face.outline.buffer(face.tolerance_mm).extent
    return Window(xmin, ymin, xmax, ymax, mm_per_px=1e-6)


def traces_geojson(
    face: Face,
    window: Window,
    choice: Choice | None = None,
    *,
    behind: bool = False,
    most: int | None = MOST_SHAPES,
) -> str:
    """The traces of a face in a window, as GeoJSON text with `found`, their whole number.

    `behind` tells them as seen from the other side: the window and the answer are mirrored.
    Of more than `most` (None: of any number) the rest is gathered: a feature with `many` stands
    for that many traces.
    """
    choice = choice or Choice()
    wanted, values = choice.of(face).order_by().values("pk").query.sql_with_params()
    ids = connection.ops.compose_sql(wanted, values).replace("%", "%%")  # type: ignore[attr-defined]
    opening, close = (NOW, "") if choice.campaign is None else (THEN, THEN_LATEST_FIRST)
    xmin, xmax = window.xmin, window.xmax
    if behind:
        width = face.size_mm[0]
        xmin, xmax = width - xmax, width - xmin
    return _ask(
        TRACES.format(chosen=f"{opening} WHERE t.id IN ({ids}) {close}"),
        _placed(face, behind)
        | {
            "xmin": xmin,
            "ymin": window.ymin,
            "xmax": xmax,
            "ymax": window.ymax,
            "mm_per_px": window.mm_per_px,
            "cell": window.mm_per_px * CELL_PX,
            "most": most,
            "campaign": choice.campaign.pk if choice.campaign else None,
        },
    )


def places_geojson(face: Face, what: str, *, behind: bool = False) -> str:
    """The zones, sampling points or treated areas of a face, as GeoJSON text.

    `what` is a key of `PLACES`.
    """
    given = _placed(face, behind) | {"face": face.pk}
    return _ask(COLLECTION.format(rows=PLACES[what]), given)


def _placed(face: Face, behind: bool) -> dict[str, Any]:
    """What x goes through on its way out: nothing, or the mirror at half the width."""
    return {"flip": -1, "shift": face.size_mm[0]} if behind else {"flip": 1, "shift": 0}


def _ask(sql: str, given: dict[str, Any]) -> str:
    with connection.cursor() as cursor:
        cursor.execute(sql, given)
        (text,) = cursor.fetchone()
    return str(text)

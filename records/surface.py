"""What is drawn on a face, asked of the database: one query a layer, answered as GeoJSON text.

Coordinates are face millimetres. A map asks for a window and the size of its pixels; shapes come
simplified to that size. Where a window holds more traces than a map can show, the largest come as
shapes and the rest gathered into counted points, so that 100,000 traces answer like a hundred.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db import connection
from django.db.models import Q, QuerySet

from records.models import Campaign, Examination, Face, Image, Sighting, Trace, TraceKind, Zone
from records.spatial import Intersects, literal

MOST_SHAPES = 2500  # drawn as themselves in one window
ANY_NUMBER = 2**62
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
        if self.campaign is None:
            return self.whenever(face)
        of_campaign = Q(campaign=self.campaign) | Q(campaign__parent=self.campaign)
        looks = Examination.objects.filter(of_campaign)
        images = Image.objects.filter(examination__in=looks)
        seen = Sighting.objects.filter(
            Q(examination__in=looks) | Q(image__in=images), withdrawn_at=None
        )
        # The looks are few: found first, they give their traces in one pass over the sightings.
        return self.whenever(face).filter(pk__in=seen.values("trace"))

    def whenever(self, face: Face) -> QuerySet[Trace]:
        """The same, whichever campaign looked at them."""
        wanted = Q(face=face, withdrawn_at__isnull=True)
        if self.families:
            wanted &= Q(kind__family__in=list(self.families))
        if self.kind is not None:
            wanted &= Q(kind=self.kind)
        if self.zone is not None:
            wanted &= Q(Intersects("shape", literal(self.zone.geometry)))
        for word in self.words.split():
            wanted &= (
                Q(number__iexact=word)
                | Q(label__icontains=word)
                | Q(description__icontains=word)
                | Q(kind__label__icontains=word)
            )
        return Trace.objects.filter(wanted)


# What is wanted in a window, in few bytes each: which shape it is and the box around it, which is
# stored with every geometry.
WINDOW = "ST_MakeEnvelope(%(xmin)s, %(ymin)s, %(xmax)s, %(ymax)s, 0)"
NOW = """
    SELECT t.id, t.kind_id, NULL::bigint AS sighting_id, NULL::text AS outcome,
        box2d(t.shape) AS box
    FROM records_trace t
    WHERE t.id IN ({ids}) AND t.shape && {window}
"""
THEN = """
    SELECT DISTINCT ON (t.id) t.id, t.kind_id, s.id AS sighting_id, s.outcome::text AS outcome,
        box2d(COALESCE(s.geometry, t.shape)) AS box
    FROM (
        SELECT e.id, e.date_latest FROM records_examination e
        JOIN records_campaign c ON c.id = e.campaign_id AND %(campaign)s IN (c.id, c.parent_id)
    ) e
    JOIN records_sighting s ON s.withdrawn_at IS NULL AND e.id = COALESCE(
        s.examination_id, (SELECT i.examination_id FROM records_image i WHERE i.id = s.image_id))
    JOIN records_trace t ON t.id = s.trace_id
    WHERE t.id IN ({ids}) AND COALESCE(s.geometry, t.shape) && {window}
    ORDER BY t.id, (s.geometry IS NULL), e.date_latest DESC NULLS LAST, s.id DESC
"""

TRACES = """
WITH chosen AS MATERIALIZED (
    SELECT id, kind_id, sighting_id, outcome,
        GREATEST(ST_XMax(box) - ST_XMin(box), ST_YMax(box) - ST_YMin(box)) AS size,
        (ST_XMin(box) + ST_XMax(box)) / 2 AS x, (ST_YMin(box) + ST_YMax(box)) / 2 AS y
    FROM ({chosen}) wanted
),
largest AS (SELECT * FROM chosen ORDER BY size DESC, id LIMIT %(most)s),
drawn AS (
    SELECT json_build_object(
        'type', 'Feature', 'id', r.id,
        'geometry', ST_AsGeoJSON(ST_Affine(
            ST_SimplifyPreserveTopology(COALESCE(s.geometry, t.shape), %(mm_per_px)s / 2.0),
            %(flip)s, 0, 0, 1, %(shift)s, 0), 2)::json,
        'properties', json_build_object(
            'number', t.number, 'label', t.label, 'kind', r.kind_id, 'family', k.family,
            'short', k.short,
            'state', CASE WHEN ended.removed THEN 'not_seen'
                ELSE COALESCE(r.outcome, latest.outcome, 'unclear') END)
    ) AS feature
    FROM largest r
    JOIN records_trace t ON t.id = r.id
    JOIN records_tracekind k ON k.id = r.kind_id
    LEFT JOIN records_sighting s ON s.id = r.sighting_id
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
),
gathered AS (
    SELECT json_build_object(
        'type', 'Feature',
        'geometry', ST_AsGeoJSON(
            ST_Affine(ST_Point(avg(x), avg(y), 0), %(flip)s, 0, 0, 1, %(shift)s, 0), 2)::json,
        'properties', json_build_object('family', family, 'many', count(*))
    ) AS feature
    FROM (SELECT * FROM chosen ORDER BY size DESC, id OFFSET %(most)s) rest
    JOIN records_tracekind k ON k.id = rest.kind_id
    GROUP BY family, floor(x / %(cell)s), floor(y / %(cell)s)
)
SELECT json_build_object('type', 'FeatureCollection',
    'features', COALESCE((SELECT json_agg(feature) FROM (
        SELECT feature FROM drawn UNION ALL SELECT feature FROM gathered) every), '[]'::json),
    'found', (SELECT count(*) FROM chosen))::text
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
    wanted, values = choice.whenever(face).order_by().values("pk").query.sql_with_params()
    ids = connection.ops.compose_sql(wanted, values).replace("%", "%%")  # type: ignore[attr-defined]
    chosen = (NOW if choice.campaign is None else THEN).format(ids=ids, window=WINDOW)
    xmin, xmax = window.xmin, window.xmax
    if behind:
        width = face.size_mm[0]
        xmin, xmax = width - xmax, width - xmin
    return _ask(
        TRACES.format(chosen=chosen),
        _placed(face, behind)
        | {
            "xmin": xmin,
            "ymin": window.ymin,
            "xmax": xmax,
            "ymax": window.ymax,
            "mm_per_px": window.mm_per_px,
            "cell": window.mm_per_px * CELL_PX,
            "most": ANY_NUMBER if most is None else most,
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

"""Areas and lengths measured by the database, against shapely."""

import math
import random
from itertools import groupby

import pytest
import shapely

from records.areas import Extent, Mapped, measure
from records.choices import Family
from records.models import Face, Zone
from tests import builders
from tests.builders import recorded
from tests.integration.reports.conftest import box

pytestmark = pytest.mark.django_db


def blob(chance: random.Random, width: float, height: float) -> shapely.Polygon:
    """A star-shaped polygon somewhere on the face."""
    radius = chance.uniform(5, 60)
    x, y = chance.uniform(70, width - 70), chance.uniform(70, height - 70)
    turns = [math.tau * n / 24 for n in range(24)]
    reach = [radius * chance.uniform(0.5, 1) for _ in turns]
    return shapely.Polygon(
        [(x + r * math.cos(t), y + r * math.sin(t)) for r, t in zip(reach, turns, strict=True)]
    )


def one(extents: list[Extent], **where: object) -> Extent:
    (found,) = [e for e in extents if all(getattr(e, k) == v for k, v in where.items())]
    return found


def test_areas_by_kind_and_zone_agree_with_shapely(
    face_with_zones: tuple[Face, Zone, Zone],
) -> None:
    face, upper, left = face_with_zones
    chance = random.Random(11)
    loss = builders.trace_kind("loss", short="LOS")
    look = builders.examination(face.object)
    shapes, mapped = [], []
    for _ in range(60):
        shape = blob(chance, 1000, 600)
        trace = builders.trace(face, loss)
        builders.sighting(trace, shape.wkt, examination=look)
        shapes.append(shape)
        mapped.append(Mapped(trace.pk, True, 0.5))
    extents = measure(mapped)
    union = shapely.union_all(shapes)
    places = {
        None: shapely.box(0, 0, 1000, 600),
        upper.pk: shapely.box(0, 300, 1000, 600),
        left.pk: shapely.box(0, 0, 500, 600),
    }
    for zone, place in places.items():
        measured = one(extents, zone=zone, kind=loss.pk)
        edge = sum(shape.exterior.intersection(place).length for shape in shapes)
        assert measured.area_mm2 == pytest.approx(union.intersection(place).area, rel=1e-9)
        assert measured.area_uncertainty_mm2 == pytest.approx(0.5 * edge, rel=1e-9)
        assert measured.count == sum(shape.intersection(place).area > 0 for shape in shapes)


def test_lengths_count_what_runs_together_once(face_with_zones: tuple[Face, Zone, Zone]) -> None:
    face, upper, _ = face_with_zones
    crack = builders.trace_kind("crack", shape="line", short="CRK")
    lines = ["LINESTRING(100 100, 100 500)", "LINESTRING(100 400, 100 550)"]
    mapped = []
    for line in lines:
        trace = builders.trace(face, crack)
        builders.sighting(trace, line)
        mapped.append(Mapped(trace.pk, True, 0.5))
    extents = measure(mapped)
    assert one(extents, zone=None, kind=crack.pk).length_mm == pytest.approx(450)
    assert one(extents, zone=None, kind=crack.pk).length_uncertainty_mm == pytest.approx(2)
    assert one(extents, zone=upper.pk, kind=crack.pk).length_mm == pytest.approx(250)


def test_what_only_touches_a_zone_is_not_in_it(face_with_zones: tuple[Face, Zone, Zone]) -> None:
    face, _, _ = face_with_zones
    trace = builders.trace(face, builders.trace_kind("loss", short="LOS"))
    builders.sighting(trace, box(500, 100, 600, 300))
    extents = measure([Mapped(trace.pk, True, None)])
    assert {e.zone for e in extents} == {None}


def test_an_unstated_uncertainty_is_told_and_not_taken_for_none(
    face_with_zones: tuple[Face, Zone, Zone],
) -> None:
    face, _, _ = face_with_zones
    kind = builders.trace_kind("loss", short="LOS")
    known, unknown = builders.trace(face, kind), builders.trace(face, kind)
    builders.sighting(known, box(10, 10, 20, 20))
    builders.sighting(unknown, box(30, 10, 40, 20))
    extents = measure([Mapped(known.pk, True, 0.5), Mapped(unknown.pk, True, None)])
    assert one(extents, zone=None, kind=kind.pk).uncertain


def test_a_coat_over_the_whole_face_does_not_drown_its_family(
    face_with_zones: tuple[Face, Zone, Zone],
) -> None:
    face, _, _ = face_with_zones
    varnish = builders.trace_kind("varnish", Family.INTERVENTION, short="VAR")
    fill = builders.trace_kind("fill", Family.INTERVENTION, short="FIL")
    coat, small = builders.trace(face, varnish), builders.trace(face, fill)
    builders.sighting(coat, box(0, 0, 1000, 600))
    builders.sighting(small, box(10, 10, 30, 20))
    extents = measure([Mapped(coat.pk, True, 0.5), Mapped(small.pk, True, 0.5)])
    assert one(extents, zone=None, kind=None).area_mm2 == pytest.approx(200)
    assert one(extents, zone=None, kind=varnish.pk).area_mm2 == pytest.approx(600_000)


def test_certain_and_possible_traces_are_never_added_up(
    face_with_zones: tuple[Face, Zone, Zone],
) -> None:
    face, _, _ = face_with_zones
    kind = builders.trace_kind("loss", short="LOS")
    sure, unsure = builders.trace(face, kind), builders.trace(face, kind)
    builders.sighting(sure, box(10, 10, 20, 20))
    builders.sighting(unsure, box(15, 10, 25, 20))
    extents = measure([Mapped(sure.pk, True, 0.5), Mapped(unsure.pk, False, 0.5)])
    by_certainty = {
        certain: [e.area_mm2 for e in group]
        for certain, group in groupby(
            sorted((e for e in extents if e.kind and not e.zone), key=lambda e: e.certain),
            key=lambda e: e.certain,
        )
    }
    assert by_certainty == {False: [pytest.approx(100)], True: [pytest.approx(100)]}


@pytest.fixture
def face_with_zones() -> tuple[Face, Zone, Zone]:
    """A face of 1000 × 600 mm, its upper half and its left half."""
    face = builders.face()
    upper = recorded(Zone, face=face, name="Upper half", geometry=box(0, 300, 1000, 600))
    left = recorded(Zone, face=face, name="Left half", geometry=box(0, 0, 500, 600))
    return face, upper, left

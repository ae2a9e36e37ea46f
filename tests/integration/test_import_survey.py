"""Importing a survey as GeoJSON: dry run, all or nothing, later surveys, measures."""

import io
import json
import math
from pathlib import Path
from typing import Any

import pytest
import shapely
from django.contrib.gis.geos import GEOSGeometry
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext
from shapely.geometry import shape as shapely_shape

from records.choices import Role, Seen
from records.imports import Look, Refused, import_survey, plan_survey
from records.models import Campaign, Examination, Face, Sighting, Technique, Trace, User
from tests import builders

pytestmark = pytest.mark.django_db

WIDTH, HEIGHT, TOLERANCE = 1000.0, 600.0, 5.0


@pytest.fixture
def face() -> Face:
    builders.trace_kind("crack", label="Crack", short="CRK", shape="line")
    builders.trace_kind(
        "paint_loss",
        label="Paint loss",
        short="PLO",
        translations={"de": {"label": "Malschichtverlust"}},
    )
    return builders.face(
        builders.canvas(accession_number="1999.12"), WIDTH, HEIGHT, tolerance_mm=TOLERANCE
    )


@pytest.fixture
def look(face: Face) -> Look:
    technique = builders.term(Technique, "visual_inspection", group="surface")
    return Look(face, "Survey 2019", technique, "2019-05-14")


@pytest.fixture
def conservator() -> User:
    return builders.user(Role.CONSERVATOR)


def square(x: float, y: float, side: float = 10) -> dict[str, Any]:
    ring = [[x, y], [x + side, y], [x + side, y + side], [x, y + side], [x, y]]
    return {"type": "Polygon", "coordinates": [ring]}


def line(*points: tuple[float, float]) -> dict[str, Any]:
    return {"type": "LineString", "coordinates": [list(p) for p in points]}


def feature(number: Any, geometry: Any = None, **properties: Any) -> dict[str, Any]:
    return {
        "type": "Feature",
        "properties": {"number": number, **properties},
        "geometry": geometry,
    }


def survey(*features: Any, **members: Any) -> bytes:
    return json.dumps({"type": "FeatureCollection", "features": list(features), **members}).encode()


GOOD = survey(
    feature(1, line((100, 100), (180, 160)), kind="crack", label="crack by the mast"),
    feature("2a", square(300, 200), kind="Malschichtverlust", uncertainty_mm=0.5, note="fresh"),
)


def counted() -> tuple[int, int, int, int]:
    return (
        Trace.objects.count(),
        Sighting.objects.count(),
        Campaign.objects.count(),
        Examination.objects.count(),
    )


def test_it_works(look: Look, conservator: User) -> None:
    plan = import_survey(GOOD, look, user=conservator, why="Survey of the spring")
    assert dict(plan.summary)["new traces"] == 2
    crack = Trace.objects.get(face=look.face, number="1")
    assert crack.kind.code == "crack"
    assert crack.label == "crack by the mast"
    assert crack.shape is not None
    assert crack.shape.coords == ((100.0, 100.0), (180.0, 160.0))
    loss = Sighting.objects.get(trace__number="2a")
    assert loss.trace.kind.code == "paint_loss"
    assert loss.uncertainty_mm == 0.5
    assert loss.note == "fresh"
    assert loss.examination is not None
    assert loss.examination.date == "2019-05-14"
    assert loss.examination.campaign.title == "Survey 2019"


def test_the_import_is_one_change_with_who_and_why(look: Look, conservator: User) -> None:
    import_survey(GOOD, look, user=conservator, why="Survey of the spring")
    versions = [
        version
        for trace in Trace.objects.filter(face=look.face)
        for version in trace.versions.select_related("pgh_context")  # type: ignore[attr-defined]
    ]
    assert len(versions) == 2
    assert {v.pgh_context_id for v in versions} == {versions[0].pgh_context_id}
    assert versions[0].pgh_context.metadata["why"] == "Survey of the spring"
    assert versions[0].pgh_context.metadata["user"] == conservator.pk


def test_a_dry_run_changes_nothing(look: Look) -> None:
    before = counted()
    plan = plan_survey(GOOD, look)
    assert plan.is_ready
    assert counted() == before


def test_one_bad_feature_stops_all(look: Look, conservator: User) -> None:
    bad = survey(
        feature(1, square(10, 10), kind="paint_loss"), feature(2, square(10, 10), kind="crak")
    )
    before = counted()
    with pytest.raises(Refused) as refused:
        import_survey(bad, look, user=conservator, why="Survey of the spring")
    assert list(map(str, refused.value.problems)) == [
        "Feature 2, property kind: “crak” is no kind of trace; nearest: crack."
    ]
    assert counted() == before


def test_every_problem_is_listed_in_the_order_of_the_file(look: Look) -> None:
    bow_tie = {"type": "Polygon", "coordinates": [[[0, 0], [9, 9], [9, 0], [0, 9], [0, 0]]]}
    plan = plan_survey(
        survey(
            feature(1, square(995, 590, 20), kind="crack"),
            feature(2, bow_tie, kind="nowhere near a kind"),
            feature(None, square(10, 10), kind="crack"),
            feature(4, None, kind="crack"),
            feature(5, square(10, 10)),
            feature(6, None, kind="crack", outcome="not seen"),
            feature(7, {"type": "Circle"}, kind="crack"),
            feature(7, square(10, 10), kind="crack"),
            feature(8, square(10, 10), kind="crack", outcome="sene", uncertainty_mm=-1),
            {"type": "Blob"},
        ),
        look,
    )
    told = list(map(str, plan.problems))
    assert told == [
        "Feature 1, geometry: lies 18.0 mm outside the outline of the face (1000 × 600 mm, "
        "tolerance 5 mm).",
        "Feature 2, geometry: crosses itself at 4.5, 4.5 mm.",
        "Feature 2, property kind: “nowhere near a kind” is no kind of trace.",
        "Feature 3, property number: is missing; every trace has its number.",
        "Feature 4, geometry: is missing; a new trace has a place.",
        "Feature 5, property kind: is missing; a new trace needs its kind.",
        "Feature 6, property outcome: says that trace 6 was not seen, but this face has no trace "
        "of that number.",
        "Feature 7, geometry: is none of Point, MultiPoint, LineString, MultiLineString, Polygon, "
        "MultiPolygon.",
        "Feature 8, property number: “7” stands in feature 7 already. Join the parts of one trace "
        "to one feature with a Multi… geometry.",
        "Feature 9, property outcome: “sene” is not one of seen, not_seen, unclear; nearest: seen.",
        "Feature 9, property uncertainty_mm: “-1” is no number of millimetres, such as 0.5.",
        "Feature 10: is not a GeoJSON Feature.",
    ]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"{", "Line 1, character 2: is not JSON"),
        (b'{"type": "Feature"}', "File: is not a GeoJSON FeatureCollection."),
        ('{"a": "\u00e9"}'.encode("latin-1"), "File: is not UTF-8 text"),
        (survey(), "Member features: is empty"),
        (survey(crs={"type": "name"}), "Member crs: names a geographic reference system"),
        (survey(feature(1, line((0, 0)), kind="crack")), "fewer than two points"),
        (
            survey(
                feature(1, {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 1]]]})
            ),
            "a ring that is not closed",
        ),
        (
            survey(feature(1, {"type": "Point", "coordinates": ["1", 2]}, kind="crack")),
            "not a pair of numbers",
        ),
        (b'{"type": "FeatureCollection", "features": [NaN]}', "NaN is no number"),
    ],
)
def test_a_malformed_file_is_told_in_words(look: Look, data: bytes, words: str) -> None:
    assert words in "\n".join(map(str, plan_survey(data, look).problems))


def test_an_unknown_property_is_a_remark_and_does_not_stop(look: Look) -> None:
    plan = plan_survey(survey(feature(1, square(1, 1), kind="crack", nots="x")), look)
    assert plan.is_ready
    assert list(map(str, plan.remarks)) == ["Feature 1, property nots: is not read; nearest: note."]


def test_a_byte_order_mark_and_heights_are_taken_kindly(look: Look) -> None:
    high = {"type": "Point", "coordinates": [5, 6, 7]}
    plan = plan_survey(b"\xef\xbb\xbf" + survey(feature(1, high, kind="crack")), look)
    assert plan.problems == []
    assert plan.sightings[0].geometry is not None
    assert plan.sightings[0].geometry.coords == (5.0, 6.0)


def test_a_later_survey_adds_sightings_to_the_traces_known_by_number(
    look: Look, conservator: User
) -> None:
    import_survey(GOOD, look, user=conservator, why="Survey 2019")
    later = Look(look.face, "Survey 2024", look.technique, "2024-04")
    plan = import_survey(
        survey(
            feature(1, line((100, 100), (200, 175))),
            feature("2a", None, outcome="not_seen", note="filled"),
            feature(3, square(500, 500), kind="PLO"),
        ),
        later,
        user=conservator,
        why="Survey 2024",
    )
    assert [number for _words, number in plan.summary] == [1, 2, 0]
    assert Trace.objects.filter(face=look.face).count() == 3
    crack = Trace.objects.get(face=look.face, number="1")
    assert crack.sightings.count() == 2
    assert crack.shape is not None
    assert crack.shape.coords[-1] == (200.0, 175.0)
    assert Trace.objects.get(number="2a").sightings.get(outcome=Seen.NOT_SEEN).note == "filled"


def test_importing_the_same_file_again_changes_nothing(look: Look, conservator: User) -> None:
    import_survey(GOOD, look, user=conservator, why="Survey 2019")
    before = counted()
    plan = import_survey(GOOD, look, user=conservator, why="by mistake, again")
    assert plan.unchanged == 2
    assert counted() == before


def test_the_same_examination_cannot_be_made_to_say_something_else(
    look: Look, conservator: User
) -> None:
    import_survey(GOOD, look, user=conservator, why="Survey 2019")
    plan = plan_survey(survey(feature(1, line((1, 1), (2, 2)))), look)
    assert "speaks of trace 1 already, differently" in str(plan.problems[0])


def test_a_number_used_for_another_kind_is_a_problem(look: Look, conservator: User) -> None:
    import_survey(GOOD, look, user=conservator, why="Survey 2019")
    later = Look(look.face, "Survey 2024", look.technique, "2024-04")
    plan = plan_survey(survey(feature(1, square(1, 1), kind="paint loss")), later)
    assert list(map(str, plan.problems)) == [
        "Feature 1, property kind: trace 1 of this face is recorded as “Crack”, "
        "not as “Paint loss”."
    ]


def test_a_signed_examination_takes_no_more(look: Look, conservator: User) -> None:
    plan = import_survey(GOOD, look, user=conservator, why="Survey 2019")
    assert plan.examination is not None
    plan.examination.sign(user=conservator)
    again = plan_survey(survey(feature(9, square(1, 1), kind="crack")), look)
    assert "is signed and takes no more sightings" in str(again.problems[0])


def test_a_withdrawn_trace_takes_no_more(look: Look, conservator: User) -> None:
    import_survey(GOOD, look, user=conservator, why="Survey 2019")
    Trace.objects.get(number="1").withdraw(user=conservator, why="not a crack at all")
    later = Look(look.face, "Survey 2024", look.technique, "2024-04")
    plan = plan_survey(survey(feature(1, square(1, 1))), later)
    assert "trace 1 of this face is withdrawn" in str(plan.problems[0])


def large_survey(size: int, *, seed: int = 0) -> bytes:
    """Wavy polygons and lines spread over the face, all inside it."""
    features = []
    for i in range(size):
        x = 20 + (i * 37.7 + seed) % (WIDTH - 40)
        y = 20 + (i * 17.3) % (HEIGHT - 40)
        if i % 2:
            geometry = line(*((x + 0.8 * k, y + 3 * math.sin(k + i)) for k in range(12)))
            kind = "crack"
        else:
            radii = [4 + 2 * math.sin(3 * a + i) for a in range(16)]
            ring = [
                [x + r * math.cos(a * math.tau / 16), y + r * math.sin(a * math.tau / 16)]
                for a, r in enumerate(radii)
            ]
            geometry = {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}
            kind = "paint_loss"
        features.append(feature(f"L{i}", geometry, kind=kind))
    return survey(*features)


def test_five_thousand_features_go_in_at_once(look: Look, conservator: User) -> None:
    data = large_survey(5000)
    with CaptureQueriesContext(connection) as queries:
        plan = import_survey(data, look, user=conservator, why="Large survey")
    assert len(plan.traces) == len(plan.sightings) == 5000
    assert Sighting.objects.filter(trace__face=look.face).count() == 5000
    assert Trace.objects.filter(face=look.face, shape__isnull=False).count() == 5000
    assert len(queries) <= 20


def test_the_number_of_queries_does_not_grow_with_the_survey(look: Look, conservator: User) -> None:
    with CaptureQueriesContext(connection) as small:
        import_survey(large_survey(10), look, user=conservator, why="Small survey")
    other = Look(builders.face(), look.campaign, look.technique, look.date)
    with CaptureQueriesContext(connection) as large:
        import_survey(large_survey(600), other, user=conservator, why="Larger survey")
    assert len(small) == len(large)


def test_areas_and_lengths_agree_with_shapely(look: Look, conservator: User) -> None:
    data = large_survey(400, seed=5)
    import_survey(data, look, user=conservator, why="Measured survey")
    shapes = {
        entry["properties"]["number"]: shapely_shape(entry["geometry"])
        for entry in json.loads(data)["features"]
    }
    for sighting in Sighting.objects.filter(trace__face=look.face).select_related("trace"):
        drawn = shapes[sighting.trace.number]
        assert sighting.area_mm2 == pytest.approx(drawn.area, abs=1e-9)
        length = drawn.length if drawn.geom_type == "LineString" else 0
        assert sighting.length_mm == pytest.approx(length, abs=1e-9)


def test_containment_and_validity_agree_with_shapely(look: Look) -> None:
    """Shapes scattered over the edge of the face: accepted exactly where shapely accepts them."""
    outline = shapely.box(0, 0, WIDTH, HEIGHT)
    allowed = outline.buffer(TOLERANCE, quad_segs=8)
    shapes = []
    for i in range(600):
        x, y = (i * 61.8) % (WIDTH + 60) - 30, (i * 38.2) % (HEIGHT + 60) - 30
        if i % 5 == 0:
            corners = [(x, y), (x + 9, y + 9), (x + 9, y), (x, y + 9), (x, y)]  # crosses itself
        else:
            corners = [(x, y), (x + 8, y), (x + 8, y + 6), (x, y + 6), (x, y)]
        shapes.append({"type": "Polygon", "coordinates": [[list(c) for c in corners]]})
    expected = {
        i
        for i, geometry in enumerate(shapes, 1)
        if not (drawn := shapely_shape(geometry)).is_valid
        or not (drawn.covered_by(outline) or drawn.covered_by(allowed))
    }
    plan = plan_survey(
        survey(*(feature(i, g, kind="crack") for i, g in enumerate(shapes, 1))), look
    )
    found = {int(problem.place.split(",")[0].removeprefix("Feature ")) for problem in plan.problems}
    assert found == expected
    assert 100 < len(expected) < 500


def test_what_the_check_accepts_the_database_accepts(look: Look, conservator: User) -> None:
    edge = survey(
        feature(1, square(WIDTH - 6, HEIGHT - 6, 9), kind="crack"),
        feature(2, {"type": "Point", "coordinates": [-TOLERANCE + 0.01, 300]}, kind="crack"),
    )
    plan = import_survey(edge, look, user=conservator, why="At the edge")
    assert len(plan.traces) == 2
    assert GEOSGeometry(plan.sightings[1].geometry).geom_type == "Point"


@pytest.fixture
def survey_file(tmp_path: Path) -> Path:
    path = tmp_path / "survey.geojson"
    path.write_bytes(GOOD)
    return path


def command(path: Path, user: User, *more: str) -> str:
    out = io.StringIO()
    call_command(
        "import_survey", str(path), "--object", "1999.12", "--face", "recto",
        "--campaign", "Survey 2019", "--date", "2019-05-14", "--user", user.username, *more,
        stdout=out, stderr=out,
    )  # fmt: skip
    return out.getvalue()


def test_the_command_imports_and_says_how_much(
    look: Look, conservator: User, survey_file: Path
) -> None:
    assert "2 new traces" in command(survey_file, conservator)
    assert Trace.objects.filter(face=look.face).count() == 2


def test_the_command_with_dry_run_writes_nothing(
    look: Look, conservator: User, survey_file: Path
) -> None:
    before = counted()
    assert "Nothing was written" in command(survey_file, conservator, "--dry-run")
    assert counted() == before


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--object", "1999.13"), "There is no object “1999.13”; nearest: 1999.12"),
        (("--face", "back"), "has no face “back”; it has: recto"),
        (("--technique", "visual_inspektion"), "nearest: visual_inspection"),
        (("--date", "May"), "--date: “May”"),
        (("--user", "nobody"), "There is no account “nobody”"),
    ],
)
def test_the_command_says_what_it_cannot_find(
    look: Look, conservator: User, survey_file: Path, more: tuple[str, str], words: str
) -> None:
    with pytest.raises(CommandError, match=words.replace("(", r"\(")):
        command(survey_file, conservator, *more)


def test_the_command_refuses_an_account_that_may_not_write(look: Look, survey_file: Path) -> None:
    with pytest.raises(CommandError, match="does not allow"):
        command(survey_file, builders.user(Role.COMMITTEE))

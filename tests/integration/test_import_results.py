"""Importing samples and results as CSV or XLSX: dry run, all or nothing, kindness, re-import."""

import io
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from analyses.choices import Decision
from analyses.imports import import_results, plan_results
from analyses.models import (
    Analysis,
    Identification,
    Layer,
    Preparation,
    Reading,
    Sample,
    SamplingPoint,
)
from records.choices import Role
from records.imports import Refused
from records.models import Material, Object, Technique, User
from tests import builders

pytestmark = pytest.mark.django_db

ALL: tuple[Any, ...] = (
    SamplingPoint,
    Sample,
    Preparation,
    Layer,
    Analysis,
    Reading,
    Identification,
)

TABLE = """\
point,x_mm,y_mm,permission,sample,container,preparation,preparation_kind,layer,layer_description,\
thickness_min_um,thickness_max_um,technique,analysis_date,instrument,reading_kind,reading,value,\
unit,material,confidence,grounds
P1,412.5,96,"Head of conservation, 2024/17",S-1,glass vial,S-1-a,cross section,1,white ground,\
40,55,SEM-EDX,2024-04,SEM 2,element,Pb,,,lead_white,certain,
P1,,,,S-1,,S-1-a,,1,,,,SEM-EDX,2024-04,,element,Ca,,,,,
P1,,,,S-1,,S-1-a,,2,blue paint,12,25,SEM-EDX,2024-04,SEM 2,peak,Zn K,8.64,keV,C.I. Pigment White 4,\
,Zn without Ba or S
P2,20,30,,,,,,,,,,xrf,2024-03-11,,element,Hg,,,,,
"""


@pytest.fixture
def item() -> Object:
    for code, group, short in (("sem_edx", "analysis", "SEM-EDX"), ("xrf", "analysis", "XRF")):
        builders.term(Technique, code, group=group, abbreviation=short)
    builders.term(Material, "lead_white", group="pigment")
    builders.term(
        Material,
        "zinc_white",
        group="pigment",
        identifiers=[{"scheme": "Colour Index", "code": "C.I. Pigment White 4"}],
    )
    item = builders.canvas(accession_number="1999.12")
    builders.face(item, 1000, 600)
    return item


@pytest.fixture
def scientist() -> User:
    return builders.user(Role.SCIENTIST)


def table(*rows: str) -> bytes:
    return "\n".join(rows).encode()


def workbook(*rows: tuple[Any, ...]) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.worksheets[0].append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def counted() -> list[int]:
    return [model._default_manager.count() for model in ALL]


def told(data: bytes, item: Object) -> list[str]:
    return list(map(str, plan_results(data, item).problems))


def test_it_works(item: Object, scientist: User) -> None:
    plan = import_results(TABLE.encode(), item, user=scientist, why="Results of the spring")
    assert counted() == [2, 1, 1, 2, 3, 4, 2]
    assert plan.summary[0] == ("new sampling points", 2)
    point = SamplingPoint.objects.get(number="P1")
    assert point.geometry.coords == (412.5, 96.0)
    assert point.invasive
    assert point.permission == "Head of conservation, 2024/17"
    assert not SamplingPoint.objects.get(number="P2").invasive
    layer = Layer.objects.get(number=1)
    assert (layer.thickness_min_um, layer.thickness_max_um) == (40, 55)
    assert layer.preparation.sample.point == point
    analysis = Analysis.objects.get(layer=layer)
    assert analysis.instrument == "SEM 2"
    assert [reading.label for reading in analysis.readings.all()] == ["Pb", "Ca"]
    white = Identification.objects.get(material__code="lead_white")
    assert white.decision == Decision.PROPOSED
    assert white.confidence == "certain"
    assert [reading.label for reading in white.readings.all()] == ["Pb"]
    assert white.grounds == "Stated with the readings Pb."
    zinc = Identification.objects.get(material__code="zinc_white")
    assert zinc.grounds == "Zn without Ba or S"
    assert zinc.confidence == "probable"


def test_the_import_is_one_change_with_who_and_why(item: Object, scientist: User) -> None:
    import_results(TABLE.encode(), item, user=scientist, why="Results of the spring")
    contexts = {
        version.pgh_context
        for model in ALL
        for record in model._default_manager.all()
        for version in record.versions.select_related("pgh_context")
    }
    assert len(contexts) == 1
    metadata = contexts.pop().metadata
    assert (metadata["user"], metadata["why"]) == (scientist.pk, "Results of the spring")


def test_a_dry_run_changes_nothing(item: Object) -> None:
    before = counted()
    assert plan_results(TABLE.encode(), item).is_ready
    assert counted() == before


def test_one_bad_cell_stops_all(item: Object, scientist: User) -> None:
    bad = TABLE.replace("P2,20,30", "P2,20,3O")
    before = counted()
    with pytest.raises(Refused) as refused:
        import_results(bad.encode(), item, user=scientist, why="Results of the spring")
    assert list(map(str, refused.value.problems)) == ["Row 5, cell C5 (y_mm): “3O” is no number."]
    assert counted() == before


def test_every_problem_is_listed_by_row_and_cell(item: Object) -> None:
    data = table(
        "point,x_mm,y_mm,invasive,sample,preparation,layer,technique,reading_kind,reading,value,"
        "unit,material,container",
        "P1,5,5,no,,,,xrff,element,Pb,,,,",
        "P2,5,5,no,,,,xrf,elemnt,Pb,,,,",
        "P3,2000,5,no,,,,,,,,,,",
        "P4,5,,no,,,,,,,,,,",
        ",5,5,no,,,,,,,,,,",
        "P5,5,5,yes,,,,,,,,,,",
        "P6,5,5,no,,,2,,,,,,,vial",
        "P7,5,5,no,,,,xrf,element,Pb,3,,,",
        "P8,5,5,no,,,,,,,,,lead wite,",
        "P9,5,5,no,,,,,,,,,lead_white,",
        "P9,6,5,no,,,,,element,Pb,,,,",
    )
    assert told(data, item) == [
        "Row 2, cell H2 (technique): “xrff” is no technique; nearest: xrf.",
        "Row 3, cell I3 (reading_kind): “elemnt” is not one of element, peak, phase, band, "
        "observation; nearest: element.",
        "Row 4, cell A4 (point): lies 1000.0 mm outside the outline of the face (1000 × 600 mm, "
        "tolerance 5 mm).",
        "Row 5, cell C5 (y_mm): is missing; a new sampling point has a place.",
        "Row 6, cell A6 (point): is missing; every row needs its sampling point.",
        "Row 7, permission: is missing; say who allowed material to be removed.",
        "Row 8, cell G8 (layer): is given, but the row names no preparation.",
        "Row 8, cell N8 (container): is given, but the row names no sample.",
        "Row 9, cell L9 (unit): is missing; a value needs its unit.",
        "Row 10, cell M10 (material): “lead wite” is no material; nearest: lead_white.",
        "Row 11, grounds: is missing; say what the material rests on.",
        "Row 12, cell B12 (x_mm): contradicts row 11 (“5.0”).",
        "Row 12, cell J12 (reading): is given, but the row names no technique.",
    ]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "File: is empty."),
        (b"point,x_mm\n", "there is nothing to import"),
        (b"number,x_mm\nP1,3\n", "has no column point"),
        (b"point,point\nP1,P2\n", "Row 1, cell B1: the column point stands twice."),
        (b"PK\x03\x04not a workbook", "is no XLSX workbook"),
        (b"\xd0\xcf\x11\xe0 old", "is a workbook of the old kind"),
        (b'point,x_mm\n"P1,3\n', "is no CSV that can be read"),
        (b'point,x_mm,y_mm\nP1,1.234,5,6\nP2,"1.234,5",6', "without separators of thousands"),
    ],
)
def test_a_malformed_table_is_told_in_words(item: Object, data: bytes, words: str) -> None:
    assert words in "\n".join(told(data, item))


@pytest.mark.parametrize(
    "data",
    [
        "point;X (mm);Y (mm);purpose\nP1;412,5;96,25;Ölhöhe?\n".encode("utf-8-sig"),
        "point\tx_mm\ty_mm\tpurpose\nP1\t412,5\t96,25\tÖlhöhe?\n".encode("utf-16"),
        'point,x mm,y mm,purpose\r\nP1,"412,5",96.25,Ölhöhe?\r\n'.encode(),
        "point;x_mm;y_mm;purpose\n\nP1;412.5;96.25;Ölhöhe?\n;;;\n".encode("cp1252"),
        workbook(("Point", "x_mm", "y_mm", "Purpose"), ("P1", 412.5, "96,25", "Ölhöhe?")),
    ],
    ids=["utf-8 mark, semicolons, commas", "utf-16, tabs", "quoted comma", "windows-1252", "xlsx"],
)
def test_tables_of_any_office_are_taken_kindly(item: Object, scientist: User, data: bytes) -> None:
    import_results(data, item, user=scientist, why="as the spreadsheet wrote it")
    point = SamplingPoint.objects.get()
    assert point.geometry.coords == (412.5, 96.25)
    assert point.purpose == "Ölhöhe?"


def test_numbers_and_days_of_a_workbook_are_read_as_people_wrote_them(
    item: Object, scientist: User
) -> None:
    data = workbook(
        ("point", "x_mm", "y_mm", "point_date", "invasive"),
        (7.0, 1, 2, date(2024, 3, 11), False),
        (None, None, None, None, None),
        ("8", 1, 2, "2024-03~", "nein"),
    )
    import_results(data, item, user=scientist, why="from a workbook")
    assert list(SamplingPoint.objects.values_list("number", "date")) == [
        ("7", "2024-03-11"),
        ("8", "2024-03~"),
    ]


def test_an_unknown_column_is_a_remark_and_does_not_stop(item: Object) -> None:
    plan = plan_results(table("point,x_mm,y_mm,porpose", "P1,1,2,why"), item)
    assert plan.is_ready
    assert list(map(str, plan.remarks)) == [
        "Row 1, cell D1: “porpose” is not read; nearest: purpose."
    ]


def test_a_thickness_in_the_wrong_unit_is_told_by_its_cell(item: Object) -> None:
    problems = told(
        table(
            "point;x_mm;y_mm;permission;sample;preparation;preparation_kind;layer;"
            "layer_description;thickness_min_um;thickness_max_um",
            "P9;10;10;Head;S9;X9;cross_section;1;ground;12;200000",
        ),
        item,
    )
    assert problems == [
        "Row 2, cell K2 (thickness_max_um): “200000” is more than 100,000 µm; check the unit."
    ]


def test_importing_the_same_table_again_changes_nothing(item: Object, scientist: User) -> None:
    import_results(TABLE.encode(), item, user=scientist, why="Results of the spring")
    before = counted()
    plan = import_results(TABLE.encode(), item, user=scientist, why="by mistake, again")
    assert not plan.is_ready
    assert counted() == before
    assert Identification.readings.through.objects.count() == 2


def test_later_results_are_added_to_the_samples_known_by_number(
    item: Object, scientist: User
) -> None:
    import_results(TABLE.encode(), item, user=scientist, why="Results of the spring")
    later = table(
        "point,sample,preparation,layer,technique,analysis_date,reading_kind,reading",
        "P1,S-1,S-1-a,2,xrf,2024-09,element,Zn",
        "P1,S-1,S-1-a,2,SEM-EDX,2024-04,element,S",
    )
    import_results(later, item, user=scientist, why="Results of the autumn")
    assert counted() == [2, 1, 1, 2, 4, 6, 2]


def test_a_record_that_stands_is_never_changed(item: Object, scientist: User) -> None:
    import_results(TABLE.encode(), item, user=scientist, why="Results of the spring")
    other = table("point,x_mm,sample,remains,container", "P1,413,S-1,half,glass vial")
    plan = plan_results(other, item)
    assert list(map(str, plan.problems)) == [
        "Row 2, cell B2 (x_mm): the record says “412.5”. Change the record on its own page."
    ]
    assert list(map(str, plan.remarks)) == [
        "Row 2, cell D2 (remains): is not taken over: the record stands already. Add it on the "
        "record's page."
    ]


def test_a_sample_stays_with_its_point(item: Object, scientist: User) -> None:
    import_results(TABLE.encode(), item, user=scientist, why="Results of the spring")
    data = table("point,sample", "P2,S-1")
    assert told(data, item) == ["Row 2, cell B2 (sample): “S-1” belongs to another point."]


def test_a_decided_identification_gains_no_readings(item: Object, scientist: User) -> None:
    import_results(TABLE.encode(), item, user=scientist, why="Results of the spring")
    white = Identification.objects.get(material__code="lead_white")
    white.sign(user=scientist)
    more = table(
        "point,sample,preparation,layer,technique,analysis_date,reading_kind,reading,material",
        "P1,S-1,S-1-a,1,xrf,2024-09,element,Pb,lead_white",
    )
    import_results(more, item, user=scientist, why="Results of the autumn")
    assert white.readings.count() == 1


def test_a_signed_analysis_takes_no_more_readings(item: Object, scientist: User) -> None:
    import_results(TABLE.encode(), item, user=scientist, why="Results of the spring")
    Analysis.objects.get(technique__code="xrf").sign(user=scientist)
    data = table(
        "point,technique,analysis_date,reading_kind,reading", "P2,xrf,2024-03-11,element,S"
    )
    assert told(data, item) == [
        "Row 2, cell E2 (reading): its analysis is signed and takes no more readings."
    ]


def test_the_face_is_asked_for_where_there_is_more_than_one(item: Object) -> None:
    builders.face(item, 1000, 600, name="verso")
    assert told(table("point,x_mm,y_mm", "P1,1,2"), item) == [
        "Row 2, face: is missing; it has: recto, verso."
    ]
    assert told(table("point,x_mm,y_mm,face", "P1,1,2,Verso"), item) == []
    assert told(table("point,x_mm,y_mm,face", "P1,1,2,edge"), item) == [
        "Row 2, cell D2 (face): “edge” is no face of 1999.12; it has: recto, verso."
    ]


def many(size: int) -> bytes:
    return table(
        "point,x_mm,y_mm,permission,sample,technique,reading_kind,reading,material",
        *(f"P{i},{i % 900},{i % 500},granted,S{i},xrf,element,Pb,lead_white" for i in range(size)),
    )


def test_the_number_of_queries_does_not_grow_with_the_table(item: Object, scientist: User) -> None:
    with CaptureQueriesContext(connection) as small:
        import_results(many(3), item, user=scientist, why="few")
    other = builders.canvas()
    builders.face(other, 1000, 600)
    with CaptureQueriesContext(connection) as large:
        import_results(many(400).replace(b",S", b",T"), other, user=scientist, why="many")
    assert len(small) == len(large)
    assert len(large) <= 32
    assert Sample.objects.count() == 403


@pytest.fixture
def results_file(tmp_path: Path) -> Path:
    path = tmp_path / "results.csv"
    path.write_text(TABLE)
    return path


def command(path: Path, user: User, *more: str) -> str:
    out = io.StringIO()
    call_command(
        "import_results", str(path), "--object", "1999.12", "--user", user.username, *more,
        stdout=out, stderr=out,
    )  # fmt: skip
    return out.getvalue()


def test_the_command_imports_and_says_how_much(
    item: Object, scientist: User, results_file: Path
) -> None:
    assert "2 new sampling points" in command(results_file, scientist)
    assert SamplingPoint.objects.count() == 2


def test_the_command_with_dry_run_writes_nothing(
    item: Object, scientist: User, results_file: Path
) -> None:
    before = counted()
    assert "Nothing was written" in command(results_file, scientist, "--dry-run")
    assert counted() == before


def test_the_command_lists_the_problems_and_fails(
    item: Object, scientist: User, tmp_path: Path
) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("point,x_mm,y_mm\nP1,9999,2\n")
    with pytest.raises(CommandError, match=r"1 problem\(s\); nothing was imported"):
        command(path, scientist)
    with pytest.raises(CommandError, match="no such folder or file"):
        command(tmp_path / "absent.csv", scientist)

"""Bringing in raw files by the hundred: names, tables, problems by line, all or nothing."""

import csv
import hashlib
import io
import re
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from analyses.batch import outcomes
from analyses.evaluating import carry_out
from analyses.imports import import_raw_files, plan_raw_files
from analyses.imports.raw_files import BY_NAME, change_of
from analyses.models import Analysis, Evaluation
from analyses.references import infrared_references
from analyses.spectra.readers import ColumnChoice, read
from records.changes import change
from records.choices import Role
from records.imports import Refused
from records.models import Material, Object, Technique, User
from tests import builders
from tests.unit.spectra.readers.samples import EMSA, PDCIF, TABLE, jcampdx

pytestmark = pytest.mark.django_db
ROOT = Path(__file__).parents[2]
X = np.linspace(4000, 3802, 100)
FTIR = jcampdx(X, [9000 - k for k in range(100)], "DUP")


@pytest.fixture(autouse=True)
def media(settings: Any, tmp_path: Path) -> Path:
    settings.MEDIA_ROOT = tmp_path / "media"
    return tmp_path / "media"


@pytest.fixture
def item() -> Object:
    for code, short in (("xrf", "XRF"), ("ftir", "FTIR"), ("sem_edx", "SEM-EDX"), ("xrd", "XRD")):
        builders.term(Technique, code, group="analysis", abbreviation=short)
    item = builders.canvas(accession_number="1999.12")
    point = builders.sampling_point(builders.face(item), number="P3")
    builders.section(builders.sample(point, number="S-7"), layers=3, number="S-7-a")
    return item


@pytest.fixture
def scientist() -> User:
    return builders.user(Role.SCIENTIST)


def packed(files: Mapping[str, str | bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def batch(more: Mapping[str, str | bytes] | None = None) -> bytes:
    """One file for a point, a sample and a layer each, and what a computer adds by itself."""
    files: dict[str, str | bytes] = {
        "day 1/P3__XRF.msa": EMSA,
        "day 1/S-7__FTIR__dark spot.dx": FTIR,
        "S-7-a.2__XRD.cif": PDCIF,
        "__MACOSX/._P3": b"\x00",
        ".DS_Store": b"\x00",
        **(more or {}),
    }
    return packed(files)


def told(source: bytes, item: Object | None) -> list[str]:
    return list(map(str, plan_raw_files(source, item).problems))


def files_kept(media: Path) -> list[Path]:
    return [path for path in media.rglob("*") if path.is_file()]


def test_it_works(item: Object, scientist: User, media: Path) -> None:
    plan = import_raw_files(batch(), item, user=scientist, why="Measured in spring")
    assert dict(plan.summary)["new analyses with their raw file"] == 3
    by_file = {analysis.settings["File"]: analysis for analysis in Analysis.objects.all()}
    xrf = by_file["day 1/P3__XRF.msa"]
    assert xrf.point is not None
    assert xrf.point.number == "P3"
    assert xrf.settings["File read as"] == "EMSA/MAS: 80 values, 0.2 to 0.99 keV, intensity"
    with xrf.raw_file.open() as kept:
        content = kept.read()
    assert content == EMSA.encode()
    assert xrf.raw_sha256 == hashlib.sha256(content).hexdigest()
    assert by_file["day 1/S-7__FTIR__dark spot.dx"].sample is not None
    layer = by_file["S-7-a.2__XRD.cif"].layer
    assert layer is not None
    assert layer.number == 2
    assert len(files_kept(media)) == 3
    (version,) = xrf.versions.select_related("pgh_context")  # type: ignore[attr-defined]
    assert version.pgh_context.metadata["why"] == "Measured in spring"


def test_a_table_says_where_files_belong_and_which_columns_are_meant(
    item: Object, scientist: User
) -> None:
    table = (
        "file;sample;preparation;layer;technique;date;instrument;x_column;y_column;x_unit;y_unit\n"
        "green.csv;;S-7-a;3;FTIR;2024-04;FTIR microscope;;;;\n"
        "many.txt;S-7;;;XRF;2024;;2;3;eV;counts\n"
    )
    many = "k\ta\tb\n1\t500\t7\n2\t520\t8\n3\t540\t8\n"
    source = packed({"x/files.csv": table, "x/green.csv": TABLE, "x/many.txt": many})
    plan = import_raw_files(source, item, user=scientist, why="spring")
    assert [str(remark) for remark in plan.remarks] == []
    green = Analysis.objects.get(layer__number=3)
    assert (green.date, green.instrument) == ("2024-04", "FTIR microscope")
    xrf = Analysis.objects.get(sample__number="S-7")
    assert xrf.settings["File read as"] == "columns of text: 3 values, 0.5 to 0.54 keV, counts"
    choice = ColumnChoice.from_settings(xrf.settings)
    assert choice is not None
    again = read(many.encode(), columns=choice)
    assert again.y.tolist() == [7, 8, 8]


def test_a_waiting_analysis_receives_its_file(item: Object, scientist: User) -> None:
    point = builders.sampling_point(item.faces.get(), number="P4")
    waiting = builders.analysis("xrf", point=point, date="2024-03", settings={"voltage": "40 kV"})
    plan = import_raw_files(packed({"P4__XRF.msa": EMSA}), item, user=scientist, why="spring")
    assert dict(plan.summary)["analyses that receive their raw file"] == 1
    waiting.refresh_from_db()
    assert waiting.raw_file
    assert waiting.settings["voltage"] == "40 kV"
    assert Analysis.objects.count() == 1
    assert waiting.versions.count() == 2  # type: ignore[attr-defined]


def test_two_waiting_analyses_are_asked_about(item: Object) -> None:
    point = builders.sampling_point(item.faces.get(), number="P4")
    for date in ("2024-03", "2024-04"):
        builders.analysis("xrf", point=point, date=date)
    (problem,) = told(packed({"P4__XRF.msa": EMSA}), item)
    assert "2 analyses there have no raw file yet (2024-03, 2024-04)" in problem
    table = "file,point,technique,date\na.msa,P4,XRF,2024-04\n"
    plan = plan_raw_files(packed({"files.csv": table, "a.msa": EMSA}), item)
    assert plan.files[0].analysis is not None
    assert plan.files[0].analysis.date == "2024-04"


def test_a_signed_analysis_takes_no_file(item: Object, scientist: User) -> None:
    signed = builders.analysis("xrf", point=item.faces.get().sampling_points.get())
    with change(user=scientist, why="done"):
        signed.sign(user=scientist)
    (problem,) = told(packed({"P3__XRF.msa": EMSA}), item)
    assert "is signed and takes no file any more" in problem


def test_every_problem_is_told_and_nothing_is_written(
    item: Object, scientist: User, media: Path
) -> None:
    source = batch(
        {
            "P3__FTIR.dx": FTIR.replace("\n3976", "\n3946", 1),
            "P9__XRF.msa": EMSA,
            "P3__XFR.msa": EMSA + "\n",
            "notes.txt": TABLE,
            "S-7__XRF.dx": FTIR + "\n",
            "S-7-a.1__SEM-EDX.spc": b"\x00\x01",
            "S-7-a.1__XRF.txt": "k\ta\tb\n1\t5\t7\n2\t6\t8\n",
        }
    )
    problems = told(source, item)
    for words in (
        "P3__FTIR.dx, line 17: begins at 3946 where 3976 is due",
        "P9__XRF.msa: “P9” is no sampling point, sample or layer",
        "P3__XFR.msa: “XFR” is no technique; nearest: xrf",
        "notes.txt: says not where it belongs",
        "S-7__XRF.dx: is a curve over cm⁻¹; xrf gives one over keV",
        "S-7-a.1__SEM-EDX.spc, line 1: holds bytes that no text has",
        "S-7-a.1__XRF.txt: The table has 3 columns. Choose which",
    ):
        assert any(words in problem for problem in problems), (words, problems)
    assert any("is the same, byte for byte, as P9__XRF.msa" in problem for problem in problems)
    with pytest.raises(Refused):
        import_raw_files(source, item, user=scientist, why="spring")
    assert not Analysis.objects.exists()
    assert files_kept(media) == []


def test_faults_of_the_table_name_row_and_cell(item: Object) -> None:
    table = (
        "file,point,layer,technique,date\n"
        "a.msa,P3,,XRF,someday\n"
        "b.msa,P3,,XRF,\n"
        "a.msa,P3,,XRF,\n"
        ",P3,,XRF,\n"
        "c.msa,,,XRF,\n"
        "d.msa,,2,XRF,\n"
    )
    files = {name: EMSA + "\n" * k for k, name in enumerate(("a.msa", "c.msa", "d.msa", "e.msa"))}
    problems = told(packed({"files.csv": table, **files}), item)
    for words in (
        "files.csv, Row 2, cell E2 (date): ",
        "Row 3, cell A3 of files.csv (file): “b.msa” is not among the files",
        "Row 4, cell A4 of files.csv (file): stands in row 2 already",
        "Row 5, cell A5 of files.csv (file): is missing",
        "(point): is missing; name a point, a sample or a layer",
        "Row 7, preparation: is missing; a layer needs its preparation",
        "e.msa: is among the files, but in no row of files.csv",
    ):
        assert any(words in problem for problem in problems), (words, problems)


def test_two_files_of_one_name_are_told_instead_of_one_being_lost(item: Object) -> None:
    table = "file,point,technique\nspot.msa,P3,XRF\n"
    problems = told(packed({"files.csv": table, "Spot.msa": EMSA, "spot.msa": EMSA + "\n"}), item)
    assert problems == ["spot.msa: is called like Spot.msa: rename one of the two."]


def test_the_same_batch_again_adds_nothing(item: Object, scientist: User) -> None:
    import_raw_files(batch(), item, user=scientist, why="spring")
    plan = plan_raw_files(batch(), item)
    assert plan.problems == []
    assert not plan.is_ready
    assert len(plan.remarks) == 3
    assert "is kept already as" in str(plan.remarks[0])
    moved = packed({"S-7__XRF.msa": EMSA})
    assert "is kept already, but as" in told(moved, item)[0]


def test_the_file_of_a_withdrawn_analysis_may_come_in_again(item: Object, scientist: User) -> None:
    import_raw_files(packed({"S-7__XRF.msa": EMSA}), item, user=scientist, why="spring")
    Analysis.objects.get().withdraw(user=scientist, why="the wrong place")
    import_raw_files(packed({"P3__XRF.msa": EMSA}), item, user=scientist, why="mended")
    assert str(Analysis.objects.get(withdrawn_at=None).point) == "P3"


def test_a_file_that_cannot_be_read_is_kept_when_asked(item: Object, scientist: User) -> None:
    table = "file,point,technique,unread\nown.spc,P3,XRF,yes\n"
    source = packed({"files.csv": table, "own.spc": b"\x00\x01"})
    plan = import_raw_files(source, item, user=scientist, why="spring")
    assert "is kept unread" in str(plan.remarks[0])
    assert Analysis.objects.get().settings["File read as"] == "not read"


def test_reference_spectra_come_in_by_batch(item: Object, scientist: User) -> None:
    builders.term(Material, "chalk", group="filler")
    table = "file,sample,technique,reference_for\nchalk.dx,S-7,FTIR,chalk\n"
    files = {"files.csv": table, "chalk.dx": FTIR}
    import_raw_files(packed(files), item, user=scientist, why="references")
    asked = builders.analysis("ftir", point=item.faces.get().sampling_points.get())
    assert [reference.code for reference in infrared_references(asked)] == ["chalk"]
    files["files.csv"] = table.replace(",chalk\n", ",chork\n")
    assert "“chork” is no material; nearest: chalk" in told(packed(files), item)[0]


def test_a_fault_while_writing_leaves_no_file_behind(
    item: Object, scientist: User, media: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    saved = ContentFile.chunks
    count = 0

    def failing(self: Any, *args: Any) -> Any:
        nonlocal count
        count += 1
        if count == 3:
            raise OSError("No space left on device")
        return saved(self, *args)

    monkeypatch.setattr(ContentFile, "chunks", failing)
    with pytest.raises(OSError, match="No space left"):
        import_raw_files(batch(), item, user=scientist, why="spring")
    assert not Analysis.objects.exists()
    assert files_kept(media) == []


def test_what_is_no_batch_is_refused(item: Object) -> None:
    with pytest.raises(Refused, match="no ZIP that can be read"):
        plan_raw_files(b"nothing", item)
    assert "There are none to import" in told(packed({}), item)[0]
    damaged = bytearray(packed({"P3__XRF.msa": EMSA}))
    damaged[60] ^= 0xFF
    with pytest.raises(Refused, match="cannot be unpacked"):
        plan_raw_files(bytes(damaged), item)
    two = packed({"files.csv": "file,technique\n", "a/files.csv": "file,technique\n"})
    assert "There are two tables" in told(two, item)[0]


def test_a_record_of_another_object_is_refused(item: Object) -> None:
    other = builders.canvas(accession_number="2000.1")
    builders.face(other)
    (problem,) = told(packed({"S-7__FTIR.dx": FTIR}), other)
    assert "belongs to 1999.12" in problem


def test_a_word_of_two_meanings_is_asked_about(item: Object) -> None:
    builders.sample(item.faces.get().sampling_points.get(), number="P3")
    (problem,) = told(packed({"P3__XRF.msa": EMSA}), item)
    assert "means 2 things" in problem


def test_the_number_of_queries_does_not_grow_with_the_files(item: Object, scientist: User) -> None:
    def files(count: int, start: int) -> bytes:
        names = [f"S-7-a.{k % 3 + 1}__FTIR__{start + k}.dx" for k in range(count)]
        curves = [jcampdx(X, [9000 - k - start - n for k in range(100)], "AFFN")
                  for n in range(count)]  # fmt: skip
        return packed(dict(zip(names, curves, strict=True)))

    counts = []
    for count, start in ((3, 0), (40, 1000)):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            plan = import_raw_files(files(count, start), item, user=scientist, why="spring")
        assert len(plan.files) == count
        counts.append(len(queries))
    assert counts[0] == counts[1] <= 16


def test_by_command_from_a_folder(
    item: Object, scientist: User, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "batch"
    (folder / "spots").mkdir(parents=True)
    (folder / "files.csv").write_text(
        "file,object,point,technique\nspots/a.msa,1999.12,P3,XRF\n", "utf-8"
    )
    (folder / "spots" / "a.msa").write_text(EMSA, "utf-8")
    call_command("import_raw_files", folder, user=scientist.username, dry_run=True)
    assert not Analysis.objects.exists()
    assert "EMSA/MAS: 80 values" in capsys.readouterr().out
    call_command("import_raw_files", folder, user=scientist.username)
    assert Analysis.objects.get().raw_file
    (folder / "spots" / "a.msa").write_text(EMSA.replace("254.22", "x", 1), "utf-8")
    with pytest.raises(CommandError, match="1 problem"):
        call_command("import_raw_files", folder, user=scientist.username)
    assert "spots/a.msa, line 27: the value “x” is no number" in capsys.readouterr().err
    with pytest.raises(CommandError, match="no such folder"):
        call_command("import_raw_files", tmp_path / "none", user=scientist.username)


def test_by_page_with_a_report(client: Client, item: Object, scientist: User) -> None:
    client.force_login(scientist)
    address = reverse("import-raw-files", args=[item.pk])
    assert client.get(address).status_code == 200
    upload = SimpleUploadedFile("spring.zip", batch())
    checked = client.post(address, {"file": upload, "why": "Measured in spring"})
    page = checked.content.decode()
    assert checked.status_code == 200
    assert "JCAMP-DX: 100 values, 3802 to 4000 cm⁻¹, transmittance" in page
    assert "a new analysis" in page
    fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', page))
    answered = client.post(address, {**fields, "confirm": "yes"}, follow=True)
    report = answered.content.decode()
    assert answered.redirect_chain
    assert "Raw files imported: 3" in report
    assert "day 1/S-7__FTIR__dark spot.dx" in report
    address = answered.redirect_chain[-1][0]
    table = client.get(address + "?as=csv").content.decode("utf-8-sig")
    assert table.splitlines()[0] == "file,read as,place,technique,SHA-256,analysis,found"
    assert len(table.splitlines()) == 4
    other = reverse("import-raw-files-report", args=[builders.canvas().pk, address.split("/")[-1]])
    assert client.get(other).status_code == 404


FINDINGS = [
    {"kind": "phase", "code": "calcite", "label": "calcite", "certainty": "likely"},
    {"kind": "element", "code": "Zn", "label": "zinc", "certainty": "sure"},
]


def test_a_batch_is_evaluated_at_once_and_its_report_says_what_was_found(
    client: Client, item: Object, scientist: User
) -> None:
    client.force_login(scientist)
    plan = import_raw_files(batch(), item, user=scientist, why="spring")
    address = reverse("import-raw-files-report", args=[item.pk, change_of(plan)])
    page = client.get(address).content.decode()
    assert "Evaluate all 3 files" in page
    assert page.count("not evaluated") == 3
    page = client.post(address, follow=True).content.decode()
    assert "3 files wait to be evaluated" in page
    assert page.count("waits to be evaluated") == 3
    assert "hx-get" in page
    assert "Evaluate all" not in page
    assert client.post(address, follow=True).context["waiting"] == 3  # never asked for twice

    for evaluation in Evaluation.objects.all():
        carry_out(evaluation)
    page = client.get(address).content.decode()
    assert "waits to be evaluated" not in page
    assert "hx-get" not in page.split('id="brought"')[1].split(">")[0]
    answer = client.get(address + "?as=csv").content.decode("utf-8-sig")
    heads, *rows = csv.reader(io.StringIO(answer))
    assert heads[-1] == "found"
    said = outcomes([file.analysis for file in plan.files if file.analysis])
    assert sorted(row[-1] for row in rows) == sorted(map(str, said.values()))
    made = Evaluation.objects.latest("pk")
    made.result, made.error = {"findings": FINDINGS}, ""
    made.save()
    assert str(outcomes([made.analysis])[made.analysis_id]) == "sure: Zn; likely: calcite"
    with CaptureQueriesContext(connection) as queries:
        client.get(address)
    assert sum("analyses_evaluation" in query["sql"] for query in queries) == 2


def test_problems_by_page_keep_nothing(client: Client, item: Object, scientist: User) -> None:
    client.force_login(scientist)
    address = reverse("import-raw-files", args=[item.pk])
    unknown = packed({"P9__XRF.msa": EMSA})
    for data, words in (
        (b"nothing", "no ZIP that can be read"),
        (unknown, "“P9” is no sampling point"),
    ):
        upload = SimpleUploadedFile("spring.zip", data)
        refused = client.post(address, {"file": upload, "why": "spring"})
        assert refused.status_code == 422
        assert words in refused.content.decode()


def test_the_door_and_the_guide_lead_there(client: Client, item: Object, scientist: User) -> None:
    client.force_login(scientist)
    door = client.get(reverse("import"), {"number": "1999.12", "what": "raw-files"})
    assert door.status_code == 302
    assert door["Location"] == reverse("import-raw-files", args=[item.pk])
    guide = client.get(reverse("import-raw-files-guide")).content.decode()
    assert all(f"<code>{name}</code>" in guide for name in BY_NAME)
    committee = Client()
    committee.force_login(builders.user(Role.COMMITTEE))
    assert committee.get(reverse("import-raw-files", args=[item.pk])).status_code == 403


def test_the_columns_are_described_as_they_are() -> None:
    readme = (ROOT / "analyses" / "imports" / "README.md").read_text("utf-8")
    for column in BY_NAME.values():
        assert f"| `{column.name}` | {column.needed} | {column.meaning} |" in readme

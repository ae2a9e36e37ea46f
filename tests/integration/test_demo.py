"""The demonstration in the database: complete, told truthfully, and solved by the engine."""

import hashlib
import json
from datetime import date
from tempfile import TemporaryDirectory
from typing import Any

import pyvips
from django.test import TestCase, override_settings

from analyses import evaluating
from analyses.models import (
    Analysis,
    Evaluation,
    Identification,
    Layer,
    Preparation,
    SamplingPoint,
)
from fixtures.loading import ACCOUNTS, PASSWORD, Loaded, load_demo
from fixtures.scenario.truth import FILE
from records.choices import Role, Seen, Standing
from records.history import Case, solve
from records.models import (
    Image,
    Object,
    Occurrence,
    Placement,
    Sighting,
    Source,
    Trace,
    Treatment,
    User,
)
from records.reconstruction.evidence import Evidence
from records.reconstruction.gather import gather
from records.versions import versions_of

CANVAS = "HM 1931.47"
QUICK_HASHER = ["django.contrib.auth.hashers.MD5PasswordHasher"]
NUMBERS = (CANVAS, "HM 1958.12", "HM 1949.5")
TRUTH: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))["objects"]


class DemoTests(TestCase):
    """The demonstration, loaded once and rolled back after the last test."""

    media: str
    loaded: Loaded
    evidence: dict[str, Evidence]
    solved: dict[str, dict[str, Any]]

    @classmethod
    def setUpClass(cls) -> None:
        cls.media = cls.enterClassContext(TemporaryDirectory())
        cls.enterClassContext(
            override_settings(MEDIA_ROOT=cls.media, PASSWORD_HASHERS=QUICK_HASHER)
        )
        super().setUpClass()

    @classmethod
    def setUpTestData(cls) -> None:
        cls.loaded = load_demo(images=False)
        objects = Object.objects.filter(accession_number__in=NUMBERS)
        cls.evidence = {o.accession_number: gather(o, date(2026, 6, 1)) for o in objects}
        cls.solved = {
            number: solve(Case.from_json(found.case())).to_json()
            for number, found in cls.evidence.items()
        }

    def test_a_raw_file_of_each_technique_waits_to_be_evaluated(self) -> None:
        of_canvas = Analysis.objects.of_object(Object.objects.get(accession_number=CANVAS))
        asked = Evaluation.objects.filter(analysis__in=of_canvas).select_related(
            "analysis__technique"
        )
        assert sorted(e.analysis.technique.code for e in asked) == ["ftir", "sem_edx", "xrd", "xrf"]
        for evaluation in asked:
            with override_settings(MEDIA_ROOT=self.media):
                evaluating.carry_out(evaluation)
            assert evaluation.error == ""
            assert evaluation.result
            assert evaluation.result["findings"]

    def test_the_whole_painting_is_recorded(self) -> None:
        item = Object.objects.get(accession_number=CANVAS)
        assert Occurrence.objects.filter(object=item).count() >= 14
        treatments = Treatment.objects.filter(object=item)
        assert treatments.count() == 8
        assert treatments.filter(standing=Standing.INFERRED).count() == 2
        traces = Trace.objects.filter(face__object=item)
        assert traces.count() >= 150
        assert traces.values("kind").distinct().count() >= 25
        assert Source.objects.filter(object=item).count() >= 40
        assert SamplingPoint.objects.filter(face__object=item).count() >= 30
        assert Analysis.objects.of_object(item).count() >= 70
        sections = Preparation.objects.filter(sample__point__face__object=item)
        assert sections.count() == 6
        assert Layer.objects.filter(preparation__in=sections, trace__isnull=False).count() >= 30
        assert Identification.objects.of_object(item).filter(decision="accepted").count() >= 20

    def test_loading_again_changes_nothing(self) -> None:
        before = Trace.objects.count(), Image.objects.count(), User.objects.count()
        again = load_demo(images=False)
        assert self.loaded.new
        assert not again.new
        assert before == (Trace.objects.count(), Image.objects.count(), User.objects.count())

    def test_each_role_has_an_account_that_can_sign_in(self) -> None:
        for name, role, *_ in ACCOUNTS:
            user = User.objects.get(username=name)
            assert user.role == role
            assert user.check_password(PASSWORD)
        assert {role for _, role, *_ in ACCOUNTS} == set(Role)

    def test_every_record_says_who_made_it_and_why(self) -> None:
        item = Object.objects.get(accession_number=CANVAS)
        (first,) = versions_of(item)
        assert first.why.startswith("Demonstration data")
        assert first.who == "Imke Sorrand"

    def test_every_picture_is_a_real_file_that_lies_on_its_face(self) -> None:
        self.enterContext(override_settings(MEDIA_ROOT=self.media))
        for image in Image.objects.all():
            with image.file.open("rb") as opened:
                picture = pyvips.Image.new_from_buffer(opened.read(), "")
            assert (picture.width, picture.height) == (image.width_px, image.height_px)
            assert picture.deviate() > 5
        for placement in Placement.objects.select_related("face", "image"):
            width, height = placement.face.size_mm
            assert placement.rms_mm < 0.02 * width
            assert placement.footprint.area > 0.9 * width * height

    def test_raw_data_are_kept_with_their_checksum(self) -> None:
        self.enterContext(override_settings(MEDIA_ROOT=self.media))
        measured = Analysis.objects.exclude(technique__code="optical_microscopy")
        assert measured.count() > 60
        for analysis in measured:
            with analysis.raw_file.open("rb") as opened:
                assert hashlib.sha256(opened.read()).hexdigest() == analysis.raw_sha256

    def test_old_photographs_show_only_what_was_there(self) -> None:
        item = Object.objects.get(accession_number=CANVAS)
        tear = Trace.objects.get(face__object=item, label="tear, lower left")
        looks = Sighting.objects.filter(trace=tear, image__isnull=False)
        told = {s.image.date: s.outcome for s in looks if s.image}
        assert told["1912-06~"] == told["1924-22"] == Seen.NOT_SEEN

    def test_no_statement_is_lost_on_the_way_to_the_engine(self) -> None:
        assert [unused for found in self.evidence.values() for unused in found.unused] == []

    def test_the_planted_letter_is_the_one_contradiction(self) -> None:
        found = self.solved[CANVAS]
        (conflict,) = found["conflicts"]
        (withdrawn,) = found["withdrawal"]
        assert withdrawn in conflict
        assert self.evidence[CANVAS].items[withdrawn].says == TRUTH[CANVAS]["false_statements"][0]
        assert all(self.solved[number]["consistent"] for number in NUMBERS if number != CANVAS)

    def test_the_work_that_nobody_recorded_is_found(self) -> None:
        needed = self.solved[CANVAS]["campaigns_needed"]
        assert needed["undocumented"] == 1
        (group,) = needed["groups"]
        labels = {self.evidence[CANVAS].entities[key].label for key in group["traces"]}
        assert {f"retouching in the landing {i}" for i in range(1, 7)} <= labels
        (truth,) = TRUTH[CANVAS]["unrecorded_campaigns"]
        assert group["window"][0] <= truth["start"] <= truth["end"] <= group["window"][1]

    def test_no_bound_excludes_the_truth(self) -> None:
        wrong = []
        for item in Object.objects.filter(accession_number__in=NUMBERS):
            solved = self.solved[item.accession_number]
            for entity, points in _truth(item).items():
                group = "traces" if entity.startswith("trace:") else "events"
                for point, day in points.items():
                    earliest, latest = solved[group][entity][point]
                    # No day stands for 'still there', which only an open upper end allows.
                    fits = latest is None if day is None else earliest <= day <= (latest or day)
                    if not fits:
                        wrong.append((item.accession_number, entity, point, day, earliest, latest))
        assert wrong == []


def _truth(item: Object) -> dict[str, dict[str, str | None]]:
    """The true days of an object by the engine's ids."""
    told = TRUTH[item.accession_number]
    found: dict[str, dict[str, str | None]] = {}
    for event in told["events"]:
        match event["record"]:
            case "examination":
                record = item.campaigns.get(title=event["campaign"]).examinations.get(
                    technique__code=event["technique"], date=event["date"]
                )
            case kind:
                record = getattr(item, f"{kind}s").get(title=event["title"])
        found[f"{event['record']}:{record.pk}"] = {"start": event["start"], "end": event["end"]}
    traces = {
        (face, number): pk
        for pk, face, number in Trace.objects.filter(face__object=item).values_list(
            "pk", "face__name", "number"
        )
    }
    for trace in told["traces"]:
        pk = traces[trace["face"], trace["number"]]
        found[f"trace:{pk}"] = {"made": trace["made"], "gone": trace["gone"]}
    return found

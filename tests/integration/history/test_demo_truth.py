"""The demo at every degree of trust, against the truth that the program never reads."""

from itertools import pairwise
from typing import Any

from records.choices import EffectKind, Family, Trust
from records.history import Case, solve
from records.models import Effect
from records.reconstruction import attribution
from records.reconstruction.evidence import Evidence
from records.reconstruction.figures import figures
from records.reconstruction.gather import gather
from records.views.history import teller
from tests.demo import CANVAS, NUMBERS, DemoRecords
from tests.integration.test_demo import _truth


class TestDemoTruth(DemoRecords):
    evidence: dict[str, Evidence]
    results: dict[tuple[str, str], dict[str, Any]]

    @classmethod
    def setUpTestData(cls) -> None:
        super().setUpTestData()
        cls.evidence = {number: gather(item) for number, item in cls.objects.items()}
        cls.results = {
            (number, trust): solve(Case.from_json(found.case(trust))).to_json()
            for number, found in cls.evidence.items()
            for trust in Trust.values
        }

    def test_no_degree_of_trust_excludes_the_truth(self) -> None:
        wrong = []
        for (number, trust), result in self.results.items():
            for entity, points in _truth(self.objects[number]).items():
                group = "traces" if entity.startswith("trace:") else "events"
                for point, day in points.items():
                    earliest, latest = result[group][entity][point]
                    # No day stands for 'still there', which only an open upper end allows.
                    fits = latest is None if day is None else earliest <= day <= (latest or day)
                    if not fits:
                        wrong.append((number, trust, entity, point, day, earliest, latest))
        assert wrong == []

    def test_evidence_narrows_dates_and_more_of_it_narrows_them_more(self) -> None:
        for number in NUMBERS:
            found = [
                figures(self.evidence[number].case(trust), self.results[number, trust])
                for trust in Trust.values
            ]
            for less, more in pairwise(found):
                assert less.items <= more.items
                assert less.from_evidence <= more.from_evidence
                assert less.median_years_after >= more.median_years_after
            assert found[-1].median_years_after < found[-1].median_years_before / 10

    def test_firm_evidence_agrees_with_itself(self) -> None:
        assert all(self.results[number, Trust.FIRM]["consistent"] for number in NUMBERS)

    def test_every_bound_can_be_told(self) -> None:
        for number in NUMBERS:
            told = teller(self.evidence[number], self.evidence[number].case())
            result = self.results[number, Trust.ALL]
            for entity in (*result["events"], *result["traces"]):
                for telling in told.entity(entity, result):
                    assert str(telling.head).endswith(".")
                    assert all(sentence.record for sentence in telling.because)
            assert all(c.sentences for c in told.contradictions(result))

    def test_the_right_treatment_ranks_among_the_first(self) -> None:
        """Forget who made each intervention, then ask: how often is the truth at the top?"""
        evidence = self.evidence[CANVAS]
        made = {
            effect.trace_id: effect.treatment_id
            for effect in Effect.objects.filter(
                trace__face__object=self.objects[CANVAS],
                trace__kind__family=Family.INTERVENTION,
                treatment__isnull=False,
                kind=EffectKind.PRODUCED,
            )
        }
        case = evidence.case()
        case["evidence"] = [i for i in case["evidence"] if i["kind"] != "made_during"]
        result = solve(Case.from_json(case)).to_json()
        asked = attribution.questions(
            evidence, teller(evidence, case), result, [f"trace:{pk}" for pk in made]
        )
        ranks = []
        for question in asked:
            right = made[question.trace.pk]
            assert right not in [c.treatment.pk for c in question.ruled_out]
            order: list[int | None] = [c.treatment.pk for c in question.candidates]
            ranks.append(order.index(right) + 1)
        first, three = (sum(r <= n for r in ranks) / len(ranks) for n in (1, 3))
        assert len(ranks) > 50
        assert first > 0.9, f"{first:.0%} first"
        assert three > 0.95, f"{three:.0%} among the first three"

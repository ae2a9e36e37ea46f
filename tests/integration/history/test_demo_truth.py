"""The demo at every degree of trust, against the truth that the program never reads."""

from itertools import pairwise
from typing import Any

import pytest

from fixtures.loading import Loaded
from records.choices import Family, Trust
from records.history import Case, solve
from records.models import Effect, Object
from records.reconstruction import attribution
from records.reconstruction.evidence import Evidence
from records.reconstruction.figures import figures
from records.reconstruction.gather import gather
from records.views.history import teller
from tests.integration import test_demo
from tests.integration.test_demo import CANVAS, NUMBERS

pytestmark = pytest.mark.django_db

media, demo = test_demo.media, test_demo.demo


@pytest.fixture(scope="module")
def gathered(demo: Loaded) -> dict[str, Evidence]:
    return {n: gather(Object.objects.get(accession_number=n)) for n in NUMBERS}


@pytest.fixture(scope="module")
def degrees(gathered: dict[str, Evidence]) -> dict[tuple[str, str], dict[str, Any]]:
    return {
        (number, trust): solve(Case.from_json(found.case(trust))).to_json()
        for number, found in gathered.items()
        for trust in Trust.values
    }


@pytest.mark.parametrize("trust", Trust.values)
@pytest.mark.parametrize("number", NUMBERS)
def test_no_degree_of_trust_excludes_the_truth(
    number: str, trust: str, degrees: dict[tuple[str, str], dict[str, Any]]
) -> None:
    item = Object.objects.get(accession_number=number)
    wrong = []
    for entity, points in test_demo._truth(item).items():
        group = "traces" if entity.startswith("trace:") else "events"
        for point, day in points.items():
            earliest, latest = degrees[number, trust][group][entity][point]
            fits = latest is None if day is None else earliest <= day <= (latest or day)
            if not fits:
                wrong.append((entity, point, day, earliest, latest))
    assert wrong == []


@pytest.mark.parametrize("number", NUMBERS)
def test_evidence_narrows_dates_and_more_of_it_narrows_them_more(
    number: str, gathered: dict[str, Evidence], degrees: dict[tuple[str, str], dict[str, Any]]
) -> None:
    found = [figures(gathered[number].case(t), degrees[number, t]) for t in Trust.values]
    for less, more in pairwise(found):
        assert less.items <= more.items
        assert less.from_evidence <= more.from_evidence
        assert less.median_years_after >= more.median_years_after
    assert found[-1].median_years_after < found[-1].median_years_before / 10


def test_firm_evidence_agrees_with_itself(
    degrees: dict[tuple[str, str], dict[str, Any]],
) -> None:
    assert all(degrees[number, Trust.FIRM]["consistent"] for number in NUMBERS)


def test_every_bound_of_the_demo_can_be_told(
    gathered: dict[str, Evidence], degrees: dict[tuple[str, str], dict[str, Any]]
) -> None:
    for number in NUMBERS:
        told = teller(gathered[number], gathered[number].case())
        result = degrees[number, Trust.ALL]
        for entity in (*result["events"], *result["traces"]):
            for telling in told.entity(entity, result):
                assert str(telling.head).endswith(".")
                assert all(sentence.record for sentence in telling.because)
        assert all(c.sentences for c in told.contradictions(result))


def test_the_right_treatment_ranks_among_the_first(gathered: dict[str, Evidence]) -> None:
    """Forget who made each intervention, then ask: how often is the truth at the top?"""
    evidence = gathered[CANVAS]
    made = {
        effect.trace_id: effect.treatment_id
        for effect in Effect.objects.filter(
            trace__face__object_id=evidence.object_pk,
            trace__kind__family=Family.INTERVENTION,
            treatment__isnull=False,
            kind="produced",
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
        assert right is not None
        assert right not in [c.treatment.pk for c in question.ruled_out]
        order = [c.treatment.pk for c in question.candidates]
        ranks.append(order.index(right) + 1)
    first, three = (sum(r <= n for r in ranks) / len(ranks) for n in (1, 3))
    assert len(ranks) > 50
    assert first > 0.9, f"{first:.0%} first"
    assert three > 0.95, f"{three:.0%} among the first three"

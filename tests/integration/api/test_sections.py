"""What programs draw on the photograph of a section is checked as what people draw is."""

from typing import Any

import pytest
from rest_framework.test import APIClient

from analyses.models import Preparation
from records.changes import change
from records.choices import ImageKind, Role
from tests import builders
from tests.integration.api.test_changes import client_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def section() -> Preparation:
    item = builders.canvas()
    made = builders.section(builders.sample(builders.sampling_point(builders.face(item))), layers=1)
    with change(user=None, why="for a test"):
        made.image = builders.photograph(
            item, kind=ImageKind.SECTION, width_px=200, height_px=120, title="Section"
        )
        made.save()
    return made


@pytest.fixture
def scientist() -> APIClient:
    return client_of(Role.SCIENTIST)


def patch(client: APIClient, section: Preparation, **given: Any) -> Any:
    return client.patch(f"/api/preparations/{section.pk}/", {"why": "drawn", **given})


def test_it_works(scientist: APIClient, section: Preparation) -> None:
    lines = [[[0, 20], [200, 20]], [[200, 100], [0, 100]]]
    scale = {"points": [[10, 110], [110, 110]], "length_um": 50}
    answer = patch(scientist, section, boundaries=lines, scale=scale)
    assert answer.status_code == 200, answer.data
    section.refresh_from_db()
    assert section.um_per_px == 0.5
    assert section.boundaries == [[[0, 100], [200, 100]], [[0, 20], [200, 20]]]


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"boundaries": "here"}, "list of items"),
        ({"boundaries": [[[0, 20]]]}, "at least 2"),
        ({"boundaries": [[[0, 20], [200, "x"]]]}, "valid number"),
        ({"boundaries": [[[0, 20], [200, 20]]]}, "encloses no layer"),
        ({"boundaries": [[[0, 20], [900, 20]], [[0, 90], [200, 90]]]}, "outside the photograph"),
        ({"boundaries": [[[0, 20], [200, 90]], [[0, 90], [200, 20]]]}, "cross"),
        ({"scale": {"points": [[0, 0], [9, 9]]}}, "required"),
        ({"scale": {"points": [[0, 0], [0, 0]], "length_um": 5}}, "coincide"),
        ({"scale": {"points": [[0, 0], [9, 9]], "length_um": -5}}, "more than 0"),
    ],
)
def test_what_cannot_be_measured_is_refused(
    scientist: APIClient, section: Preparation, given: dict[str, Any], words: str
) -> None:
    answer = patch(scientist, section, **given)
    assert answer.status_code == 400
    assert words in str(answer.data)
    section.refresh_from_db()
    assert (section.boundaries, section.scale) == ([], {})


def test_a_munsell_notation_is_checked_and_kept_in_one_writing(
    scientist: APIClient, section: Preparation
) -> None:
    layer: Any = section.layers.get()
    address = f"/api/layers/{layer.pk}/"
    assert scientist.patch(address, {"munsell": "reddish", "why": "seen"}).status_code == 400
    assert scientist.patch(address, {"munsell": "2,5yr 5/6", "why": "seen"}).status_code == 200
    layer.refresh_from_db()
    assert layer.munsell == "2.5YR 5/6"

"""The pages of dossiers, as each kind of user meets them."""

import io
from pathlib import Path
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.db import DatabaseError, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.fixtures import Settings

from records.choices import Role
from records.fixity import sha256
from records.models import User
from reports import building
from reports.choices import DossierState
from reports.models import Dossier
from tests import builders
from tests.integration.reports.conftest import Small

pytestmark = pytest.mark.django_db
PDF = b"%PDF-1.7\nwhat was made\n"


@pytest.fixture
def ready(small: Small) -> Dossier:
    """A finished dossier; what its file holds does not matter here."""
    dossier = building.ask_for(small.object, by=small.committee, request="May it travel?")
    dossier.file.save("made.pdf", ContentFile(PDF), save=False)
    Dossier.objects.filter(pk=dossier.pk).update(
        state=DossierState.READY,
        progress=100,
        file=dossier.file.name,
        sha256=sha256(ContentFile(PDF)),
        page_count=1,
        finished_at=timezone.now(),
    )
    return Dossier.objects.get(pk=dossier.pk)


def as_user(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


def as_role(role: Role) -> Client:
    return as_user(builders.user(role))


def upload(content: bytes) -> dict[str, Any]:
    return {"file": SimpleUploadedFile("copy.pdf", content, "application/pdf")}


def test_a_committee_member_asks_for_a_dossier_and_follows_it(small: Small) -> None:
    client = as_user(small.committee)
    page = reverse("object-dossiers", args=[small.object.pk])
    assert "No dossiers yet" in client.get(page).content.decode()
    answer = client.post(page, {"title": "Summer loan", "request": "May it travel?"}, follow=True)
    dossier = Dossier.objects.get()
    assert answer.redirect_chain[-1][0] == dossier.get_absolute_url()
    assert "Waiting for the task worker" in answer.content.decode()
    Dossier.objects.filter(pk=dossier.pk).update(
        state=DossierState.BUILDING, progress=40, step="Laying out page 12"
    )
    part = client.get(f"{dossier.get_absolute_url()}?part=progress")
    assert "Laying out page 12" in part.content.decode()
    assert 'value="40"' in part.content.decode()
    assert "HX-Refresh" not in part
    Dossier.objects.filter(pk=dossier.pk).update(state=DossierState.FAILED, error="No room.")
    assert client.get(f"{dossier.get_absolute_url()}?part=progress")["HX-Refresh"] == "true"


def test_asking_without_naming_the_decision_says_what_is_missing(small: Small) -> None:
    client = as_user(small.committee)
    answer = client.post(
        reverse("object-dossiers", args=[small.object.pk]), {"title": "Summer loan"}
    )
    assert answer.status_code == 422
    assert not Dossier.objects.exists()


def test_a_failed_dossier_says_why_and_is_asked_for_again(small: Small) -> None:
    client = as_user(small.committee)
    dossier = building.ask_for(small.object, by=small.committee, request="May it travel?")
    Dossier.objects.filter(pk=dossier.pk).update(state=DossierState.FAILED, error="No room.")
    assert "No room." in client.get(dossier.get_absolute_url()).content.decode()
    client.post(reverse("dossier-again", args=[dossier.pk]))
    dossier.refresh_from_db()
    assert (dossier.state, dossier.error) == (DossierState.QUEUED, "")


def test_a_finished_dossier_shows_its_fixity_and_is_handed_out(ready: Dossier) -> None:
    client = as_role(Role.COMMITTEE)
    assert ready.sha256 in client.get(ready.get_absolute_url()).content.decode()
    answer = client.get(reverse("dossier-file", args=[ready.pk]))
    assert b"".join(answer.streaming_content) == PDF  # type: ignore[attr-defined]
    assert "attachment" in answer["Content-Disposition"]


def test_the_web_server_hands_the_file_out_where_it_can(ready: Dossier, settings: Settings) -> None:
    settings.PROTECTED_MEDIA_PREFIX = "/protected/"
    answer = as_role(Role.COMMITTEE).get(reverse("dossier-file", args=[ready.pk]))
    assert answer["X-Accel-Redirect"] == f"/protected/{ready.file.name}"


def test_nobody_reads_a_dossier_without_signing_in(ready: Dossier) -> None:
    for name in ("dossier", "dossier-file", "dossier-verify"):
        assert Client().get(reverse(name, args=[ready.pk])).status_code == 302


@pytest.mark.parametrize("role", [Role.COMMITTEE, Role.SCIENTIST])
def test_only_a_conservator_or_an_administrator_signs(ready: Dossier, role: Role) -> None:
    client = as_role(role)
    assert "Sign as" not in client.get(ready.get_absolute_url()).content.decode()
    assert client.post(reverse("dossier-sign", args=[ready.pk])).status_code == 403
    ready.refresh_from_db()
    assert ready.signed_at is None


@pytest.mark.parametrize("role", [Role.CONSERVATOR, Role.ADMINISTRATOR])
def test_a_signature_is_kept_and_locks_the_dossier(ready: Dossier, role: Role) -> None:
    user = builders.user(role)
    client = as_user(user)
    assert "Sign as" in client.get(ready.get_absolute_url()).content.decode()
    client.post(reverse("dossier-sign", args=[ready.pk]))
    ready.refresh_from_db()
    assert ready.signed_by == user
    assert "Sign as" not in client.get(ready.get_absolute_url()).content.decode()
    with pytest.raises(DatabaseError), transaction.atomic():
        Dossier.objects.filter(pk=ready.pk).update(signed_at=None, signed_by=None)


def test_a_dossier_whose_stored_file_was_altered_is_not_signed(ready: Dossier) -> None:
    with Path(ready.file.path).open("ab") as kept:
        kept.write(b"one byte more")
    answer = as_role(Role.CONSERVATOR).post(reverse("dossier-sign", args=[ready.pk]), follow=True)
    assert "differs from the one made" in answer.content.decode()
    ready.refresh_from_db()
    assert ready.signed_at is None


def test_a_copy_is_found_to_be_the_same_or_to_differ(ready: Dossier) -> None:
    client = as_role(Role.COMMITTEE)
    page = reverse("dossier-verify", args=[ready.pk])
    same = client.post(page, upload(PDF)).content.decode()
    assert f"The file is dossier {ready.pk} as it was made." in same
    changed = client.post(page, upload(PDF + b" ")).content.decode()
    assert "its content differs" in changed


def test_a_file_is_recognised_without_knowing_which_dossier_it_should_be(
    ready: Dossier,
) -> None:
    client = as_role(Role.COMMITTEE)
    page = reverse("dossiers-verify")
    assert "as it was made" in client.post(page, upload(PDF)).content.decode()
    unknown = client.post(page, upload(b"%PDF-1.7\nsomething else\n")).content.decode()
    assert "No dossier kept here has this content." in unknown
    number = f"antequem-dossier-{ready.pk}".encode().hex()
    claim = f"%PDF-1.7\n/ID [<{number}>]\naltered\nstartxref\n9\n%%EOF\n"
    altered = client.post(page, upload(claim.encode())).content.decode()
    assert f"says that it is dossier {ready.pk}" in altered


def test_verifying_nothing_asks_for_a_file(ready: Dossier) -> None:
    assert as_role(Role.COMMITTEE).post(reverse("dossiers-verify"), {}).status_code == 422


def test_the_list_of_all_dossiers_narrows_by_words_and_state(
    ready: Dossier, django_assert_max_num_queries: Any
) -> None:
    client = as_role(Role.COMMITTEE)
    for number in range(12):
        building.ask_for(
            ready.object, by=ready.requested_by, request="Another", title=f"Other {number}"
        )
    with django_assert_max_num_queries(8):
        everything = client.get(reverse("dossiers")).content.decode()
    assert "Other 11" in everything
    found = client.get(reverse("dossiers"), {"words": "travel", "state": "ready"})
    assert ready.title in found.content.decode()
    assert "Other 11" not in found.content.decode()


def test_the_command_verifies_a_stored_dossier_by_its_number(ready: Dossier) -> None:
    told = io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("verify_dossier", str(ready.pk), stdout=told)
    assert ended.value.code == 0
    assert "is as it was made" in told.getvalue()

"""Accounts: an administrator adds, changes and closes them; nobody else sees them."""

import pytest
from django.test import Client

from records.choices import Role
from records.models import User
from tests import builders

pytestmark = pytest.mark.django_db


@pytest.fixture
def administrator(client: Client) -> Client:
    client.force_login(builders.user(Role.ADMINISTRATOR))
    return client


def test_it_works(administrator: Client) -> None:
    builders.user(Role.SCIENTIST, username="ada")
    assert "ada" in administrator.get("/accounts/").content.decode()


def test_a_new_account_can_sign_in_in_its_role(administrator: Client, client: Client) -> None:
    given = {"username": "nora", "role": "scientist", "password1": "low-water-9", "email": ""}
    refused = administrator.post("/accounts/new", {**given, "password2": "another"})
    assert refused.status_code == 422
    added = administrator.post("/accounts/new", {**given, "password2": "low-water-9"})
    assert added.headers["Location"] == "/accounts/"
    assert User.objects.get(username="nora").writes_analyses
    assert Client().login(username="nora", password="low-water-9")


def test_a_closed_account_cannot_sign_in(administrator: Client) -> None:
    made = builders.user(Role.SCIENTIST, username="ada")
    administrator.post(f"/accounts/{made.pk}/edit", {"role": "scientist"})
    assert not Client().login(username="ada", password="correct horse")


def test_a_password_can_be_set_anew(administrator: Client) -> None:
    made = builders.user(Role.SCIENTIST, username="ada")
    both = {"new_password1": "high-water-7", "new_password2": "high-water-7"}
    administrator.post(f"/accounts/{made.pk}/password", both)
    assert Client().login(username="ada", password="high-water-7")


@pytest.mark.parametrize("role", [Role.CONSERVATOR, Role.SCIENTIST, Role.COMMITTEE])
def test_nobody_else_sees_accounts(client: Client, role: Role) -> None:
    client.force_login(builders.user(role))
    for path in ["/accounts/", "/accounts/new", "/accounts/1/edit", "/accounts/1/password"]:
        assert client.get(path).status_code == 403

"""What pages may load: nothing from elsewhere, and no script or style that stands in a page."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from deploy.policy import POLICY
from tests.integration.pages.conftest import World

IN_THE_PAGE = re.compile(
    r"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)(?![^>]*json)|javascript:"
)


def test_it_works(conservator: Client) -> None:
    assert conservator.get(reverse("desk"))["Content-Security-Policy"] == POLICY
    assert "unsafe" not in POLICY


@pytest.mark.parametrize("name", ["login", "api-schema"])
def test_answers_to_strangers_carry_the_policy(client: Client, name: str) -> None:
    assert client.get(reverse(name))["Content-Security-Policy"] == POLICY


def test_no_page_of_an_object_holds_a_script_or_a_style(conservator: Client, world: World) -> None:
    for room in ("object", "object-surface", "object-history", "object-laboratory"):
        page = conservator.get(reverse(room, args=[world.object.pk])).content.decode()
        assert IN_THE_PAGE.findall(page) == [], room

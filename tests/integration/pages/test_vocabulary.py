"""The vocabularies: browsing, reading, adding and changing terms; people."""

import pytest
from django.test import Client
from django.urls import reverse

from records.models import Material, MaterialDate, Technique
from records.versions import versions_of
from tests import builders as make
from tests.integration.pages.conftest import World
from tests.integration.pages.test_objects import queries_of

WHITE = {
    "label": "lithopone",
    "code": "lithopone",
    "definition": "Zinc sulphide and barium sulphate, precipitated together.",
    "group": "pigment",
    "elements": "Zn, Ba, S, O",
    "identifiers.uri": ["https://example.org/terms/17"],
    "identifiers.scheme": ["A published list"],
    "translations.language": ["de"],
    "translations.label": ["Lithopone"],
    "translations.definition": [""],
}


def test_it_works(conservator: Client, world: World) -> None:
    response = conservator.post(reverse("material-new"), WHITE)
    made = Material.objects.get(code="lithopone")
    assert response["Location"] == made.get_absolute_url()
    assert made.elements == ["Zn", "Ba", "S", "O"]
    assert made.translations == {"de": {"label": "Lithopone"}}
    assert made.identifiers == [
        {"scheme": "A published list", "uri": "https://example.org/terms/17"}
    ]


def test_a_term_is_found_by_its_translation(conservator: Client, world: World) -> None:
    make.material("chalk", translations={"de": {"label": "Kreide", "definition": ""}})
    page = conservator.get(reverse("materials"), {"q": "kreid"}).content.decode()
    assert "chalk" in page
    assert "titanium white" not in page


def test_materials_are_found_by_element(conservator: Client, world: World) -> None:
    make.material("zinc-white", elements=["Zn", "O"])
    make.material("smithsonite", elements=["Zn", "C", "O"], formula="ZnCO3")
    page = conservator.get(reverse("materials"), {"element": "zn"}).content.decode()
    assert "zinc white" in page
    assert "ZnCO₃" in page
    assert "titanium white" not in page


def test_a_term_cannot_be_broader_than_itself(conservator: Client, world: World) -> None:
    narrow = make.material("anatase", broader=world.material)
    given = {
        "label": "titanium white",
        "definition": "Titanium dioxide.",
        "group": "pigment",
        "broader": narrow.pk,
        "why": "a try",
    }
    response = conservator.post(reverse("material-edit", args=[world.material.pk]), given)
    assert "broader than itself" in str(response.context["form"].errors["broader"])


def test_a_code_stays_as_it_is(conservator: Client, world: World) -> None:
    given = {
        "label": "Titanium white",
        "code": "another-code",
        "definition": "Titanium dioxide as a pigment.",
        "group": "pigment",
        "why": "clearer words",
    }
    conservator.post(reverse("material-edit", args=[world.material.pk]), given)
    world.material.refresh_from_db()
    assert world.material.code == "titanium-white"
    assert world.material.definition == "Titanium dioxide as a pigment."


def test_a_date_of_use_needs_a_source(conservator: Client, world: World) -> None:
    address = reverse("material-date-new", args=[world.material.pk])
    given = {"kind": "common_from", "date": "1921~"}
    assert "source" in conservator.post(address, given).context["form"].errors
    conservator.post(address, given | {"source": "A handbook, p. 12"})
    assert MaterialDate.objects.get(kind="common_from").date_in_words.startswith("about 1921")


def test_a_list_takes_as_many_queries_for_thirty_terms_as_for_three(
    conservator: Client, world: World
) -> None:
    few = queries_of(conservator, reverse("techniques"))
    for number in range(30):
        make.term(Technique, f"technique-{number}", group="imaging")
    assert queries_of(conservator, reverse("techniques")) == few


def test_a_person_is_found_and_shown_with_their_records(conservator: Client, world: World) -> None:
    page = conservator.get(reverse("people"), {"q": "rook"}).content.decode()
    assert "Ada Rook" in page
    assert conservator.get(world.person.get_absolute_url()).status_code == 200


def test_a_material_says_its_hazards_in_words_by_what_it_shows_and_both_views_of_a_date(
    conservator: Client, db: None
) -> None:
    white = make.term(
        Material, "zinc-white", group="pigment", marks=["Zn"], phases=["zincite"], hazards=["H410"],
        formula="CaSO4·2H2O",
    )  # fmt: skip
    for kind, date, note in [
        ("first_attested", "1782", "First proposed for painting"),
        ("first_attested", "1834", "Sold as a dense watercolour white"),
        ("common_from", "1845/1850", ""),
    ]:
        make.recorded(
            MaterialDate, material=white, kind=kind, date=date, note=note, source="from memory"
        )
    page = " ".join(conservator.get(white.get_absolute_url()).content.decode().split())
    assert "Very toxic to aquatic life with long lasting effects" in page
    assert "Zn: Kα 8.6" in page
    assert "CaSO₄·2H₂O" in page
    assert "Zinc oxide (zincite): d 2.48" in page
    first = page[page.index("First attested use") : page.index("Common from")]
    assert "disputed" in first
    assert "First proposed for painting" in first
    assert "dense watercolour white" in first
    assert "Source: from memory" in first
    bare = make.term(Material, "plaster", group="filler")
    page = conservator.get(bare.get_absolute_url()).content.decode()
    assert "that is not to say that it is harmless" in page
    assert "disputed" not in page


def test_a_scientist_keeps_the_list_of_materials(scientist: Client, world: World) -> None:
    """What the laboratory concludes rests on this list; the other vocabularies stay closed."""
    assert scientist.post(reverse("material-new"), WHITE).status_code == 302
    made = Material.objects.get(code="lithopone")
    date = {"kind": "first_attested", "date": "1847~", "source": "from memory"}
    assert scientist.post(reverse("material-date-new", args=[made.pk]), date).status_code == 302
    assert (
        reverse("material-edit", args=[made.pk])
        in scientist.get(made.get_absolute_url()).content.decode()
    )
    assert scientist.get(reverse("trace-kind-new")).status_code == 403


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("elements", "Pb, Xx", "“Xx” is not the symbol of an element"),
        ("elements", "pb", "Write the symbol “Pb”"),
        ("marks", "Cd", "Cd is not among the elements"),
        ("phases", "calcit", "nearest: calcite"),
        ("bands", "protien", "nearest: protein"),
        ("colours", "yelow", "nearest: yellow"),
        ("hazards", "H302, poison", "“poison” is no hazard statement"),
        ("hazards", "H999", "“H999” is no hazard statement"),
    ],
)
def test_what_no_evaluation_could_find_is_refused_with_what_is_nearest(
    scientist: Client, field: str, typed: str, words: str
) -> None:
    answer = scientist.post(reverse("material-new"), WHITE | {field: typed})
    assert answer.status_code == 422
    assert words in str(answer.context["form"].errors[field])
    assert not Material.objects.exists()


def test_symbols_may_be_divided_as_people_do_and_a_change_elsewhere_leaves_them_alone(
    scientist: Client, db: None
) -> None:
    given = WHITE | {"elements": "Zn; Ba S,O", "hazards": "H302; H360Df", "bands": "protein"}
    refused = scientist.post(reverse("material-new"), given)
    assert "say how to work with it" in str(refused.context["form"].errors["cautions"])
    given["cautions"] = "Gloves; no dust."
    assert scientist.post(reverse("material-new"), given).status_code == 302
    made = Material.objects.get()
    page = scientist.get(made.get_absolute_url()).content.decode()
    assert "Gloves; no dust." in page
    assert "own rules come first" in page
    assert (made.elements, made.hazards) == (["Zn", "Ba", "S", "O"], ["H302", "H360Df"])
    form = scientist.get(reverse("material-edit", args=[made.pk])).context["form"]
    said = {name: form[name].value() for name in ("elements", "hazards", "bands")}
    assert said["elements"] == "Zn, Ba, S, O"
    again = given | said | {"uv": "dark", "why": "seen", "opened": form["opened"].value()}
    assert scientist.post(reverse("material-edit", args=[made.pk]), again).status_code == 302
    assert [one.label for one in versions_of(made)[0].differences] == ["Uv"]

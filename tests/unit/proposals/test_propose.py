"""Materials proposed from readings: what explains, what contradicts, what would decide."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from analyses.proposals import Candidate, Looked, Outcome, Read, Sight, Target, propose
from analyses.spectra.findings import Certainty

SURE, LIKELY = Certainty.SURE, Certainty.LIKELY


def material(code: str, marks: str = "", **shown: object) -> Candidate:
    shown = {
        key: frozenset(value.split())
        if isinstance(value, str) and key != "not_before_words"
        else value
        for key, value in shown.items()
    }
    label = code.replace("_", " ").capitalize()
    return Candidate(code, label, "pigment", marks=frozenset(marks.split()), **shown)  # type: ignore[arg-type]


LEAD_WHITE = material("lead_white", "Pb", phases="hydrocerussite cerussite", colours="white")
CHROME_YELLOW = material("chrome_yellow", "Pb Cr", phases="crocoite", colours="yellow")
RUTILE = material(
    "rutile_white", "Ti", phases="rutile", colours="white",
    not_before=date(1938, 1, 1), not_before_words="first sold to painters in 1938",
)  # fmt: skip
ANATASE = material("anatase_white", "Ti", phases="anatase", colours="white")
CHALK = material("chalk", "Ca", phases="calcite", bands="carbonate", colours="white")
VERMILION = material("vermilion", "Hg S", phases="cinnabar", colours="red")
SMALT = material("smalt", "Co Si", elements="K As Ni Fe", colours="blue")
LIST = [LEAD_WHITE, CHROME_YELLOW, RUTILE, ANATASE, CHALK, VERMILION, SMALT]

EDX = Looked("edx", "the SEM-EDX of layer 2", Sight.SEM_EDX)
XRF = Looked("xrf", "the XRF of point 3", Sight.XRF, here=False)
XRD = Looked("xrd", "the XRD of the sample", Sight.XRD)


def elements(symbols: str, by: str = "edx", certainty: Certainty = SURE) -> tuple[Read, ...]:
    return tuple(Read("element", symbol, certainty, by) for symbol in symbols.split())


def codes(outcome: Outcome) -> list[str]:
    return [proposal.candidate.code for proposal in outcome.proposals]


def test_a_reading_that_few_materials_show_counts_more() -> None:
    outcome = propose(Target((EDX,), elements("Pb Cr")), LIST)
    assert codes(outcome)[0] == "chrome_yellow"
    assert outcome.proposals[0].bits > outcome.proposals[-1].bits


def test_an_element_that_would_have_been_seen_contradicts() -> None:
    outcome = propose(Target((EDX,), elements("Pb")), LIST)
    assert codes(outcome) == ["lead_white"]
    refused = {p.candidate.code: p for p in outcome.contradicted}
    assert refused["chrome_yellow"].against == (
        "the SEM-EDX of layer 2 would have shown Cr; it was not read.",
    )


def test_what_a_technique_cannot_see_contradicts_nothing() -> None:
    """Sulfur's lines do not come through air, so an XRF without S leaves vermilion standing."""
    outcome = propose(Target((XRF,), elements("Hg", by="xrf")), LIST)
    assert codes(outcome) == ["vermilion"]
    assert "looks through more than this place" in outcome.proposals[0].grounds[0]


def test_two_forms_of_one_oxide_are_left_to_diffraction() -> None:
    outcome = propose(Target((EDX,), elements("Ti")), LIST)
    assert set(codes(outcome)) == {"rutile_white", "anatase_white"}
    assert outcome.proposals[0].bits == outcome.proposals[1].bits
    (told,) = outcome.proposals[1].decide
    assert "X-ray diffraction" in told
    assert "rutile for rutile white" in told


def test_diffraction_then_decides() -> None:
    read = (*elements("Ti"), Read("phase", "anatase", SURE, "xrd"))
    outcome = propose(Target((EDX, XRD), read), LIST)
    assert codes(outcome)[0] == "anatase_white"
    assert any("none of its phases" in told for told in outcome.proposals[1].against)


def test_a_material_younger_than_the_layer_is_contradicted() -> None:
    target = Target((EDX,), elements("Ti"), date(1931, 12, 31), "the layer is no later than 1931")
    outcome = propose(target, LIST)
    assert codes(outcome) == ["anatase_white"]
    (young,) = (p for p in outcome.contradicted if p.candidate.code == "rutile_white")
    assert young.against == (
        "It is younger than this place can be: first sold to painters in 1938; "
        "the layer is no later than 1931.",
    )


def test_a_mixture_is_explained_by_few_materials_and_the_rest_is_named() -> None:
    read = (*elements("Pb Cr Hg S Cd"),)
    outcome = propose(Target((EDX,), read), LIST)
    assert {p.candidate.code for p in outcome.together} == {"chrome_yellow", "vermilion"}
    assert [r.code for r in outcome.unexplained] == ["Cd"]


def test_what_lies_beside_the_place_need_not_be_explained_by_it() -> None:
    """The sample's pattern shows calcite of another layer; the layer's own elements have no Ca."""
    whole = Looked("whole", "the XRD of the sample", Sight.XRD, here=False)
    read = (*elements("Ti"), *(Read("phase", p, SURE, "whole") for p in ("calcite", "crocoite")))
    outcome = propose(Target((EDX, whole), read), LIST)
    assert outcome.unexplained == ()
    assert len(outcome.together) == 1
    of_sample = propose(Target((whole,), read[1:]), LIST)
    assert {p.candidate.code for p in of_sample.together} == {"chalk", "chrome_yellow"}


def test_the_colour_of_a_mixture_asks_for_no_material_of_its_own() -> None:
    eye = Looked("colour", "the look of layer 2", Sight.EYE)
    white = material("zinc_white", "Zn", colours="white")
    metal = material("zinc", "Zn", colours="grey")
    tone = tuple(Read("colour", colour, LIKELY, "colour") for colour in ("grey", "white"))
    outcome = propose(Target((EDX, eye), (*elements("Zn"), *tone)), [white, metal, LEAD_WHITE])
    assert len(outcome.together) == 1
    assert outcome.unexplained == ()


def test_an_unsure_reading_counts_less() -> None:
    sure = propose(Target((EDX,), elements("Hg S")), LIST).proposals[0]
    likely = propose(Target((EDX,), elements("Hg S", certainty=LIKELY)), LIST).proposals[0]
    assert likely.bits < sure.bits


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["Pb", "Cr", "Ti", "Ca", "Hg", "S", "Co", "Si", "K", "Cd"]),
            st.sampled_from(Certainty),
        ),
        max_size=8,
    )
)
def test_what_is_proposed_never_leaves_a_reading_out_of_the_account(
    drawn: list[tuple[str, Certainty]],
) -> None:
    read = tuple(Read("element", symbol, certainty, "edx") for symbol, certainty in drawn)
    outcome = propose(Target((EDX,), read), LIST)
    explained = {r for p in outcome.proposals for r in p.explains}
    assert explained | set(outcome.unexplained) == set(read)
    assert {r for p in outcome.together for r in p.explains} == explained
    assert not {p.candidate.code for p in outcome.proposals} & {
        p.candidate.code for p in outcome.contradicted
    }
    assert propose(Target((EDX,), read), LIST) == outcome

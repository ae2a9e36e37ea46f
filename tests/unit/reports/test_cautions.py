"""Cautions drawn from an object's own records."""

from reports.cautions import FURTHER, Mention, cautions

LEAD = Mention("lead_white", "Lead white", "", "identified at P1", ("Pb", "C"), ("H360Df",))
RESIN = Mention("dammar", "Dammar", "Solvent vapours: extraction.", "used in ‘Varnish’")
MOULD = Mention("mould", "Mould", "", "recto 5")
XRAY = Mention("xradiography", "X-radiography", "", "Survey of 2019")
DRY = Mention("pastel", "Pastel", "Do not rub.", "recto 9")


def test_each_danger_is_named_with_the_record_that_gives_reason_for_it() -> None:
    told = {c.title: c for c in cautions([LEAD, RESIN, MOULD, XRAY])}
    assert list(told) == ["Lead", "Solvents", "X-rays", "Mould"]
    assert told["Lead"].grounds == ("Lead white: identified at P1",)
    assert told["Lead"].hazards == ("H360Df",)


def test_nothing_is_cautioned_against_without_a_record() -> None:
    assert cautions([Mention("chalk", "Chalk", "", "identified at P2", ("Ca",))]) == []


def test_what_the_lists_of_terms_say_is_passed_on_once() -> None:
    other = Mention("charcoal", "Charcoal", "Do not rub.", "recto 10")
    (caution,) = cautions([DRY, other])
    assert (caution.title, caution.words) == (FURTHER, "Do not rub.")
    assert caution.grounds == ("Pastel: recto 9", "Charcoal: recto 10")

"""Safety facts: sourced figures, the sheet last of every answer, and nothing that clears a material."""

from __future__ import annotations

import pytest

from benchvoice.calculator.additives import additives
from benchvoice.calculator.materials import catalogue
from benchvoice.calculator.safety import (
    COLUMNS,
    Action,
    Hazard,
    facts,
    facts_about,
    facts_for,
    hazard_codes,
    hazards_of,
    parse_safety,
)
from benchvoice.calculator.sources import Known
from benchvoice.calculator.tables import BadTable

SHEET = "safety data sheet"
EVERYTHING = sorted(
    {m.name for m in catalogue().values()} | {a.name for a in additives().values()} | {"moon dust"}
)


def codes(action, *names):
    """Return the codes said before an action."""
    return [fact.code for fact in facts_for(action, names)]


# (subject, code, figure, unit, published source)
FIGURES = [
    ("silica-dust", "us limit", "50", "µg/m³ over 8 hours"),  # 29 CFR 1910.1053 (second-hand)
    ("silica-dust", "us action level", "25", "µg/m³ over 8 hours"),  # the same
    ("silica-dust", "eu limit", "100", "µg/m³ over 8 hours"),  # Directive (EU) 2017/2398: 0.1 mg/m³ (seen)
    ("silica-dust", "uk limit", "100", "µg/m³ over 8 hours"),  # EH40/2005 addendum: 0.1 mg/m³ (seen)
    ("electric-mixer", "residual current device", "30", "mA"),  # text matching HSE guidance (second-hand)
    ("caustic", "rinse eyes", "15 to 20", "minutes"),  # safety data sheet excerpts (seen)
    ("food-use", "us lead limit cups", "0.5", "mg/L"),  # WAC 246-215-04110 (seen)
    ("food-use", "us lead limit flatware", "3", "mg/L"),  # the same
    ("food-use", "eu lead limit hollow", "4", "mg/L"),  # 84/500/EEC article 2(4) (seen)
    ("food-use", "eu cadmium limit hollow", "0.3", "mg/L"),  # the same
]


@pytest.mark.parametrize(("subject", "code", "value", "unit"), FIGURES)
def test_published_figures(subject, code, value, unit):
    """Each figure is the published one, in its unit."""
    found = next(fact for fact in facts_about(subject) if fact.code == code)
    assert (found.value, found.unit) == (value, unit)
    assert found.source.known in (Known.SEEN, Known.SECOND_HAND)


@pytest.mark.parametrize("action", Action)
def test_every_answer_ends_with_the_safety_data_sheet(action):
    """Whatever is in hand and whatever is done, the answer is never empty and the sheet is last, once."""
    for name in EVERYTHING:
        said = codes(action, name)
        assert said[-1] == SHEET
        assert len(said) == len(set(said))
    assert codes(action)[-1] == SHEET


def test_nothing_is_ever_declared_safe():
    """The word stands in no code or figure but the sheet's name, and no class means harmless."""
    for fact in facts():
        text = f"{fact.code} {fact.value}".replace(SHEET, "")
        assert not any(word in text for word in ("safe", "harmless", "non-toxic", "no hazard", "clear to"))
    assert not any("safe" in hazard or "harmless" in hazard for hazard in Hazard)


@pytest.mark.parametrize("name", EVERYTHING)
def test_every_powder_brings_a_hazard_class(name):
    """No material stands without a class; an unknown one has its label unread."""
    assert hazards_of(name)


def test_an_unknown_material_asks_for_its_label():
    """Nothing is assumed of what is not in the table."""
    assert hazards_of("moon dust") == (Hazard.UNREAD_LABEL,)
    assert codes(Action.WEIGH_POWDER, "moon dust") == ["read the label", SHEET]


@pytest.mark.parametrize("name", ["quartz", "feldspar", "kaolin", "china clay", "talc", "nepheline syenite"])
def test_silica_bearing_powders_bring_the_mask(name):
    """The mask is said before the powder is weighed."""
    assert codes(Action.WEIGH_POWDER, name)[0] == "mask before powder"


def test_silicate_is_caustic():
    """Goggles, aluminium, vinegar and first aid, each with its own source (ECHA dossier and sheets, seen)."""
    said = codes(Action.DOSE, "water glass")
    assert {
        "irritating to corrosive",
        "goggles and gloves",
        "no aluminium",
        "not with vinegar",
        "rinse eyes",
    } <= set(said)
    assert "swallowed no vomiting" in said


def test_cleaning_up_quartz_forbids_the_dry_broom():
    """No dry sweeping (OSHA interpretation letter of 2018-11-02, seen at source)."""
    said = facts_for(Action.CLEAN_UP, ["flint"])
    assert said[0].code == "no dry sweeping"
    assert said[0].source.known is Known.SEEN


def test_the_machine_brings_its_own_hazard_whatever_is_in_hand():
    """Wet hands and mains: three facts, with or without materials."""
    wanted = ["residual current device", "dry hands", "unplug before lifting"]
    assert [code for code in codes(Action.MIX_BY_MACHINE) if code in wanted] == wanted
    assert [code for code in codes(Action.MIX_BY_MACHINE, "quartz") if code in wanted] == wanted
    assert "dry hands" not in codes(Action.SIEVE, "quartz")


def test_food_use_is_not_proven_until_a_laboratory_leach_test():
    """First of all it is not proven; home tests do not count, and the limits cover two metals only."""
    said = codes(Action.FOOD_USE, "cobalt carbonate")
    assert said[0] == "not proven until leach test"
    assert {"home tests do not count", "lead and cadmium only"} <= set(said)


def test_two_materials_say_each_fact_once():
    """Quartz and whiting both ask for a mask: it is said once."""
    assert codes(Action.WEIGH_POWDER, "quartz", "whiting").count("mask before powder") == 1


@pytest.mark.parametrize(
    ("name", "known"),
    [("cobalt carbonate", Known.SEEN), ("manganese", Known.MEMORY), ("water glass", Known.MEMORY)],
)
def test_hazard_codes_say_how_they_are_known(name, known):
    """Only cobalt carbonate's codes were seen; the rest are from memory and say so."""
    found = hazard_codes(name)
    assert found.value.startswith("H3")
    assert found.source.known is known


def test_no_codes_noted_is_not_a_clearance():
    """No codes are noted for whiting: the answer is None, and the sheet is still asked for."""
    assert hazard_codes("whiting") is None
    assert codes(Action.WEIGH_POWDER, "whiting")[-1] == SHEET


def test_hazard_classes_of_the_tables_are_all_known():
    """Every class named by a material or additive is one that facts can be about."""
    for name in EVERYTHING:
        for hazard in hazards_of(name):
            assert facts_about(hazard), hazard


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("moon dust,x,dose,,,y,from memory", "a hazard class or a known substance"),
        ("dust,,dose,,,y,from memory", "a code is wanted"),
        ("dust,x,juggle,,,y,from memory", "for actions; got 'juggle'"),
        ("dust,x,dose,,,,from memory", "a source is wanted"),
    ],
)
def test_a_bad_line_is_refused(line, reason):
    """An unknown subject or action, or a fact without code or source, is refused with its line."""
    with pytest.raises(BadTable, match=reason):
        parse_safety(",".join(COLUMNS) + "\n" + line)

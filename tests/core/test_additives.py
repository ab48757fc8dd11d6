"""The table of additives: every one has a ceiling and says how it is known."""

from __future__ import annotations

import pytest

from benchvoice.calculator.additives import (
    COLUMNS,
    Kind,
    UnknownAdditive,
    additives,
    find_additive,
    parse_additives,
)
from benchvoice.calculator.sources import Known
from benchvoice.calculator.tables import BadTable

HEAD = ",".join(COLUMNS) + "\n"
GOOD = "x,,flocculant,liquid,1.0,50,0.1,0.2,0.3,irritant,book,from memory,label,from memory"


@pytest.mark.parametrize(
    ("spoken", "name", "kind"),
    [
        ("sodium silicate", "sodium silicate", Kind.DEFLOCCULANT),
        ("Water  Glass", "sodium silicate", Kind.DEFLOCCULANT),
        ("dispersant", "dispersant", Kind.DEFLOCCULANT),
        ("soda ash", "soda ash", Kind.DEFLOCCULANT),
        ("epsom salts", "magnesium sulfate", Kind.FLOCCULANT),
        ("calcium chloride", "calcium chloride", Kind.FLOCCULANT),
        ("vinegar", "vinegar", Kind.FLOCCULANT),
    ],
)
def test_every_additive_of_the_bench_is_known(spoken, name, kind):
    """Three deflocculants and three flocculants, by their trade names."""
    found = find_additive(spoken)
    assert (found.name, found.kind) == (name, kind)


def test_silicate_density_is_that_of_40_degrees_baume():
    """145/(145 - 40) = 1.38095 (modulus 145: Perry's 8th edition, table 1-13, seen at source as cited)."""
    assert find_additive("sodium silicate").density == pytest.approx(145 / (145 - 40), abs=1e-3)


@pytest.mark.parametrize(
    ("name", "share"),
    [("sodium silicate", 0.363), ("dispersant", 0.45), ("vinegar", 0.05), ("soda ash", 1.0)],
)
def test_active_share(name, share):
    """36.3 % solids: an older sheet of the common silicate grade, seen at source; the rest from memory."""
    assert find_additive(name).active == pytest.approx(share)


def test_a_name_may_stand_for_one_additive_only():
    """The same line twice is refused."""
    with pytest.raises(BadTable, match="line 3: a new name is wanted"):
        parse_additives(HEAD + GOOD + "\n" + GOOD)


def test_published_doses():
    """1/4 of 1 % (silicate, soda ash), 1/2 of 1 % (magnesium sulfate): Pitelka's glossary, second-hand."""
    assert find_additive("sodium silicate").ceiling == pytest.approx(0.25)
    assert find_additive("soda ash").ceiling == pytest.approx(0.25)
    assert find_additive("magnesium sulfate").ceiling == pytest.approx(0.5)


def test_every_additive_has_a_source_and_none_of_the_doses_is_passed_off_as_read():
    """No dose for a glaze was read at its source, so none says so."""
    for additive in additives().values():
        assert additive.doses.text
        assert additive.strength.text
        assert additive.doses.known is not Known.SEEN


def test_every_deflocculant_and_salt_names_a_hazard_class():
    """No additive stands without a class, be it only "read the label"."""
    assert all(additive.hazards for additive in additives().values())


def test_an_unknown_additive_is_not_dosed():
    """Without a ceiling nothing is dosed: the refusal lists what is known."""
    with pytest.raises(UnknownAdditive, match="sodium silicate"):
        find_additive("washing-up liquid")


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ("0.1,0.2,0.3", "0.3,0.2,0.1", "start ≤ usual ≤ ceiling"),
        ("0.1,0.2,0.3", "0,0.2,0.3", "0 < start"),
        ("0.1,0.2,0.3", "0.1,0.2,5.5", "ceiling ≤ 5"),
        ("flocculant", "thickener", "one of deflocculant, flocculant"),
        ("label,from memory", "label,surely", "for strength_known"),
    ],
)
def test_a_bad_line_is_refused(old, new, reason):
    """A line with doses out of order, or an unknown kind, is refused with the reason."""
    assert parse_additives(HEAD + GOOD)
    with pytest.raises(BadTable, match=reason):
        parse_additives(HEAD + GOOD.replace(old, new))

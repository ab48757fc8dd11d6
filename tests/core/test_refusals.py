"""Every refusal of the calculator, found by walking the package: a new one is tested unasked."""

from __future__ import annotations

import pickle
import pkgutil
from dataclasses import fields
from importlib import import_module

import pytest

import benchvoice.calculator as calculator
from benchvoice.calculator.limits import Refusal
from benchvoice.errors import CalculatorError

SAMPLES = {"float": 1.5, "int": 3, "str": "sample", "float | None": 1.5}


def every_refusal():
    """Return each class of refusal in the package, by name."""
    for module in pkgutil.iter_modules(calculator.__path__):
        import_module(f"{calculator.__name__}.{module.name}")
    found, waiting = {}, [Refusal]
    while waiting:
        for child in waiting.pop().__subclasses__():
            found[child.__name__] = child
            waiting.append(child)
    return [found[name] for name in sorted(found)]


def sample(refusal):
    """Return a refusal filled with samples of its fields' types."""
    return refusal(**{field.name: SAMPLES[field.type] for field in fields(refusal)})


@pytest.mark.parametrize("refusal", every_refusal(), ids=lambda refusal: refusal.__name__)
def test_a_refusal_says_what_was_wanted_and_what_to_do_next(refusal):
    """One sentence of what was wanted and got, one of what to do next, and no field left as a gap."""
    made = sample(refusal)
    assert isinstance(made, CalculatorError)
    assert isinstance(made, ValueError)
    assert made.what.endswith((".", "?"))
    assert made.next_step.endswith((".", "?"))
    assert str(made) == f"{made.what} {made.next_step}"
    assert "{" not in str(made)
    assert "None" not in str(made)


@pytest.mark.parametrize("refusal", every_refusal(), ids=lambda refusal: refusal.__name__)
def test_a_refusal_survives_pickling_with_its_facts(refusal):
    """The facts travel as fields, so that they can be worded elsewhere."""
    made = sample(refusal)
    again = pickle.loads(pickle.dumps(made))
    assert type(again) is refusal
    assert again.facts == made.facts
    assert str(again) == str(made)


@pytest.mark.parametrize("refusal", every_refusal(), ids=lambda refusal: refusal.__name__)
def test_a_refusal_has_facts_and_a_sentence_of_its_own(refusal):
    """The docstring is the explanation; each class says something of its own."""
    assert refusal.__doc__
    assert not refusal.__doc__.startswith(refusal.__name__ + "(")
    assert refusal.wanted_got
    assert refusal.mend
    assert refusal.__doc__ not in {other.__doc__ for other in every_refusal() if other is not refusal}

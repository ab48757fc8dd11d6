"""Drops, few at a time: the caution, the bottle, the dose, stir, the flow again, and when to stop."""

from __future__ import annotations

from dataclasses import replace

from benchvoice.calculator.additives import Form, Kind, find_additive
from benchvoice.calculator.dosing import DoseCaution
from benchvoice.calculator.drops import weighed_drop
from benchvoice.calculator.flow import Verdict
from benchvoice.calculator.quantities import grams, magnitude
from benchvoice.calculator.safety import Action
from benchvoice.dialogue import contents as contained
from benchvoice.dialogue import doses, flows
from benchvoice.dialogue.always import CONFIRM, doubtful_as_heard, hold
from benchvoice.dialogue.buckets import finish
from benchvoice.dialogue.doses import DoseWork
from benchvoice.dialogue.filling import doubtful_contents, say_unit_is_needed, take_contents, without_unit
from benchvoice.dialogue.hazards import caution_anew, say_once
from benchvoice.dialogue.said import grams_said, heard_badly, seconds_said, step_said
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY, RIGHT, WEIGH
from benchvoice.dialogue.table import Row, Then, always, nothing

DOSE_CAUTION = State("DOSE_CAUTION", "ask_understood", ("understood", "cancel"))
DOSE_BOTTLE = State("DOSE_BOTTLE", "ask_bottle", ("neat", "ten percent", "weigh the drops"))
DOSE_DROPS = State("DOSE_DROPS", "ask_weigh_drops", ("one point two grams", "go back"))
DOSE_CONTENTS = State("DOSE_CONTENTS", "ask_dose_contents", ("ten litres", "twelve kilos"))
DOSE_GIVE = State("DOSE_GIVE", "ask_dose_given", ("done", "ten drops", "added nothing"))
DOSE_FLOW = State("DOSE_FLOW", "ask_dose_flow", ("like cream", "twenty four seconds", "go back"))

LIKELY_DROP_G = (0.01, 0.2)
"""A drop outside these is asked about [g]: of water one weighs 0.05, of silicate 0.07 (our choice)."""


# ---- guards ----------------------------------------------------------------------------


def caution_is_due(turn: Turn) -> bool:
    """Hold when the caution must be heard first."""
    return doses.needs_caution(turn.scene, doses.additive_of(_named(turn).scene))


def bottle_unknown(turn: Turn) -> bool:
    """Hold when nothing is known of the bottle."""
    return doses.bottle_entry(_named(turn).scene) is None


def contents_unknown(turn: Turn) -> bool:
    """Hold when the dry content cannot be reckoned."""
    return contained.contents(turn.scene) is None


def not_read_yet(turn: Turn) -> bool:
    """Hold when the gravity was not read since the bucket was opened: density comes first."""
    return not doses.was_read(turn.scene)


def doubtful_drops(turn: Turn) -> bool:
    """Hold when no dropper makes such drops, or it was heard badly."""
    one_g = grams_said(turn) / doses.COUNTED
    return not turn.scene.sure and (heard_badly(turn) or not LIKELY_DROP_G[0] <= one_g <= LIKELY_DROP_G[1])


def nothing_dosed(turn: Turn) -> bool:
    """Hold when no additive was named in this session."""
    return not turn.scene.work(DoseWork).additive


def doubtful_dose(turn: Turn) -> bool:
    """Hold when more went in than twice what was advised, or it was heard badly."""
    too_much = doses.said_dose_g(turn) > 2 * turn.scene.work(DoseWork).advised_g
    return not turn.scene.sure and (heard_badly(turn) or too_much)


def above_ceiling(turn: Turn) -> bool:
    """Hold when more went in than the additive's ceiling allows."""
    return doses.above_ceiling(turn.scene, doses.said_dose_g(turn))


def is_powder(turn: Turn) -> bool:
    """Hold when the additive is a powder, which does not drip as it comes."""
    return doses.additive_of(turn.scene).form is Form.POWDER


def flow_is_right(turn: Turn) -> bool:
    """Hold when the flow is as it should be."""
    return _verdict(turn) is Verdict.RIGHT


def curve_has_turned(turn: Turn) -> bool:
    """Hold when more has begun to make it worse."""
    return doses.turned(_with_flow(turn).scene)


def gone_too_far(turn: Turn) -> bool:
    """Hold when the additive has done more than was wanted."""
    kind = doses.additive_of(turn.scene).kind
    return _verdict(turn) is (Verdict.THIN if kind is Kind.DEFLOCCULANT else Verdict.THICK)


def says_nothing_yet(turn: Turn) -> bool:
    """Hold when a time was said, and this bucket has no good time to hold it against."""
    return _verdict(turn) is None


# ---- which additive, which bottle ------------------------------------------------------


def _named(turn: Turn) -> Turn:
    """Return the turn with the additive that was named, or that the flow calls for."""
    kind = turn.meaning.kind
    if kind == "dose":
        name = turn.meaning.text("additive")
    elif kind in ("thin_it", "thicken_it"):
        name = doses.USUAL[Kind.DEFLOCCULANT if kind == "thin_it" else Kind.FLOCCULANT]
    else:
        return turn
    return turn.keep(DoseWork(additive=find_additive(name).name))


def name_additive(turn: Turn) -> Turn:
    """Take the additive."""
    return _named(turn)


def say_caution(turn: Turn) -> Turn:
    """Take the additive, and say what must be heard before it is touched."""
    turn = _named(turn)
    return caution_anew(turn, Action.DOSE, turn.scene.work(DoseWork).additive)


def acknowledge(turn: Turn) -> Turn:
    """Write down that the caution was heard."""
    return doses.acknowledged(turn, turn.scene.work(DoseWork).additive)


def acknowledge_then_dose(turn: Turn) -> Turn:
    """Write down that the caution was heard, and say the next dose."""
    return advise_dose(acknowledge(turn))


def say_gravity_first(turn: Turn) -> Turn:
    """Say that the density comes before the flow."""
    return turn.say("gravity_first")


def say_which_drops(turn: Turn) -> Turn:
    """Ask which additive is meant."""
    return turn.say("which_drops")


def say_dissolve_first(turn: Turn) -> Turn:
    """Say how a powder becomes something that drips."""
    return turn.say("dose_dissolve_first", additive=turn.scene.work(DoseWork).additive)


def say_how_to_know_bottle(turn: Turn) -> Turn:
    """Say how to tell what is in the bottle."""
    return turn.say("dose_bottle_unknown")


def say_guess_low(turn: Turn) -> Turn:
    """Say that a low guess is on the safe side."""
    return turn.say("dose_guess_low")


def take_neat(turn: Turn) -> Turn:
    """Take the bottle as it came."""
    return _bottle(turn, 1.0)


def take_strength(turn: Turn) -> Turn:
    """Take the strength of a thinned bottle."""
    return _bottle(turn, float(turn.amount.value) / 100)


def _bottle(turn: Turn, share: float) -> Turn:
    known = doses.bottle_entry(turn.scene)
    name = turn.scene.work(DoseWork).additive
    drop_g = None if known is None else known.facts.get("drop_g")
    turn = turn.write("bottle", {"additive": name, "share": share, "drop_g": drop_g}, about_bucket=False)
    doses.bottle(turn.scene)
    return turn


def take_neat_then_dose(turn: Turn) -> Turn:
    """Take the bottle as it came, and say the next dose."""
    return advise_dose(take_neat(turn))


def take_strength_then_dose(turn: Turn) -> Turn:
    """Take the strength of the bottle, and say the next dose."""
    return advise_dose(take_strength(turn))


def take_drop_weight(turn: Turn) -> Turn:
    """Take the weight of the counted drops: from now on a drop is the potter's own."""
    one = weighed_drop(doses.COUNTED, grams(grams_said(turn)), grams(step_said(turn)))
    known = doses.bottle_entry(turn.scene)
    share = 1.0 if known is None else known.facts["share"]
    drop_g = round(magnitude(one.mass, "gram"), 5)
    name = turn.scene.work(DoseWork).additive
    turn = turn.write("bottle", {"additive": name, "share": share, "drop_g": drop_g}, about_bucket=False)
    return turn.say("drop_weighed", drop_g=drop_g)


def take_contents_then_dose(turn: Turn) -> Turn:
    """Take the contents, and say the next dose."""
    return advise_dose(take_contents(turn))


# ---- the dose --------------------------------------------------------------------------


def advise_dose(turn: Turn) -> Turn:
    """Say the next small dose, what it makes in all, and what is to be minded."""
    turn = _named(turn)
    step = doses.next_step(turn.scene)
    facts = doses.dose_facts(step)
    work = replace(turn.scene.work(DoseWork), advised_g=float(str(facts["mass_g"])))
    by_weight = DoseCaution.WEIGH in step.cautions
    turn = turn.keep(work).ask(by_weight=by_weight, **facts)
    turn = turn.say("give_weight" if by_weight else "give_drops", **facts)
    return _with_cautions(turn, step.cautions)


def _with_cautions(turn: Turn, cautions: tuple[DoseCaution, ...]) -> Turn:
    weighed = {DoseCaution.WEIGH, DoseCaution.NOMINAL_DROP} if DoseCaution.WEIGH in cautions else set()
    for caution in cautions:
        key = f"dose_{caution.name.lower()}"
        if caution is DoseCaution.NOMINAL_DROP and caution not in weighed:
            turn = say_once(turn, key, turn.scene.work(DoseWork).additive)
        elif caution not in weighed:
            turn = turn.say(key)
    return turn


def give_as_advised(turn: Turn) -> Turn:
    """Write down that the dose that was advised went in."""
    return _give(turn, turn.scene.work(DoseWork).advised_g)


def give_as_said(turn: Turn) -> Turn:
    """Write down what really went in."""
    return _give(turn, doses.said_dose_g(turn))


def give_too_much(turn: Turn) -> Turn:
    """Write down what really went in, and stop: it is above the ceiling."""
    ceiling = doses.additive_of(turn.scene).ceiling
    return give_as_said(turn).say("dose_above_ceiling", ceiling=ceiling)


def _give(turn: Turn, mass_g: float) -> Turn:
    step = doses.step_of(turn.scene, mass_g)
    turn = turn.write("dose", doses.dose_facts(step))
    return turn.say("dose_given", **doses.dose_facts(step), **doses.sum_facts(step))


# ---- the flow after it -----------------------------------------------------------------


def _with_flow(turn: Turn) -> Turn:
    """Return the turn with the flow written down that was said."""
    if turn.meaning.kind == "flow_word":
        word = turn.meaning.text("flow_is")
        return turn.write("flow", {"word": word, "verdict": flows.word_verdict(turn.scene, word).value})
    work = flows.FlowWork(times_s=(seconds_said(turn),))
    found = flows.comparison(turn.scene, work, None)
    verdict = None if found is None else found.verdict.value
    return turn.write("flow", {**flows.facts_of(work, None), "verdict": verdict})


def _verdict(turn: Turn) -> Verdict | None:
    return flows.last_flow_verdict(_with_flow(turn).scene)


def take_right_flow(turn: Turn) -> Turn:
    """Take a flow that is right: enough."""
    return _with_flow(turn).say("dose_right")


def stop_at_the_turn(turn: Turn) -> Turn:
    """Take a flow that has become worse: more would not cure it."""
    return _with_flow(turn).say("dose_turned")


def stop_too_far(turn: Turn) -> Turn:
    """Take a flow that is past what was wanted."""
    kind = doses.additive_of(turn.scene).kind.value
    return _with_flow(turn).say("dose_too_far", kind=kind)


def take_time_and_ask_word(turn: Turn) -> Turn:
    """Take a time that says nothing yet: no more drops on the strength of it."""
    return _with_flow(turn).say("dose_time_alone", seconds=seconds_said(turn))


def leave_dosing(turn: Turn) -> Turn:
    """Leave the flow unlooked at: no more drops then."""
    return turn.say("dose_left")


def take_flow_then_dose(turn: Turn) -> Turn:
    """Take a flow that is not there yet, and say the next dose."""
    return advise_dose(_with_flow(turn))


# ---- rows --------------------------------------------------------------------------------


def _dose_rows(state: State, kind: str) -> tuple[Row, ...]:
    return (
        Row(state, kind, not_read_yet, WEIGH, say_gravity_first),
        Row(state, kind, caution_is_due, DOSE_CAUTION, say_caution),
        Row(state, kind, bottle_unknown, DOSE_BOTTLE, name_additive),
        Row(state, kind, contents_unknown, DOSE_CONTENTS, name_additive),
        Row(state, kind, always, DOSE_GIVE, advise_dose),
    )


def _flow_rows(kind: str) -> tuple[Row, ...]:
    return (
        Row(DOSE_FLOW, kind, flow_is_right, RIGHT, take_right_flow),
        Row(DOSE_FLOW, kind, curve_has_turned, RIGHT, stop_at_the_turn),
        Row(DOSE_FLOW, kind, gone_too_far, RIGHT, stop_too_far),
        Row(DOSE_FLOW, kind, says_nothing_yet, Then.AGAIN, take_time_and_ask_word),
        Row(DOSE_FLOW, kind, always, DOSE_GIVE, take_flow_then_dose),
    )


ROWS = (
    *(row for kind in ("dose", "thin_it", "thicken_it") for row in _dose_rows(RIGHT, kind)),
    Row(RIGHT, "more_drops", nothing_dosed, Then.AGAIN, say_which_drops),
    *_dose_rows(RIGHT, "more_drops"),
    Row(DOSE_CAUTION, "understood_it", bottle_unknown, DOSE_BOTTLE, acknowledge),
    Row(DOSE_CAUTION, "understood_it", contents_unknown, DOSE_CONTENTS, acknowledge),
    Row(DOSE_CAUTION, "understood_it", always, DOSE_GIVE, acknowledge_then_dose),
    Row(DOSE_BOTTLE, "weigh_drops", always, DOSE_DROPS, nothing),
    Row(DOSE_BOTTLE, "neat", is_powder, Then.AGAIN, say_dissolve_first),
    Row(DOSE_BOTTLE, "neat", contents_unknown, DOSE_CONTENTS, take_neat),
    Row(DOSE_BOTTLE, "neat", always, DOSE_GIVE, take_neat_then_dose),
    Row(DOSE_BOTTLE, "unknown", always, Then.AGAIN, say_how_to_know_bottle),
    Row(DOSE_BOTTLE, "percent", doubtful_as_heard, CONFIRM, hold),
    Row(DOSE_BOTTLE, "percent", contents_unknown, DOSE_CONTENTS, take_strength),
    Row(DOSE_BOTTLE, "percent", always, DOSE_GIVE, take_strength_then_dose),
    Row(DOSE_DROPS, "weight", doubtful_drops, CONFIRM, hold),
    Row(DOSE_DROPS, "weight", always, DOSE_BOTTLE, take_drop_weight),
    *(
        row
        for kind in ("volume", "weight")
        for row in (
            Row(DOSE_CONTENTS, kind, without_unit, Then.AGAIN, say_unit_is_needed),
            Row(DOSE_CONTENTS, kind, doubtful_contents, CONFIRM, hold),
            Row(DOSE_CONTENTS, kind, always, DOSE_GIVE, take_contents_then_dose),
        )
    ),
    Row(DOSE_CONTENTS, "unknown", always, Then.AGAIN, say_guess_low),
    Row(DOSE_GIVE, "done", always, DOSE_FLOW, give_as_advised),
    *(
        row
        for kind in ("count", "weight")
        for row in (
            Row(DOSE_GIVE, kind, doubtful_dose, CONFIRM, hold),
            Row(DOSE_GIVE, kind, above_ceiling, RIGHT, give_too_much),
            Row(DOSE_GIVE, kind, always, DOSE_FLOW, give_as_said),
        )
    ),
    Row(DOSE_GIVE, "none_added", always, RIGHT, nothing),
    Row(DOSE_FLOW, "duration", doubtful_as_heard, CONFIRM, hold),
    *(row for kind in ("flow_word", "duration") for row in _flow_rows(kind)),
    *(Row(DOSE_FLOW, kind, always, RIGHT, leave_dosing) for kind in ("unknown", "skip")),
    Row(DOSE_FLOW, "finish", always, READY, finish),
)

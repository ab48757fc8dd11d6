"""What can be said at every step, and what is answered when nothing else fits."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import accumulate

from benchvoice.dialogue.more import keep_more
from benchvoice.dialogue.past import can_correct, can_go_back, can_undo, correct, go_back, in_unit_of, undo
from benchvoice.dialogue.said import heard_badly
from benchvoice.dialogue.scene import Held, State, Turn
from benchvoice.dialogue.states import ADD_WATER, READY, RIGHT, WEIGH
from benchvoice.dialogue.table import ANYWHERE, OTHERWISE, Row, Then, always, nothing
from benchvoice.dialogue.timing import answer_ringing, something_rings

AMOUNT_KINDS = ("weight", "gravity", "volume", "length", "duration", "temperature", "count", "percent")

CONFIRM = State("CONFIRM", "ask_confirm", ("yes", "no", "one forty three"))
PAUSED = State("PAUSED", "paused", ("continue",), alone=True)
END = State("END", "goodbye", ())

RATES = (120, 400)
RATE_STEP = 1.2
USUAL_RATE = 160
VOLUME_STEP = 0.15
PATIENCE = (0.7, 3.0)
"""How many times the usual wait for the end of a sentence, at the least and at the most."""
PATIENCE_STEP = 1.4
NAMES_ASKED = frozenset({"ask_name", "ask_recipe_name", "ask_material_name", "ask_batch_bucket"})
"""Questions that a new name answers; by ear only of words that are listed."""
HELP_EXAMPLES, HELP_WORDS = 3, 14
"""So many examples, and so many words of them, are held in mind with wet hands (our choice)."""


# ---- guards ---------------------------------------------------------------------


def said_by_keyboard(turn: Turn) -> bool:
    """Hold when the words were typed."""
    return turn.meaning.words.typed


def is_paused(turn: Turn) -> bool:
    """Hold while the conversation is paused."""
    return turn.scene.state == PAUSED


def doubtful_as_heard(turn: Turn) -> bool:
    """Hold when a number was heard badly and nobody has said yes to it."""
    return not turn.scene.sure and heard_badly(turn)


def doubtful_correction(turn: Turn) -> bool:
    """Hold when a correction was heard badly: "no, forty four" may have been "one forty four"."""
    return can_correct(turn) and doubtful_as_heard(turn)


def range_is_held(turn: Turn) -> bool:
    """Hold when it is asked whether a range is right."""
    held = turn.scene.held
    return held is not None and "low" in held.meaning.slots


# ---- holding a meaning for a yes ----------------------------------------------------


def hold(turn: Turn) -> Turn:
    """Keep the meaning until the potter says yes."""
    held = Held(turn.scene.state, turn.meaning, turn.scene.asking, turn.scene.past)
    slots = turn.meaning.slots
    if "low" in slots:
        return turn.set(held=held).ask(low=slots["low"], high=slots["high"])
    return turn.set(held=held).ask(amount=turn.amount, filled_to=slots.get("filled_to"))


def accept_held(turn: Turn) -> Turn:
    """Take the held meaning as certain."""
    return turn.set(sure=True)


def drop_held(turn: Turn) -> Turn:
    """Forget the held meaning and return to the question that it answered, with that question's facts."""
    held = turn.scene.held
    assert held is not None
    return turn.set(state=held.state, held=None, asking=held.asking, past=held.past)


def hold_other_amount(turn: Turn) -> Turn:
    """Put the new amount in the place of the doubtful one."""
    held = turn.scene.held
    assert held is not None
    wrong = held.meaning
    right = in_unit_of(wrong.amount(), turn.amount) if wrong.has_amount() else turn.amount
    rest = {name: slot for name, slot in wrong.slots.items() if name not in ("low", "high")}
    meaning = replace(wrong, slots=rest).with_amount(right, turn.meaning.words)
    return turn.set(held=replace(held, meaning=meaning), sure=False)


def hold_other_range(turn: Turn) -> Turn:
    """Put the new range in the place of the doubtful one."""
    held = turn.scene.held
    assert held is not None
    return turn.set(held=replace(held, meaning=turn.meaning), sure=False)


# ---- saying again, finding one's way ----------------------------------------------------


def say_again(turn: Turn) -> Turn:
    """Say the last replies again."""
    return replace(turn, replies=turn.scene.said)


def say_what_can_be_said(turn: Turn) -> Turn:
    """Name a few things that can be said at this step; the others wait to be asked for."""
    first, rest = _in_two(turn.scene.state.examples)
    turn = keep_more(turn, "help_rest", examples=rest) if rest else turn
    return turn.say("help", examples=first, more=bool(rest))


def _in_two(examples: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return as many examples as can be held in mind, and the others; one left over is no others."""
    lengths = accumulate(len(example.split()) for example in examples)
    count = max(sum(length <= HELP_WORDS for length in lengths), 1)
    count = len(examples) if len(examples) <= count + 1 and len(examples) <= HELP_EXAMPLES else count
    count = min(count, HELP_EXAMPLES)
    return examples[:count], examples[count:]


def say_all_topics(turn: Turn) -> Turn:
    """Name what the bench can do: how to begin; the rest waits to be asked for."""
    return keep_more(turn, "options_rest").say("options")


def say_where(turn: Turn) -> Turn:
    """Name the bucket and the step."""
    last = turn.scene.bench.last("reading", turn.scene.bucket) if turn.scene.bucket else None
    return turn.say("where", bucket=turn.scene.bucket, gravity=last.facts["shown"] if last else None)


def say_so_far(turn: Turn) -> Turn:
    """Sum up what was added to this bucket since it was opened."""
    since = turn.scene.bench.since("opened", turn.scene.bucket) if turn.scene.bucket else ()
    water = sum(
        float(str(e.facts["mass_g"])) for e in since if e.kind == "addition" and e.facts["what"] == "water"
    )
    dry = sum(
        float(str(e.facts["mass_g"])) for e in since if e.kind == "addition" and e.facts["what"] == "dry"
    )
    readings = [e for e in since if e.kind == "reading"]
    return turn.say("so_far", water_g=water, dry_g=dry, readings=len(readings), bucket=turn.scene.bucket)


def say_nothing_to_undo(turn: Turn) -> Turn:
    """Say that nothing was written yet."""
    return turn.say("nothing_to_undo")


def say_nowhere_back(turn: Turn) -> Turn:
    """Say that this is the first step."""
    return turn.say("nowhere_back")


def say_how_to_correct(turn: Turn) -> Turn:
    """Offer the ways to mend a wrong amount."""
    return turn.say("how_to_correct")


def say_not_now(turn: Turn) -> Turn:
    """Say that this was understood, but belongs to another step."""
    return turn.say("not_now", kind=turn.meaning.kind, words=turn.meaning.words.text)


def say_how_to_start_over(turn: Turn) -> Turn:
    """Name the ways back: nothing that is written down is thrown away at one word."""
    return turn.say("how_to_start_over")


def say_wipe_up(turn: Turn) -> Turn:
    """Say what a spill changes."""
    return turn.say("spilled")


# ---- not understood --------------------------------------------------------------------


def say_not_understood(turn: Turn) -> Turn:
    """Say what was understood so far, and what can be said; more plainly each time."""
    misses = turn.scene.misses + 1
    examples = turn.scene.state.examples or ("help",)
    facts: dict[str, object] = {"example": examples[0], "examples": _in_two(examples)[0]}
    facts |= turn.meaning.slots
    turn = turn.set(misses=misses)
    state, typed = turn.scene.state, turn.meaning.words.typed
    naming = state.ask in NAMES_ASKED or str(facts["understood"]).endswith(("called", "named"))
    facts |= {"typed": typed, "at_names": state == READY, "naming": naming}
    return turn.say("not_understood", misses=misses, **facts)


def say_no_name(turn: Turn) -> Turn:
    """Say that nothing can be called that: it is itself something to say to the bench."""
    return turn.say("no_name", name=turn.meaning.text("name"))


def say_ambiguous(turn: Turn) -> Turn:
    """Say both readings and ask for digits."""
    turn = turn.set(misses=turn.scene.misses + 1)
    return turn.say("ambiguous", **dict(turn.meaning.slots))


# ---- how the bench speaks -------------------------------------------------------------------


def _set(turn: Turn, name: str, value: object) -> Turn:
    return turn.write("setting", {"name": name, "value": value}, about_bucket=False)


def _change_rate(turn: Turn, factor: float) -> Turn:
    rate = turn.scene.bench.setting("rate", USUAL_RATE)
    rate = round(min(max(rate * factor, RATES[0]), RATES[1]))
    return _set(turn, "rate", rate).voice(rate=rate).say("rate", rate=rate)


def speak_slower(turn: Turn) -> Turn:
    """Speak more slowly from now on."""
    return _change_rate(turn, 1 / RATE_STEP)


def speak_faster(turn: Turn) -> Turn:
    """Speak faster from now on."""
    return _change_rate(turn, RATE_STEP)


def _change_volume(turn: Turn, step: float) -> Turn:
    volume = round(min(max(turn.scene.bench.setting("volume", 1.0) + step, 0.1), 1.0), 2)
    return _set(turn, "volume", volume).voice(volume=volume).say("volume", volume=volume)


def speak_quieter(turn: Turn) -> Turn:
    """Speak more quietly from now on."""
    return _change_volume(turn, -VOLUME_STEP)


def speak_louder(turn: Turn) -> Turn:
    """Speak louder from now on."""
    return _change_volume(turn, VOLUME_STEP)


def speak_tersely(turn: Turn) -> Turn:
    """Use the short wording from now on."""
    return _set(turn, "wording", "terse").say("wording_terse")


def speak_fully(turn: Turn) -> Turn:
    """Use the beginner's wording from now on."""
    return _set(turn, "wording", "full").say("wording_full")


def speak_with_another_voice(turn: Turn) -> Turn:
    """Speak with the machine's next voice from now on."""
    number = turn.scene.bench.setting("voice", 0) + 1
    return _set(turn, "voice", number).voice(voice=number).say("another_voice")


def _change_patience(turn: Turn, factor: float) -> Turn:
    patience = turn.scene.bench.setting("patience", 1.0) * factor
    patience = round(min(max(patience, PATIENCE[0]), PATIENCE[1]), 2)
    return _set(turn, "patience", patience)


def wait_longer(turn: Turn) -> Turn:
    """Wait longer from now on before words are taken for finished."""
    return _change_patience(turn, PATIENCE_STEP).say("wait_longer")


def answer_sooner(turn: Turn) -> Turn:
    """Answer sooner from now on."""
    return _change_patience(turn, 1 / PATIENCE_STEP).say("answer_sooner")


MANNERS = (
    ("another_voice", speak_with_another_voice),
    ("longer", wait_longer),
    ("sooner", answer_sooner),
)
"""What is set once and then kept: waited for where no work is under way, understood anywhere when typed."""


# ---- pausing and leaving -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Pause:
    """Where the conversation stood when it was paused."""

    state: State | None = None
    asking: object = None


def pause(turn: Turn) -> Turn:
    """Remember where the conversation stands."""
    return turn.keep(Pause(turn.scene.state, turn.scene.asking))


def resume(turn: Turn) -> Turn:
    """Return to where the conversation stood."""
    paused = turn.scene.work(Pause)
    return turn.set(state=paused.state, asking=paused.asking).say("carrying_on")


def leave(turn: Turn) -> Turn:
    """End the session; everything is written down already."""
    return turn.leave()


ROWS = (
    Row(CONFIRM, "yes", always, Then.HELD, accept_held),
    Row(CONFIRM, "no", always, Then.RETURNS, drop_held),
    Row(CONFIRM, "cancel", always, Then.RETURNS, drop_held),
    Row(CONFIRM, "correction", always, Then.HELD, hold_other_amount),
    *(Row(CONFIRM, kind, always, Then.HELD, hold_other_amount) for kind in AMOUNT_KINDS),
    Row(CONFIRM, "target_range", range_is_held, Then.HELD, hold_other_range),
    *(Row(PAUSED, kind, heard_badly, Then.STAYS, nothing) for kind in ("continue_", "attention")),
    *(Row(PAUSED, kind, always, Then.RETURNS, resume) for kind in ("continue_", "attention")),
    *(Row(PAUSED, kind, something_rings, Then.STAYS, answer_ringing) for kind in ("stop", "got_it")),
    Row(PAUSED, "got_it", always, Then.STAYS, nothing),
    Row(PAUSED, OTHERWISE, said_by_keyboard, Then.AGAIN, nothing),
    Row(PAUSED, OTHERWISE, always, Then.STAYS, nothing),
    Row(END, OTHERWISE, always, Then.STAYS, nothing),
    Row(ANYWHERE, "repeat", always, Then.STAYS, say_again),
    Row(ANYWHERE, "help", always, Then.AGAIN, say_what_can_be_said),
    Row(ANYWHERE, "options", always, Then.STAYS, say_all_topics),
    Row(ANYWHERE, "where", always, Then.AGAIN, say_where),
    Row(ANYWHERE, "so_far", always, Then.AGAIN, say_so_far),
    Row(ANYWHERE, "undo", can_undo, Then.RETURNS, undo),
    Row(ANYWHERE, "undo", always, Then.AGAIN, say_nothing_to_undo),
    Row(ANYWHERE, "go_back", can_go_back, Then.RETURNS, go_back),
    Row(ANYWHERE, "go_back", always, Then.AGAIN, say_nowhere_back),
    Row(ANYWHERE, "correction", doubtful_correction, CONFIRM, hold),
    Row(ANYWHERE, "correction", can_correct, Then.HELD, correct),
    Row(ANYWHERE, "correction", always, Then.AGAIN, say_how_to_correct),
    Row(ANYWHERE, "no", always, Then.STAYS, say_how_to_correct),
    Row(ANYWHERE, "start_over", always, Then.AGAIN, say_how_to_start_over),
    *(Row(state, "spilled", always, Then.AGAIN, say_wipe_up) for state in (WEIGH, RIGHT, ADD_WATER)),
    Row(ANYWHERE, "spilled", always, Then.AGAIN, say_wipe_up),
    Row(ANYWHERE, "slower", always, Then.STAYS, speak_slower),
    Row(ANYWHERE, "faster", always, Then.STAYS, speak_faster),
    Row(ANYWHERE, "quieter", always, Then.STAYS, speak_quieter),
    Row(ANYWHERE, "louder", always, Then.STAYS, speak_louder),
    *(Row(state, kind, always, Then.STAYS, act) for state in (READY, ANYWHERE) for kind, act in MANNERS),
    Row(ANYWHERE, "terse", always, Then.STAYS, speak_tersely),
    Row(ANYWHERE, "beginner", always, Then.STAYS, speak_fully),
    *(Row(ANYWHERE, kind, is_paused, Then.AGAIN, nothing) for kind in ("pause", "standby")),
    *(Row(ANYWHERE, kind, always, PAUSED, pause) for kind in ("pause", "standby")),
    Row(ANYWHERE, "continue_", always, Then.AGAIN, nothing),
    Row(ANYWHERE, "attention", always, Then.AGAIN, nothing),
    Row(ANYWHERE, "goodbye", always, END, leave),
    Row(ANYWHERE, "silence", always, Then.STAYS, nothing),
    Row(ANYWHERE, "stop", always, Then.STAYS, nothing),
    Row(ANYWHERE, "no_name", always, Then.AGAIN, say_no_name),
    Row(ANYWHERE, "ambiguous", always, Then.STAYS, say_ambiguous),
    Row(ANYWHERE, "unclear", always, Then.STAYS, say_not_understood),
    Row(ANYWHERE, OTHERWISE, always, Then.AGAIN, say_not_now),
)

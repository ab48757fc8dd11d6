"""How the glaze flows: a word of the trade, or the seconds that the potter's own cup takes to drain."""

from __future__ import annotations

from dataclasses import replace

from benchvoice.calculator.flow import FlowCaution
from benchvoice.dialogue import flows
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.buckets import no_bucket_open
from benchvoice.dialogue.flows import FlowWork
from benchvoice.dialogue.said import celsius_said, heard_badly, seconds_said
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.states import READY, RIGHT, THIN, WEIGH
from benchvoice.dialogue.table import Row, Then, always, nothing

FLOW_HOW = State("FLOW_HOW", "ask_flow", ("like cream", "like yogurt", "time it", "go back"))
FLOW_READY = State("FLOW_READY", "ask_flow_start", ("start", "twenty four seconds", "done"))
FLOW_RUNS = State("FLOW_RUNS", "ask_flow_stop", ("stop", "it is blocked"))
FLOW_WARMTH = State("FLOW_WARMTH", "ask_flow_warmth", ("twenty degrees", "not sure"))
FLOW_STOOD = State("FLOW_STOOD", "ask_flow_stood", ("fifteen seconds", "two minutes", "not sure"))

ENOUGH_TIMES = 3
FAR_TIME = 1.5
"""A repeat longer or shorter by this factor is asked about (our choice)."""
LIKELY_CELSIUS = (2.0, 45.0)
"""Outside these a slurry is ice, or too hot for hands [°C] (our choice)."""


# ---- guards -------------------------------------------------------------------------------


def enough_times(turn: Turn) -> bool:
    """Hold when this repeat is the last that is wanted."""
    return len(turn.scene.work(FlowWork).times_s) + 1 >= ENOUGH_TIMES


def doubtful_time(turn: Turn) -> bool:
    """Hold when a time is far from the one before it, or it was heard badly; a blocked cup is no doubt."""
    before = [time for time in turn.scene.work(FlowWork).times_s if time is not None]
    time_s = seconds_said(turn)
    far = bool(before) and not before[-1] / FAR_TIME <= time_s <= before[-1] * FAR_TIME
    return not turn.scene.sure and (heard_badly(turn) or far)


def doubtful_warmth(turn: Turn) -> bool:
    """Hold when no glaze is so cold or so warm, or it was heard badly."""
    likely = LIKELY_CELSIUS[0] <= celsius_said(turn) <= LIKELY_CELSIUS[1]
    return not turn.scene.sure and (heard_badly(turn) or not likely)


def doubtful_standing(turn: Turn) -> bool:
    """Hold when the time since stirring was heard badly."""
    return not turn.scene.sure and heard_badly(turn)


def seconds_or_minutes(turn: Turn) -> bool:
    """Hold when a bare number was said where seconds and minutes are both likely."""
    return turn.amount.unit is None


def nothing_timed(turn: Turn) -> bool:
    """Hold when no repeat was timed yet."""
    return not turn.scene.work(FlowWork).times_s


def nothing_to_remember(turn: Turn) -> bool:
    """Hold when neither gravity nor flow was read since the bucket was opened."""
    return not any(e.kind in ("reading", "flow") for e in turn.scene.bench.since("opened", turn.scene.bucket))


def ask_seconds_or_minutes(turn: Turn) -> Turn:
    """Ask for the unit of the time since stirring."""
    return turn.say("seconds_or_minutes", amount=turn.amount)


# ---- in a word ------------------------------------------------------------------------------


def take_word(turn: Turn) -> Turn:
    """Take the flow as a word of the trade."""
    word = turn.meaning.text("flow_is")
    verdict = flows.word_verdict(turn.scene, word)
    turn = turn.write("flow", {"word": word, "verdict": verdict.value})
    return turn.say("flow_word", word=word, verdict=verdict.value)


def say_how_to_tell(turn: Turn) -> Turn:
    """Say what else can be done where no word comes to mind."""
    return turn.say("flow_unknown")


# ---- by the cup --------------------------------------------------------------------------------


def begin_timing(turn: Turn) -> Turn:
    """Begin anew with no repeats."""
    return turn.keep(FlowWork())


def start_draining(turn: Turn) -> Turn:
    """Note when the cup begins to drain."""
    return turn.keep(replace(turn.scene.work(FlowWork), begun=turn.now))


def stop_draining(turn: Turn) -> Turn:
    """Take the time since the start as a repeat."""
    work = turn.scene.work(FlowWork)
    assert work.begun is not None
    return _take_time(turn, (turn.now - work.begun).total_seconds())


def take_said_time(turn: Turn) -> Turn:
    """Take a time that was said as a repeat."""
    return _take_time(turn, seconds_said(turn))


def take_blocked(turn: Turn) -> Turn:
    """Take a repeat that never ended."""
    return _take_time(turn, None)


def _take_time(turn: Turn, time_s: float | None) -> Turn:
    work = turn.scene.work(FlowWork)
    work = replace(work, begun=None, times_s=(*work.times_s, time_s))
    turn = turn.keep(work)
    if time_s is None or flows.blocked(work):
        return turn.say("flow_blocked", time_s=time_s)
    return turn.say("flow_time", time_s=time_s, repeats=len(work.times_s))


def say_nothing_timed(turn: Turn) -> Turn:
    """Say that there is nothing to reckon with."""
    return turn.say("flow_nothing_timed")


def take_warmth(turn: Turn) -> Turn:
    """Take the temperature of the glaze."""
    return turn.keep(replace(turn.scene.work(FlowWork), temperature_c=celsius_said(turn)))


def take_flow_after(turn: Turn) -> Turn:
    """Write the flow down, with how long the glaze had stood."""
    return _take_flow(turn, seconds_said(turn))


def take_flow(turn: Turn) -> Turn:
    """Write the flow down; nobody noticed how long the glaze had stood."""
    return _take_flow(turn, None)


def _take_flow(turn: Turn, stood_s: float | None) -> Turn:
    work = turn.scene.work(FlowWork)
    facts, found = flows.facts_of(work, stood_s), flows.comparison(turn.scene, work, stood_s)
    if found is None:
        turn = turn.write("flow", {**facts, "verdict": None})
        return turn.say("flow_first", seconds=facts["seconds"])
    turn = turn.write("flow", {**facts, "verdict": found.verdict.value, "ratio": round(found.ratio, 3)})
    turn = turn.say(
        "flow_compared", verdict=found.verdict.value, seconds=facts["seconds"], percent=_percent(found.ratio)
    )
    return _with_cautions(turn, found.cautions)


def _percent(ratio: float) -> int:
    return abs(round(100 * (ratio - 1)))


def _with_cautions(turn: Turn, cautions: tuple[FlowCaution, ...]) -> Turn:
    for caution in cautions:
        if caution is not FlowCaution.UNMEASURED:
            turn = turn.say(f"flow_caution_{caution.name.lower()}")
    return turn


# ---- good as it is -----------------------------------------------------------------------------------


def call_it_good(turn: Turn) -> Turn:
    """Write down that the bucket is good as it is now: later flows are held against this one."""
    since = turn.scene.bench.since("opened", turn.scene.bucket)
    gravity = next((e.facts["shown"] for e in reversed(since) if e.kind == "reading"), None)
    return turn.write("good", {"gravity": gravity}).say("called_good", gravity=gravity)


def say_nothing_to_remember(turn: Turn) -> Turn:
    """Say that nothing was read that could be called good."""
    return turn.say("nothing_to_remember")


def say_flow_needs_bucket(turn: Turn) -> Turn:
    """Say that a bucket must be chosen first."""
    return turn.say("flow_needs_bucket")


ROWS = (
    Row(FLOW_HOW, "unknown", always, Then.AGAIN, say_how_to_tell),
    Row(READY, "check_flow", always, Then.AGAIN, say_flow_needs_bucket),
    Row(RIGHT, "check_flow", always, FLOW_HOW, begin_timing),
    Row(WEIGH, "check_flow", no_bucket_open, READY, nothing),
    Row(WEIGH, "check_flow", always, FLOW_HOW, begin_timing),
    Row(THIN, "check_flow", always, FLOW_HOW, begin_timing),
    Row(FLOW_HOW, "flow_word", always, RIGHT, take_word),
    Row(FLOW_HOW, "time_it", always, FLOW_READY, begin_timing),
    Row(FLOW_READY, "go", always, FLOW_RUNS, start_draining),
    Row(FLOW_READY, "duration", doubtful_time, CONFIRM, hold),
    Row(FLOW_READY, "duration", enough_times, FLOW_WARMTH, take_said_time),
    Row(FLOW_READY, "duration", always, FLOW_READY, take_said_time),
    Row(FLOW_READY, "done", nothing_timed, Then.AGAIN, say_nothing_timed),
    Row(FLOW_READY, "done", always, FLOW_WARMTH, nothing),
    Row(FLOW_RUNS, "now_out", enough_times, FLOW_WARMTH, stop_draining),
    Row(FLOW_RUNS, "now_out", always, FLOW_READY, stop_draining),
    Row(FLOW_RUNS, "stop", enough_times, FLOW_WARMTH, stop_draining),
    Row(FLOW_RUNS, "stop", always, FLOW_READY, stop_draining),
    Row(FLOW_READY, "never_ends", always, FLOW_READY, take_blocked),
    Row(FLOW_RUNS, "never_ends", always, FLOW_READY, take_blocked),
    Row(FLOW_WARMTH, "temperature", doubtful_warmth, CONFIRM, hold),
    Row(FLOW_WARMTH, "temperature", always, FLOW_STOOD, take_warmth),
    *(Row(FLOW_WARMTH, kind, always, FLOW_STOOD, nothing) for kind in ("unknown", "skip")),
    Row(FLOW_STOOD, "duration", seconds_or_minutes, Then.AGAIN, ask_seconds_or_minutes),
    Row(FLOW_STOOD, "duration", doubtful_standing, CONFIRM, hold),
    Row(FLOW_STOOD, "duration", always, RIGHT, take_flow_after),
    *(Row(FLOW_STOOD, kind, always, RIGHT, take_flow) for kind in ("unknown", "skip")),
    Row(RIGHT, "call_it_good", nothing_to_remember, Then.AGAIN, say_nothing_to_remember),
    Row(RIGHT, "call_it_good", always, Then.AGAIN, call_it_good),
)

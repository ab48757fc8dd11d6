"""Routines: what a file may say and how it is refused, what comes with the bench, and where a routine stands.

The line numbers are counted by hand in the texts below; TOML itself is read by the standard library.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from importlib.resources import files

import pytest

from benchvoice.dialogue.advance import TABLE, advance, begin, expected
from benchvoice.dialogue.bench import Bench
from benchvoice.dialogue.routine_run import Stop, running, stops_of
from benchvoice.dialogue.routine_tasks import NAMES, SPOKEN, TASKS
from benchvoice.dialogue.routine_text import (
    STEP_KEYS,
    TOP_KEYS,
    Ask,
    Do,
    ForEvery,
    Routine,
    Step,
    Told,
    Wait,
    routine_of,
)
from benchvoice.dialogue.scene import Scene
from benchvoice.dialogue.states import READY
from benchvoice.dialogue.table import ANYWHERE
from benchvoice.errors import BadRoutine, RoutineError
from benchvoice.meaning import phrases
from benchvoice.messages import Entry, Heard, Rang, Words

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
HEAD = 'name = "quick look"\nabout = "Weigh one bucket."\n'
OURS = sorted(
    (file for file in files("benchvoice").joinpath("routines").iterdir() if file.name.endswith(".toml")),
    key=lambda file: file.name,
)


def read(text: str) -> Routine:
    """Return the routine in a text."""
    return routine_of(text, "look.toml", NAMES)


OURS_BY_NAME = {file.name: file.read_text("utf-8") for file in OURS}


# ---- the format -----------------------------------------------------------------------------------


def test_every_kind_of_step_is_read() -> None:
    """Say, do, ask, wait and for every bucket, each with both wordings."""
    routine = read(
        HEAD
        + """terse = "One bucket."
        [[steps]]
        say = "First."
        terse = ""
        [[steps]]
        do = "open a bucket"
        target = "1.75 to 1.80"
        [[steps]]
        ask = "Is it stirred?"
        ask_terse = "Stirred?"
        [[steps]]
        wait = "1.5 minutes"
        called = "soak"
        [[steps]]
        for_every = "bucket"
        [[steps.each]]
        say = "Now this one."
        do = "weigh once"
        """
    )
    assert (routine.name, routine.about) == ("quick look", Told("Weigh one bucket.", "One bucket."))
    assert routine.steps == (
        Step(Told("First.", "")),
        Step(None, Do("open a bucket", (1.75, 1.8))),
        Step(None, Ask(Told("Is it stirred?", "Stirred?"))),
        Step(None, Wait(90.0, "soak")),
        ForEvery(None, (Step(Told("Now this one.", "Now this one."), Do("weigh once")),)),
    )


@pytest.mark.parametrize(
    ("wait", "seconds"), [("1 second", 1), ("90 seconds", 90), ("20 minutes", 1200), ("24 hours", 86400)]
)
def test_a_wait_is_in_seconds_minutes_or_hours(wait: str, seconds: float) -> None:
    """A day is the most."""
    assert read(f'{HEAD}[[steps]]\nwait = "{wait}"').steps == (Step(None, Wait(seconds, "routine")),)


STEP = HEAD + "\n[[steps]]\n"
BROKEN = [
    ('name = "quick look"\n[[steps]]\ndo = "weigh once"\n', 1, "'about'"),
    ('about = "Weigh."\n[[steps]]\ndo = "weigh once"\n', 1, "'name'"),
    ('# mine\nname = "look 2"\nabout = "Weigh."\n[[steps]]\ndo = "weigh once"\n', 2, "'look 2'"),
    ('name = "one two three four five"\nabout = "x"\n[[steps]]\ndo = "weigh once"\n', 1, "1 to 4 words"),
    ('name = ["look"]\nabout = "x"\n[[steps]]\ndo = "weigh once"\n', 1, "'look'"),
    (HEAD, 1, "needs steps"),
    (HEAD + 'steps = "none"\n', 3, "needs steps"),
    (HEAD + "steps = []\n", 3, "needs steps"),
    (HEAD + 'colour = "blue"\n[[steps]]\ndo = "weigh once"\n', 3, "'colour'"),
    ('name = "look"\nabout = "  "\n[[steps]]\ndo = "weigh once"\n', 2, "a sentence is wanted"),
    (STEP + 'do = "weigh twice"\n', 5, "'weigh twice'"),
    (STEP + "do = 3\n", 5, "no task 3"),
    (STEP + 'do = "weigh once"\n[[steps]]\n\nsay = "x"\nsya = "y"\n', 9, "'sya'"),
    (STEP, 4, "does nothing"),
    (STEP + 'do = "weigh once"\nask = "Done?"\n', 6, "both do and ask"),
    (STEP + 'do = "weigh once"\nwait = "1 minute"\n', 6, "both do and wait"),
    (STEP + 'say = ""\n', 5, "a sentence is wanted"),
    (STEP + 'say = "x"\nterse = 4\n', 6, "a sentence, or nothing"),
    (STEP + 'terse = "x"\ndo = "weigh once"\n', 5, "without say"),
    (STEP + 'ask = "Done?"\nask_terse = ""\n', 6, "a sentence is wanted"),
    (STEP + 'wait = "ten minutes"\n', 5, "'ten minutes'"),
    (STEP + 'wait = "0 minutes"\n', 5, "'0 minutes'"),
    (STEP + 'wait = "25 hours"\n', 5, "'25 hours'"),
    (STEP + 'wait = "5 minutes"\ncalled = "long soak"\n', 6, "'long soak'"),
    (STEP + 'do = "open a bucket"\ntarget = "1.80 to 1.75"\n', 6, "'1.80 to 1.75'"),
    (STEP + 'do = "open a bucket"\ntarget = "0.90 to 1.75"\n', 6, "'0.90 to 1.75'"),
    (STEP + 'do = "open a bucket"\ntarget = 1.75\n', 6, "got 1.75"),
    (STEP + 'say = "x"\ntarget = "1.75 to 1.80"\n', 6, "without do"),
    (STEP + 'for_every = "tile"\n[[steps.each]]\ndo = "weigh once"\n', 5, "only buckets"),
    (STEP + 'for_every = "bucket"\n', 5, "what to do with every bucket"),
    (STEP + 'say = "x"\n[[steps.each]]\ndo = "weigh once"\n', 4, "only buckets"),
    (
        STEP + 'for_every = "bucket"\n[[steps.each]]\ndo = "weigh once"\n[[steps.each]]\ndo = "no"\n',
        9,
        "'no'",
    ),
    (STEP + 'for_every = "bucket"\n[[steps.each]]\ndo = "weigh once"\n[[steps]]\ndo = "no"\n', 9, "'no'"),
    (STEP + 'for_every = "bucket"\n[[steps.each]]\nfor_every = "bucket"\n', 7, "once at a time"),
    (STEP + 'say = """\n[[steps]]\n"""\n[[steps]]\ndo = "no"\n', 9, "'no'"),
    (HEAD + '[[steps]]\ndo = "weigh once\n', 4, "no TOML"),
    (HEAD + "[[steps]\n", 3, "no TOML"),
    (HEAD + 'about = "again"\n', 3, "no TOML"),
]


@pytest.mark.parametrize(("text", "line", "reason"), BROKEN)
def test_a_broken_one_is_refused_by_file_and_line(text: str, line: int, reason: str) -> None:
    """The refusal names the file, the line and what is wrong, and says what to do next."""
    with pytest.raises(BadRoutine) as refusal:
        read(text)
    error = refusal.value
    assert isinstance(error, RoutineError)
    assert (error.file, error.line) == ("look.toml", line)
    assert reason in error.reason
    assert str(error).startswith(f"look.toml, line {line}: ")
    assert error.next_step


@pytest.mark.parametrize("cut", range(0, 200, 7))
def test_half_a_file_is_refused_and_nothing_else(cut: int) -> None:
    """A file that was cut off anywhere is read as what it still says, or refused by line."""
    text = OURS[0].read_text("utf-8")
    try:
        assert read(text[: -cut - 1]).name == read(text).name
    except BadRoutine as refusal:
        error = refusal
    else:
        return
    assert 1 <= error.line <= len(text.splitlines())


# ---- what comes with the bench --------------------------------------------------------------------


@pytest.mark.parametrize("file", OURS, ids=lambda file: file.name)
def test_our_routines_are_in_order(file: object) -> None:
    """Each is read, its name can be heard, and each sentence is worded both ways, the short one no longer."""
    text = file.read_text("utf-8")  # type: ignore[attr-defined]
    routine = read(text)
    said = Words(f"routine {routine.name}")
    meaning = phrases.understand(said, expected(Scene("t", READY, Bench(), routines=(routine,))))
    assert (meaning.kind, meaning.slots["routine"]) == ("start_routine", routine.name)
    steps = [
        inner for step in routine.steps for inner in (step.each if isinstance(step, ForEvery) else (step,))
    ]
    told = [step.told for step in steps if step.told] + [
        s.act.question for s in steps if isinstance(s.act, Ask)
    ]
    for sentence in (routine.about, *told):
        assert len(sentence.terse) < len(sentence.full)
        assert sentence.full[-1] in ".?"
        assert not any(sign.isdigit() for sign in sentence.full), "figures are for the eye"


def test_each_file_is_named_after_its_routine() -> None:
    """A potter finds the file by the name that is said."""
    for file in OURS:
        assert file.name == read(file.read_text("utf-8")).name.replace(" ", "_") + ".toml"


def test_every_task_is_used_by_one_of_our_routines_or_explained() -> None:
    """All tasks but two are shown at work; those two are for the potter's own."""
    text = "".join(file.read_text("utf-8") for file in OURS)
    assert {name for name in NAMES if f'do = "{name}"' not in text} == {"call it good", "warn of the mixer"}


def test_the_first_file_explains_the_format() -> None:
    """Whoever copies the first routine finds every task and every key in its remarks."""
    remarks = "".join(line for line in OURS_BY_NAME["first_cup.toml"].splitlines() if line.startswith("#"))
    for word in (*NAMES, *STEP_KEYS, *TOP_KEYS):
        assert word in remarks, word


@pytest.mark.parametrize("name", TASKS)
def test_every_task_can_be_asked_for(name: str) -> None:
    """What a task says in its state has a row of that state's own."""
    entries = (Entry("a-1", "bucket", NOW, "sea mist", {"target_low": 1.4, "target_high": 1.45}),)
    scene = Scene("t", READY, Bench(entries), bucket="sea mist")
    asked = TASKS[name].asks(scene, "sea mist")
    if asked is not None and asked.meaning is not None:
        assert asked.meaning.kind in TABLE.kinds_taken(asked.state)


def test_no_task_is_both_done_and_said() -> None:
    """A name stands for one thing."""
    assert not set(TASKS) & set(SPOKEN)


# ---- where it stands -------------------------------------------------------------------------------


ROUND = read(
    HEAD
    + """
    [[steps]]
    ask = "Ready?"
    [[steps]]
    for_every = "bucket"
    [[steps.each]]
    do = "open a bucket"
    [[steps.each]]
    do = "weigh once"
    [[steps.each]]
    do = "close the bucket"
    [[steps]]
    wait = "5 minutes"
    called = "rest"
    """
)


def test_buckets_are_gone_through_in_their_order() -> None:
    """The steps for every bucket stand once for each of them; opening and closing are not counted."""
    stops = tuple(stops_of(ROUND, ("sea mist", "winter ash")))
    assert [stop.bucket for stop in stops] == [None, *["sea mist"] * 3, *["winter ash"] * 3, None]
    assert [stop.waits for stop in stops] == [True, False, True, False, False, True, False, True]


def test_a_sentence_alone_waits_for_nobody() -> None:
    """What is only said goes on at once."""
    assert not Stop(Step(Told("Hear!", "Hear!"))).waits


def bench() -> Bench:
    """Return a bench with a cup of 100 g and two buckets."""
    target = {"target_low": 1.4, "target_high": 1.45}
    return Bench(
        (
            Entry("a-1", "bucket", NOW, "sea mist", target),
            Entry("a-2", "bucket", NOW, "winter ash", target),
            Entry(
                "a-3",
                "cup",
                NOW,
                None,
                {"water_g": 100.0, "empty_g": 0.0, "step_g": 1.0, "fills": 2, "spread_g": 0.0},
            ),
        )
    )


def talked(scene: Scene, *said: str, now: datetime = NOW) -> Scene:
    """Return the scene after these sentences."""
    for text in said:
        meaning = phrases.understand(Words(text, typed=True), expected(scene))
        scene, _, _ = advance(scene, Heard(meaning), now)
    return scene


def begun() -> Scene:
    """Return a scene in which the round was begun."""
    return talked(Scene("t", READY, bench(), routines=(ROUND,)), "routine quick look")


def step_of(scene: Scene) -> tuple[int, int] | None:
    """Return which step of how many, None without a routine."""
    run = running(scene)
    return None if run is None else run.counted()


def test_undo_takes_a_step_back() -> None:
    """What a turn led to is undone with it: the step, the bucket, the state."""
    at_first = begun()
    later = talked(at_first, "done", "gravity one point four two")
    assert (later.bucket, step_of(later)) == ("winter ash", (3, 4))
    once = talked(later, "undo")
    assert (once.bucket, step_of(once), once.bench.last("reading")) == ("sea mist", (2, 4), None)
    twice = talked(once, "undo")
    assert (twice.bucket, twice.state, step_of(twice)) == (None, at_first.state, (1, 4))
    assert step_of(talked(twice, "undo")) is None


def test_a_new_start_remembers_the_step() -> None:
    """The entries alone tell which step it is; a yes goes on there, a no leaves the routine."""
    later = talked(begun(), "done", "gravity one point four two")
    anew, _, _ = begin(Scene("u", READY, later.bench, routines=(ROUND,)), NOW)
    assert anew.state.name == "ROUTINE_RESUME"
    gone_on = talked(anew, "yes")
    assert (gone_on.bucket, gone_on.state, step_of(gone_on)) == ("winter ash", later.state, (3, 4))
    left = talked(anew, "no")
    assert (left.state, step_of(left)) == (READY, None)


def test_a_new_start_without_the_file_is_a_plain_start() -> None:
    """A routine whose file has gone, or is shorter now, leads nowhere."""
    later = talked(begun(), "done", "gravity one point four two")
    assert begin(Scene("u", READY, later.bench), NOW)[0].state == READY
    shorter = Routine(ROUND.name, ROUND.about, ROUND.steps[:1])
    assert begin(Scene("u", READY, later.bench, routines=(shorter,)), NOW)[0].state == READY


def test_one_may_go_back_behind_a_new_start() -> None:
    """After a new start there is nothing to undo, yet the step before can be begun again."""
    later = talked(begun(), "done", "gravity one point four two")
    anew, _, _ = begin(Scene("u", READY, later.bench, routines=(ROUND,)), NOW)
    back = talked(anew, "yes", "go back")
    assert (step_of(back), back.bucket) == ((2, 4), "sea mist")


def test_skipping_leads_on_to_the_end() -> None:
    """Each skip is one step; the last ends the routine and the bench is as without one."""
    scene = begun()
    steps = []
    while step_of(scene):
        steps.append(step_of(scene))
        scene = talked(scene, "skip it")
    assert steps == [(1, 4), (2, 4), (3, 4), (4, 4)]
    assert (scene.state, scene.bucket) == (READY, None)
    assert scene.bench.last("reading") is None


def test_the_end_of_a_wait_goes_on() -> None:
    """The timer leads on when it rings, and rings no more."""
    scene = talked(begun(), "done", "skip it", "skip it")
    assert step_of(scene) == (4, 4)
    later, said, _ = advance(scene, Rang("rest"), NOW + timedelta(minutes=5))
    assert step_of(later) is None
    assert [reply.key for reply in said][:2] == ["routine_time_up", "routine_done"]


def test_a_stopped_timer_is_the_end_of_the_wait() -> None:
    """Who stops the timer waits for it no longer."""
    scene = talked(begun(), "done", "skip it", "skip it", "stop the rest timer")
    assert step_of(scene) is None


def test_back_at_a_wait_the_timer_runs_anew() -> None:
    """Going back to a wait that was cut short waits again, the whole time."""
    longer = Routine(ROUND.name, ROUND.about, (*ROUND.steps, Step(None, Ask(Told("Clean?", "Clean?")))))
    scene = talked(
        Scene("t", READY, bench(), routines=(longer,)), "routine quick look", "done", "skip it", "skip it"
    )
    done = talked(scene, "done")
    assert (step_of(done), done.state.name) == ((5, 5), "ROUTINE_STEP")
    back = talked(done, "go back")
    assert step_of(back) == (4, 5)
    timer = back.bench.last("timer")
    assert timer is not None
    assert (timer.facts["act"], timer.facts["seconds"]) == ("start", 300.0)


def test_a_bucket_that_is_left_takes_its_steps_along() -> None:
    """Who finishes a bucket early goes on with the next one."""
    scene = talked(begun(), "done", "finish")
    assert (scene.bucket, step_of(scene)) == ("winter ash", (3, 4))


def test_cancel_leaves_the_routine_and_not_the_bucket() -> None:
    """The first cancel is for the routine, the second for the bucket."""
    scene = talked(begun(), "done", "cancel")
    assert (scene.bucket, step_of(scene), scene.state.name) == ("sea mist", None, "WEIGH")
    assert talked(scene, "cancel").bucket is None


def test_skip_is_waited_for_only_in_a_routine() -> None:
    """The recogniser listens for skip it at each step of a routine, and not without one."""
    scene = begun()
    assert "skip" in expected(scene).kinds
    assert "skip" not in expected(talked(scene, "cancel")).kinds
    assert "skip" not in expected(talked(scene, "pause")).kinds


def test_a_second_routine_asks_about_the_first() -> None:
    """Two routines at once would lose the potter."""
    open_first = read(HEAD + '[[steps]]\ndo = "open a bucket"\n')
    scene = talked(Scene("t", READY, bench(), routines=(open_first,)), "routine quick look")
    assert scene.state == READY
    assert talked(scene, "routine quick look").state.name == "ROUTINE_RESUME"


def test_a_routine_answers_at_every_step() -> None:
    """Its rows that hold anywhere stand before those of the bench."""
    for kind in ("cancel", "where"):
        rows = list(TABLE.candidates(ANYWHERE, kind))
        assert rows[0].guard.__name__ == "routine_under_way"

"""A routine as a potter writes it: TOML text becomes a value, or is refused by file and line.

::

    name = "first cup"
    about = "Make a cup known, then bring one bucket into range."
    terse = "Cup, then one bucket."

    [[steps]]
    say = "First the cup: its weight of water is what every gravity is reckoned from."
    terse = "The cup."
    do = "calibrate the cup"

Each step has at most one of ``do`` (a task), ``ask`` (a question that waits for done), ``wait`` (a time)
and ``for_every`` (with steps of its own under ``[[steps.each]]``); ``say`` comes before it, or stands alone.
``terse`` is what is said to whoever wants it short; an empty one says nothing.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from benchvoice.errors import BadRoutine

NAME_WORDS = 4
"""A name has at most so many words: it is said at one go (our choice)."""
LONGEST_WAIT_S = 24 * 3600.0
SECONDS = {"second": 1, "minute": 60, "hour": 3600}
TARGET = re.compile(r"(\d\.\d+) to (\d\.\d+)")
TOP_KEYS = ("name", "about", "terse", "steps")
WAYS = ("do", "ask", "wait", "for_every")
STEP_KEYS = ("say", "terse", *WAYS, "ask_terse", "target", "called", "each")
HEADER = re.compile(r"\s*\[\[\s*steps\s*(\.\s*each\s*)?\]\]")
ENDS_MULTILINE = re.compile(r'"""|\'\'\'')


@dataclass(frozen=True, slots=True)
class Told:
    """A sentence in both wordings."""

    full: str
    terse: str


@dataclass(frozen=True, slots=True)
class Do:
    """A task of the dialogue."""

    task: str
    target: tuple[float, float] | None = None
    """Target of a bucket that is begun in this step."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A question that waits for done."""

    question: Told


@dataclass(frozen=True, slots=True)
class Wait:
    """A timer."""

    seconds: float
    called: str


@dataclass(frozen=True, slots=True)
class Step:
    """Something said, something done, or both."""

    told: Told | None = None
    act: Do | Ask | Wait | None = None


@dataclass(frozen=True, slots=True)
class ForEvery:
    """Steps that are gone through for every bucket."""

    told: Told | None
    each: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Routine:
    """An ordered list of steps under a name."""

    name: str
    about: Told
    steps: tuple[Step | ForEvery, ...]

    @property
    def goes_round(self) -> bool:
        """Tell whether a part of it is gone through for every bucket."""
        return any(isinstance(step, ForEvery) for step in self.steps)


def routine_of(text: str, file: str, tasks: Collection[str]) -> Routine:
    """Return the routine in a text; ``file`` is what the text is called when it is refused.

    >>> routine_of('''name = "quick look"
    ... about = "Weigh one bucket."
    ... [[steps]]
    ... do = "weigh once"
    ... ''', "quick.toml", ["weigh once"]).steps
    (Step(told=None, act=Do(task='weigh once', target=None)),)
    """
    try:
        found = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _no_toml(file, str(error), text) from None
    return _Reader(file, text, tasks).routine(found)


def _no_toml(file: str, error: str, text: str) -> BadRoutine:
    place = re.search(r"at line (\d+)", error)
    line = int(place[1]) if place else len(text.splitlines())
    what = re.sub(r" \(at .*\)", "", error)
    return BadRoutine(file, max(line, 1), f"this is no TOML: {what}", "Look for a missing quote or bracket.")


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads one file; knows where in it to point."""

    file: str
    text: str
    tasks: Collection[str]

    def routine(self, found: Mapping[str, Any]) -> Routine:
        """Return the routine, every part of it checked."""
        self._known(found, TOP_KEYS, 0)
        for key in ("name", "about"):
            if key not in found:
                raise self._bad(0, None, f"a routine needs a {key!r}", f'Write {key} = "..." at the top.')
        steps = found.get("steps")
        if not isinstance(steps, list) or not steps:
            raise self._bad(0, "steps", "a routine needs steps", "Begin each of them with [[steps]].")
        about = self._told(found, "about", "terse", 0)
        assert about is not None
        return Routine(self._name(found["name"]), about, tuple(self._steps(steps)))

    def _name(self, name: object) -> str:
        words = name.split() if isinstance(name, str) else []
        sayable = all(word.replace("'", "").isalpha() for word in words)
        if not (0 < len(words) <= NAME_WORDS and sayable):
            raise self._bad(
                0, "name", f"a name is 1 to {NAME_WORDS} words of letters, to be said; got {name!r}",
                'Such as name = "first cup".',
            )  # fmt: skip
        return " ".join(words).lower()

    def _steps(self, steps: list[Any]) -> Iterator[Step | ForEvery]:
        place = 0
        for step in steps:
            place += 1
            here = place
            if isinstance(step, dict) and ("for_every" in step or "each" in step):
                place += len(step["each"]) if isinstance(step.get("each"), list) else 0
                yield self._for_every(step, here)
            else:
                yield self._step(step, here)

    def _for_every(self, step: Mapping[str, Any], place: int) -> ForEvery:
        self._known(step, STEP_KEYS, place)
        if step.get("for_every") != "bucket":
            raise self._bad(
                place, "for_every", "only buckets are gone through", 'Write for_every = "bucket".'
            )
        self._one_way(step, place)
        each = step.get("each")
        if not isinstance(each, list) or not each:
            raise self._bad(
                place, "for_every", "it is not said what to do with every bucket",
                "Begin each step of that with [[steps.each]].",
            )  # fmt: skip
        return ForEvery(
            self._told(step, "say", "terse", place),
            tuple(self._inner(inner, place + 1 + number) for number, inner in enumerate(each)),
        )

    def _inner(self, step: Any, place: int) -> Step:
        if isinstance(step, dict) and ("for_every" in step or "each" in step):
            raise self._bad(
                place, "for_every", "buckets are gone through once at a time", "Take this one out."
            )
        return self._step(step, place)

    def _step(self, step: Any, place: int) -> Step:
        if not isinstance(step, dict):
            raise self._bad(place, "steps", "a step is a table", "Begin each step with [[steps]].")
        self._known(step, STEP_KEYS, place)
        self._one_way(step, place)
        told, act = self._told(step, "say", "terse", place), self._act(step, place)
        if told is None and act is None:
            raise self._bad(place, None, "this step does nothing", f"Give it one of say, {', '.join(WAYS)}.")
        return Step(told, act)

    def _one_way(self, step: Mapping[str, Any], place: int) -> None:
        ways = [way for way in WAYS if way in step]
        if len(ways) > 1:
            raise self._bad(
                place, ways[1], f"one step has both {ways[0]} and {ways[1]}", "Make two steps of them."
            )
        for key, way in (("target", "do"), ("called", "wait"), ("ask_terse", "ask"), ("terse", "say")):
            if key in step and way not in step:
                raise self._bad(
                    place, key, f"{key} says nothing without {way}", f"Add {way}, or take it out."
                )

    def _act(self, step: Mapping[str, Any], place: int) -> Do | Ask | Wait | None:
        if "do" in step:
            return Do(self._task(step, place), self._target(step, place))
        if "ask" in step:
            question = self._told(step, "ask", "ask_terse", place)
            assert question is not None
            return Ask(question)
        return self._wait(step, place) if "wait" in step else None

    def _task(self, step: Mapping[str, Any], place: int) -> str:
        if step["do"] not in self.tasks:
            raise self._bad(
                place, "do", f"there is no task {step['do']!r}", f"The tasks are: {'; '.join(self.tasks)}."
            )
        return str(step["do"])

    def _target(self, step: Mapping[str, Any], place: int) -> tuple[float, float] | None:
        if "target" not in step:
            return None
        found = TARGET.fullmatch(str(step["target"]))
        low, high = (float(found[1]), float(found[2])) if found else (0.0, 0.0)
        if not 1 < low < high:
            raise self._bad(
                place, "target", f"a target is a low and a high gravity; got {step['target']!r}",
                'Such as target = "1.75 to 1.80".',
            )  # fmt: skip
        return low, high

    def _wait(self, step: Mapping[str, Any], place: int) -> Wait:
        found = re.fullmatch(r"(\d+(?:\.\d+)?) (second|minute|hour)s?", str(step["wait"]))
        seconds = float(found[1]) * SECONDS[found[2]] if found else 0.0
        if not 0 < seconds <= LONGEST_WAIT_S:
            raise self._bad(
                place,
                "wait",
                f"a time up to a day is wanted; got {step['wait']!r}",
                'Such as wait = "10 minutes".',
            )
        called = step.get("called", "routine")
        if not (isinstance(called, str) and called.isalpha()):
            raise self._bad(
                place, "called", f"a timer has a name of one word; got {called!r}", 'Such as "soak".'
            )
        return Wait(seconds, called.lower())

    def _told(self, step: Mapping[str, Any], key: str, short: str, place: int) -> Told | None:
        if key not in step:
            return None
        full, terse = step[key], step.get(short, step[key])
        silent = "a sentence" if key == "ask" else "a sentence, or nothing"
        for name, text, wanted in ((key, full, "a sentence"), (short, terse, silent)):
            if not isinstance(text, str) or (wanted == "a sentence" and not text.strip()):
                raise self._bad(place, name, f"{wanted} is wanted; got {text!r}", f'Write {name} = "...".')
        return Told(" ".join(full.split()), " ".join(terse.split()))

    def _known(self, table: Mapping[str, Any], keys: tuple[str, ...], place: int) -> None:
        for key in table:
            if key not in keys:
                raise self._bad(place, key, f"{key!r} is not known here", f"Known are: {', '.join(keys)}.")

    # ---- where it stands ----

    def _bad(self, place: int, key: str | None, what: str, next_step: str) -> BadRoutine:
        return BadRoutine(self.file, self._line(place, key), what, next_step)

    def _line(self, place: int, key: str | None) -> int:
        """Return the line of a key of the step that has this place in the file; of its head without a key."""
        heads = [0, *self._heads()]
        begin = heads[place] if place < len(heads) else 0
        end = heads[place + 1] if place + 1 < len(heads) else len(self.lines()) + 1
        for number in range(max(begin, 1), end):
            if key is not None and re.match(rf"\s*{re.escape(key)}\s*=", self.lines()[number - 1]):
                return number
        return max(begin, 1)

    def _heads(self) -> Iterator[int]:
        """Yield the lines on which steps begin, leaving out what stands in a text of several lines."""
        inside = False
        for number, line in enumerate(self.lines(), 1):
            if not inside and HEADER.match(line):
                yield number
            inside ^= len(ENDS_MULTILINE.findall(line)) % 2 == 1

    def lines(self) -> list[str]:
        """Return the file's lines."""
        return self.text.split("\n")

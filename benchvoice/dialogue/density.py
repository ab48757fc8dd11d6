"""The main job: a bucket, a cup, a weight, a gravity, the water to add, until it is in range."""

from __future__ import annotations

from dataclasses import dataclass

from benchvoice.dialogue import advice as advising
from benchvoice.dialogue import contents, readings, said
from benchvoice.dialogue import cup as cups
from benchvoice.dialogue import target as targets
from benchvoice.dialogue.always import CONFIRM, hold
from benchvoice.dialogue.cup import CupWork, with_fill
from benchvoice.dialogue.scene import State, Turn
from benchvoice.dialogue.table import ANYWHERE, Row, Then, always, nothing

READY = State(
    "READY",
    "ask_bucket",
    ("new bucket", "list the buckets", "calibrate the cup", "options"),
    names=("bucket",),
)
ASK_NAME = State("ASK_NAME", "ask_name", ("tide green", "cancel"))
ASK_TARGET = State("ASK_TARGET", "ask_target", ("one point four to one point four five", "usual"))
CUP_EMPTY = State("CUP_EMPTY", "ask_cup_empty", ("tared", "sixty two grams", "cancel"))
CUP_FILL = State("CUP_FILL", "ask_cup_fill", ("one hundred grams", "go back"))
CUP_AGAIN = State("CUP_AGAIN", "ask_cup_again", ("one hundred grams", "done"))
WEIGH = State("WEIGH", "ask_weigh", ("one forty two", "one four two point five", "calibrate the cup", "help"))
ASK_CONTENTS = State("ASK_CONTENTS", "ask_contents", ("ten litres", "twelve kilos", "I don't know"))
ASK_WIDTH = State("ASK_WIDTH", "ask_width", ("twenty eight centimetres", "go back"))
ADD_WATER = State(
    "ADD_WATER", "ask_water_added", ("done", "added four hundred grams", "added nothing", "repeat")
)
THIN = State("THIN", "ask_thin", ("take water off", "add dry", "leave it"))
TAKE_OFF = State("TAKE_OFF", "ask_taken_off", ("done", "took off three hundred grams", "took off nothing"))
ADD_DRY = State("ADD_DRY", "ask_dry_added", ("done", "added two hundred grams", "added nothing"))
RIGHT = State("RIGHT", "ask_right", ("finish", "weigh again"))


@dataclass(frozen=True, slots=True)
class Advice:
    """What was advised last, so that "done" means that."""

    mass_g: float = 0.0
    whole_g: float = 0.0
    """All that is needed, of which ``mass_g`` is the first part [g]."""
    depth_cm: float | None = None


# ---- guards -----------------------------------------------------------------------------


def named(turn: Turn) -> bool:
    """Hold when a name was said with it."""
    return "name" in turn.meaning.slots


def known_already(turn: Turn) -> bool:
    """Hold when a bucket of that name exists."""
    return named(turn) and turn.meaning.text("name") in turn.scene.bench.names()


def no_bucket_yet(turn: Turn) -> bool:
    """Hold when the bench knows no bucket."""
    return not turn.scene.bench.names()


def no_cup_yet(turn: Turn) -> bool:
    """Hold when no cup is calibrated."""
    return turn.scene.bench.last("cup") is None


def no_bucket_open(turn: Turn) -> bool:
    """Hold when no bucket is being worked on."""
    return turn.scene.bucket is None


def doubtful(turn: Turn) -> bool:
    """Hold when the amount is unlikely here and nobody has said yes to it."""
    return not turn.scene.sure and said.heard_badly(turn)


def doubtful_weight(turn: Turn) -> bool:
    """Hold when the gravity that follows is unlikely for this bucket, or was heard badly."""
    return not turn.scene.sure and readings.unlikely_reading(turn)


def doubtful_addition(turn: Turn) -> bool:
    """Hold when far more was added than was advised, or it was heard badly."""
    return not turn.scene.sure and advising.unlikely_addition(turn, turn.scene.work(Advice).mass_g)


def in_range(turn: Turn) -> bool:
    """Hold when the gravity is within the bucket's target."""
    return readings.verdict(turn) == "right"


def too_close_to_tell(turn: Turn) -> bool:
    """Hold when a first reading is above the target, yet within what the cup can tell."""
    return readings.verdict(turn) == "unsure" and not readings.read_twice(turn.scene)


def as_near_as_can_be_told(turn: Turn) -> bool:
    """Hold when a second reading is no clearer."""
    return readings.verdict(turn) == "unsure"


def too_thick(turn: Turn) -> bool:
    """Hold when the gravity is above the target and the contents are known."""
    return readings.verdict(turn) == "thick" and contents.contents(turn.scene) is not None


def too_thick_unmeasured(turn: Turn) -> bool:
    """Hold when the gravity is above the target and nothing is known of the contents."""
    return readings.verdict(turn) == "thick"


def thick_as_last_read(turn: Turn) -> bool:
    """Hold when the last reading was above the target."""
    return readings.last_verdict(turn.scene) == "thick"


def fills_agree(turn: Turn) -> bool:
    """Hold when the fills of the cup, with this one, agree well enough."""
    return cups.checked_fills(with_fill(turn)).agree


def fills_agree_idle(turn: Turn) -> bool:
    """Hold when the fills agree and no bucket waits for the cup."""
    return no_bucket_open(turn) and fills_agree(turn)


def thin_unmeasured(turn: Turn) -> bool:
    """Hold when nothing is known of the contents."""
    return contents.contents(turn.scene) is None


# ---- choosing a bucket ---------------------------------------------------------------------


def say_no_buckets(turn: Turn) -> Turn:
    """Say how to begin the first bucket."""
    return turn.say("no_buckets")


def say_buckets(turn: Turn) -> Turn:
    """Name the buckets."""
    return turn.say("buckets", names=turn.scene.bench.names())


def say_known_already(turn: Turn) -> Turn:
    """Say that the name is taken."""
    return turn.say("known_already", name=turn.meaning.text("name"))


def name_bucket(turn: Turn) -> Turn:
    """Take the name of the new bucket."""
    return turn.set(bucket=turn.meaning.text("name")).say("bucket_named", name=turn.meaning.text("name"))


def set_target(turn: Turn) -> Turn:
    """Take the target and begin the bucket."""
    low, high = said.target_said(turn)
    turn = turn.write("bucket", {"target_low": low, "target_high": high})
    return open_bucket(turn.say("target_set", low=low, high=high))


def set_usual_target(turn: Turn) -> Turn:
    """Take the range in which most dipping glazes work and begin the bucket."""
    low, high = targets.USUAL_TARGET
    turn = turn.write("bucket", {"target_low": low, "target_high": high, "usual": True})
    return open_bucket(turn.say("target_usual", low=low, high=high))


def choose_bucket(turn: Turn) -> Turn:
    """Work on a bucket that is known."""
    name = turn.meaning.text("bucket")
    return open_bucket(turn.set(bucket=name))


def open_bucket(turn: Turn) -> Turn:
    """Begin work on the bucket and say when it was last opened."""
    name = turn.scene.bucket
    before = turn.scene.bench.last("reading", name)
    turn = turn.write("opened").say(
        "bucket_opened", name=name, **advising.since_last_reading(before, turn.now)
    )
    return turn.keep(Advice())


# ---- the cup ----------------------------------------------------------------------------------


def start_cup(turn: Turn) -> Turn:
    """Forget a calibration begun before."""
    return turn.keep(CupWork())


def tare_cup(turn: Turn) -> Turn:
    """Take the scale as tared with the empty cup on it."""
    return turn.keep(CupWork())


def weigh_empty_cup(turn: Turn) -> Turn:
    """Take the weight of the empty cup."""
    grams = said.grams_said(turn)
    return turn.keep(CupWork(empty_g=grams)).say("cup_empty_heard", weight_g=grams, amount=turn.amount)


def take_fill(turn: Turn) -> Turn:
    """Take one fill of water to the mark."""
    work = with_fill(turn)
    cups.checked_fills(work)
    return turn.keep(work).say(
        "cup_fill_heard", net_g=work.fills_g[-1], amount=turn.amount, fills=len(work.fills_g)
    )


def take_last_fill(turn: Turn) -> Turn:
    """Take a fill that agrees, and calibrate the cup."""
    return finish_cup(take_fill(turn))


def say_fills_differ(turn: Turn) -> Turn:
    """Take a fill that does not agree, and ask for another."""
    turn = take_fill(turn)
    return turn.say("cup_fills_differ", spread_g=cups.spread(turn.scene.work(CupWork)))


def finish_cup(turn: Turn) -> Turn:
    """Calibrate the cup from the fills that were taken."""
    facts = cups.calibrated(turn.scene.work(CupWork))
    return turn.write("cup", facts, about_bucket=False).say("cup_calibrated", **facts)


# ---- weighing -----------------------------------------------------------------------------------


def take_reading(turn: Turn) -> Turn:
    """Work out the gravity from the weight and write both down."""
    found = readings.reading(turn)
    turn = turn.write("reading", found.as_facts())
    key = "reading_as_gravity" if found.net_g is None else "reading"
    return turn.say(key, amount=turn.amount, **found.as_facts())


def take_right_reading(turn: Turn) -> Turn:
    """Take a reading that is in range."""
    turn = take_reading(turn)
    low, high = targets.target(turn.scene)
    return turn.say("in_range", low=low, high=high)


def take_unsure_reading(turn: Turn) -> Turn:
    """Take a reading that may or may not be above the target."""
    return take_reading(turn).say("too_close_to_tell")


def take_near_reading(turn: Turn) -> Turn:
    """Take a second reading that is no clearer, and leave it at that."""
    return take_reading(turn).say("near_enough")


def take_thin_reading(turn: Turn) -> Turn:
    """Take a reading below the target."""
    turn = take_reading(turn)
    low, high = targets.target(turn.scene)
    return turn.say("too_thin", low=low, high=high)


def take_thick_reading(turn: Turn) -> Turn:
    """Take a reading above the target and say how much water to add."""
    return advise_water(_say_thick(take_reading(turn)))


def take_unmeasured_thick_reading(turn: Turn) -> Turn:
    """Take a reading above the target, before the contents are known."""
    return _say_thick(take_reading(turn))


def _say_thick(turn: Turn) -> Turn:
    low, high = targets.target(turn.scene)
    return turn.say("too_thick", low=low, high=high)


# ---- the contents ----------------------------------------------------------------------------------


def take_contents(turn: Turn) -> Turn:
    """Take the contents from litres or kilos."""
    return _contents_taken(turn, contents.contents_said(turn))


def take_depth(turn: Turn) -> Turn:
    """Take the depth of the slurry; the width is asked next."""
    depth = said.centimetres_said(turn)
    return turn.keep(Advice(depth_cm=depth)).ask(depth_cm=depth)


def take_width(turn: Turn) -> Turn:
    """Take the inner width and work out the contents."""
    depth = turn.scene.work(Advice).depth_cm
    assert depth is not None
    return _contents_taken(turn, contents.contents_from_depth(turn, depth))


def _contents_taken(turn: Turn, found: contents.Contents) -> Turn:
    turn = turn.write("contents", found.as_facts())
    return turn.say("contents_heard", amount=turn.amount, **found.as_facts())


def take_contents_then_water(turn: Turn) -> Turn:
    """Take the contents and say how much water to add."""
    return advise_water(take_contents(turn))


def take_width_then_water(turn: Turn) -> Turn:
    """Take the width and say how much water to add."""
    return advise_water(take_width(turn))


def advise_trial_water(turn: Turn) -> Turn:
    """Say how much water to add first when nobody knows the contents."""
    mass_g = advising.trial_g(turn.scene)
    return turn.keep(Advice(mass_g, mass_g)).say("trial_water", mass_g=mass_g).ask(mass_g=mass_g)


# ---- adding and taking off -------------------------------------------------------------------------------


def advise_water(turn: Turn) -> Turn:
    """Say how much water to add now, and how much it will take in all."""
    advice = advising.water_advice(turn.scene)
    turn = turn.keep(Advice(advice.stage_g, advice.whole_g))
    key = "add_water_stage" if advice.is_stage else "add_water"
    return turn.say(key, **advice.as_facts()).ask(mass_g=advice.stage_g)


def _take_addition(turn: Turn, what: str, mass_g: float) -> Turn:
    turn = turn.write("addition", {"what": what, "mass_g": round(mass_g, 3)})
    return turn.say("water_added" if what == "water" else "dry_added", mass_g=mass_g)


def add_water_as_advised(turn: Turn) -> Turn:
    """Write down that what was advised was added."""
    return _take_addition(turn, "water", turn.scene.work(Advice).mass_g)


def add_water_as_said(turn: Turn) -> Turn:
    """Write down how much water was really added."""
    return _take_addition(turn, "water", said.water_said(turn))


def add_nothing(turn: Turn) -> Turn:
    """Write nothing down."""
    return turn.say("nothing_added")


def advise_taking_off(turn: Turn) -> Turn:
    """Say how much clear water to take off after settling."""
    mass_g = advising.water_to_take_off(turn.scene)
    return turn.keep(Advice(mass_g, mass_g)).say("take_off", mass_g=mass_g).ask(mass_g=mass_g)


def advise_trial_taking_off(turn: Turn) -> Turn:
    """Say how much clear water to take off first when nobody knows the contents."""
    mass_g = advising.trial_g(turn.scene)
    return turn.keep(Advice(mass_g, mass_g)).say("trial_taking_off", mass_g=mass_g).ask(mass_g=mass_g)


def take_off_as_advised(turn: Turn) -> Turn:
    """Write down that what was advised was taken off."""
    mass_g = turn.scene.work(Advice).mass_g
    return turn.write("addition", {"what": "water", "mass_g": -round(mass_g, 3)}).say(
        "taken_off", mass_g=mass_g
    )


def take_off_as_said(turn: Turn) -> Turn:
    """Write down how much water was really taken off."""
    mass_g = said.water_said(turn)
    return turn.write("addition", {"what": "water", "mass_g": -round(mass_g, 3)}).say(
        "taken_off", mass_g=mass_g
    )


def advise_dry(turn: Turn) -> Turn:
    """Say how much dry batch to add, with the caution about dust first."""
    advice = advising.dry_advice(turn.scene)
    turn = turn.keep(Advice(advice.stage_g, advice.whole_g)).say("safety_dust")
    return turn.say("add_dry", **advice.as_facts()).ask(mass_g=advice.stage_g)


def add_dry_as_advised(turn: Turn) -> Turn:
    """Write down that the dry batch that was advised was added."""
    return _take_addition(turn, "dry", turn.scene.work(Advice).mass_g)


def add_dry_as_said(turn: Turn) -> Turn:
    """Write down how much dry batch was really added."""
    return _take_addition(turn, "dry", said.grams_said(turn))


# ---- finishing ---------------------------------------------------------------------------


def finish(turn: Turn) -> Turn:
    """Sum up the bucket and leave it."""
    facts = advising.summary(turn.scene)
    turn = turn.write("closed", facts).say("summary", bucket=turn.scene.bucket, **facts)
    return turn.set(bucket=None)


def leave_bucket(turn: Turn) -> Turn:
    """Leave the bucket as it is."""
    return turn.set(bucket=None, held=None).say("cancelled")


ROWS = (
    Row(READY, "choose_bucket", no_cup_yet, CUP_EMPTY, choose_bucket),
    Row(READY, "choose_bucket", always, WEIGH, choose_bucket),
    Row(READY, "new_bucket", known_already, Then.AGAIN, say_known_already),
    Row(READY, "new_bucket", named, ASK_TARGET, name_bucket),
    Row(READY, "new_bucket", always, ASK_NAME, nothing),
    Row(READY, "list_buckets", no_bucket_yet, Then.AGAIN, say_no_buckets),
    Row(READY, "list_buckets", always, Then.AGAIN, say_buckets),
    Row(READY, "start", no_bucket_yet, Then.AGAIN, say_no_buckets),
    Row(READY, "start", always, Then.AGAIN, say_buckets),
    Row(READY, "calibrate", always, CUP_EMPTY, start_cup),
    *(
        row
        for kind in ("called", "name_given")
        for row in (
            Row(ASK_NAME, kind, known_already, Then.AGAIN, say_known_already),
            Row(ASK_NAME, kind, always, ASK_TARGET, name_bucket),
        )
    ),
    *(
        row
        for kind in ("target", "target_range", "gravity")
        for row in (
            Row(ASK_TARGET, kind, no_cup_yet, CUP_EMPTY, set_target),
            Row(ASK_TARGET, kind, always, WEIGH, set_target),
        )
    ),
    *(
        row
        for kind in ("usual", "unknown")
        for row in (
            Row(ASK_TARGET, kind, no_cup_yet, CUP_EMPTY, set_usual_target),
            Row(ASK_TARGET, kind, always, WEIGH, set_usual_target),
        )
    ),
    # the cup
    Row(CUP_EMPTY, "tared", always, CUP_FILL, tare_cup),
    Row(CUP_EMPTY, "done", always, CUP_FILL, tare_cup),
    Row(CUP_EMPTY, "weight", doubtful, CONFIRM, hold),
    Row(CUP_EMPTY, "weight", always, CUP_FILL, weigh_empty_cup),
    Row(CUP_FILL, "weight", doubtful, CONFIRM, hold),
    Row(CUP_FILL, "weight", always, CUP_AGAIN, take_fill),
    Row(CUP_AGAIN, "weight", doubtful, CONFIRM, hold),
    Row(CUP_AGAIN, "weight", fills_agree_idle, READY, take_last_fill),
    Row(CUP_AGAIN, "weight", fills_agree, WEIGH, take_last_fill),
    Row(CUP_AGAIN, "weight", always, CUP_AGAIN, say_fills_differ),
    Row(CUP_AGAIN, "done", no_bucket_open, READY, finish_cup),
    Row(CUP_AGAIN, "done", always, WEIGH, finish_cup),
    # the reading
    *(
        row
        for kind in ("weight", "gravity")
        for row in (
            Row(WEIGH, kind, doubtful_weight, CONFIRM, hold),
            Row(WEIGH, kind, in_range, RIGHT, take_right_reading),
            Row(WEIGH, kind, too_close_to_tell, WEIGH, take_unsure_reading),
            Row(WEIGH, kind, as_near_as_can_be_told, RIGHT, take_near_reading),
            Row(WEIGH, kind, too_thick, ADD_WATER, take_thick_reading),
            Row(WEIGH, kind, too_thick_unmeasured, ASK_CONTENTS, take_unmeasured_thick_reading),
            Row(WEIGH, kind, always, THIN, take_thin_reading),
        )
    ),
    Row(WEIGH, "calibrate", always, CUP_EMPTY, start_cup),
    Row(WEIGH, "finish", always, READY, finish),
    # the contents
    *(
        row
        for kind in ("volume", "weight")
        for row in (
            Row(ASK_CONTENTS, kind, thick_as_last_read, ADD_WATER, take_contents_then_water),
            Row(ASK_CONTENTS, kind, always, THIN, take_contents),
        )
    ),
    Row(ASK_CONTENTS, "length", always, ASK_WIDTH, take_depth),
    Row(ASK_CONTENTS, "unknown", thick_as_last_read, ADD_WATER, advise_trial_water),
    Row(ASK_CONTENTS, "unknown", always, TAKE_OFF, advise_trial_taking_off),
    Row(ASK_WIDTH, "length", thick_as_last_read, ADD_WATER, take_width_then_water),
    Row(ASK_WIDTH, "length", always, THIN, take_width),
    # water
    Row(ADD_WATER, "done", always, WEIGH, add_water_as_advised),
    *(
        row
        for kind in ("added", "weight", "volume")
        for row in (
            Row(ADD_WATER, kind, doubtful_addition, CONFIRM, hold),
            Row(ADD_WATER, kind, always, WEIGH, add_water_as_said),
        )
    ),
    Row(ADD_WATER, "none_added", always, WEIGH, add_nothing),
    Row(ADD_WATER, "finish", always, READY, finish),
    # too thin
    Row(THIN, "settle", thin_unmeasured, ASK_CONTENTS, nothing),
    Row(THIN, "settle", always, TAKE_OFF, advise_taking_off),
    Row(THIN, "add_dry", thin_unmeasured, ASK_CONTENTS, nothing),
    Row(THIN, "add_dry", always, ADD_DRY, advise_dry),
    Row(THIN, "leave_it", always, READY, finish),
    Row(THIN, "weigh", always, WEIGH, nothing),
    Row(THIN, "finish", always, READY, finish),
    Row(TAKE_OFF, "done", always, WEIGH, take_off_as_advised),
    *(Row(TAKE_OFF, kind, always, WEIGH, take_off_as_said) for kind in ("took_off", "weight", "volume")),
    Row(TAKE_OFF, "none_added", always, WEIGH, add_nothing),
    Row(ADD_DRY, "done", always, WEIGH, add_dry_as_advised),
    *(Row(ADD_DRY, kind, always, WEIGH, add_dry_as_said) for kind in ("added", "weight")),
    Row(ADD_DRY, "none_added", always, WEIGH, add_nothing),
    # right
    Row(RIGHT, "finish", always, READY, finish),
    Row(RIGHT, "done", always, READY, finish),
    Row(RIGHT, "weigh", always, WEIGH, nothing),
    Row(ANYWHERE, "cancel", always, READY, leave_bucket),
)

"""The states of the main job."""

from benchvoice.dialogue.scene import State

READY = State(
    "READY",
    "ask_bucket",
    ("new bucket", "list the buckets", "calibrate the cup", "make a batch", "options"),
    names=("bucket", "recipe", "routine"),
)
ASK_NAME = State("ASK_NAME", "ask_name", ("tide green", "cancel"))
ASK_TARGET = State("ASK_TARGET", "ask_target", ("one point four to one point four five", "usual"))
CUP_EMPTY = State("CUP_EMPTY", "ask_cup_empty", ("tared", "sixty two grams", "cancel"))
CUP_FILL = State("CUP_FILL", "ask_cup_fill", ("one hundred grams", "go back"))
CUP_AGAIN = State("CUP_AGAIN", "ask_cup_again", ("one hundred grams", "done"))
WEIGH = State(
    "WEIGH",
    "ask_weigh",
    ("one forty two", "one four two point five", "check the flow", "calibrate the cup", "finish"),
)
ASK_CONTENTS = State("ASK_CONTENTS", "ask_contents", ("ten litres", "twelve kilos", "I don't know"))
ASK_WIDTH = State("ASK_WIDTH", "ask_width", ("twenty eight centimetres", "go back"))
ADD_WATER = State(
    "ADD_WATER", "ask_water_added", ("done", "added four hundred grams", "added nothing", "finish")
)
THIN = State("THIN", "ask_thin", ("take water off", "add dry", "leave it"))
TAKE_OFF = State("TAKE_OFF", "ask_taken_off", ("done", "took off three hundred grams", "took off nothing"))
ADD_DRY = State("ADD_DRY", "ask_dry_added", ("done", "added two hundred grams", "added nothing"))
RIGHT = State(
    "RIGHT", "ask_right", ("finish", "check the flow", "check the tile", "call it good", "weigh again")
)

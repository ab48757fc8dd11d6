"""What the training voices are given to say: bench sentences with numbers in every spoken form, and common words.

python texts.py COUNT SEED > texts.txt
"""

from __future__ import annotations

import random
import sys
from functools import cache
from pathlib import Path

sys.path.append(str(Path(__file__).parents[2]))  # the repository: its phrase rules are one source of sentences
from benchvoice.meaning import phrases

from lexicon import Dictionary, common_words

ONES = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
TEENS = ["ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
NOUGHTS = ("zero", "oh", "nought")
HARD = (6, 2, 3, 16, 60, 15, 50, 13, 30, 14, 40, 17, 70, 18, 80, 19, 90)  # numbers mistaken for each other

UNITS = """
grams gram kilograms kilogram kilos kilo litres litre millilitres millilitre mils drops drop seconds
second minutes minute hours hour centimetres centimetre millimetres millimetre degrees percent
teaspoons teaspoon tablespoons ounces pounds pints gallons layers coats dips times
""".split()
COMMANDS = """yes|no|yeah|yep|nope|okay|correct|wrong|right|that's right|that's wrong|repeat|repeat that|
say again|say that again|
help|undo|undo that|cancel|go back|back|next|pause|continue|resume|stop|stop timer|where am i|where are we|
slower|faster|louder|
quieter|speak up|options|goodbye|standby|stand by|wait|wait a moment|hold on|carry on|what can i say|
how much so far|
how much more|how much water|how many drops|how long|how thick|start over|start again|skip|done|finished|
ready|quiet|
hello|listen|wake up|thank you|read it back|read that back|main menu|status|summary|history|last reading|
new bucket|
new glaze|open bucket|change bucket|which bucket|list buckets|add a note|make a note|delete that|forget it|
never mind|
i'm done|i'm ready|weigh|weigh again|calibrate|calibrate the cup|tare|zero the scale|empty cup|full cup|
check the glaze|
check the gravity|adjust the water|thin it|thicken it|add water|add more water|start the timer|start timer|
cancel timer|
reset|test tile|dip test|flow test|mix|stir|sieve|save|confirm|short answers|long answers|beginner|expert|
too thick|
too thin|just right|about right|don't know|i don't know|not sure|mute|exit|quit|time's up|how do i|what next|
what now""".replace("\n", "").split("|")

MATERIALS = """feldspar|potash feldspar|soda feldspar|silica|whiting|kaolin|china clay|ball clay|dolomite|
talc|zinc|
zinc oxide|tin oxide|cobalt oxide|cobalt carbonate|copper carbonate|copper oxide|iron oxide|red iron oxide|
rutile|
titanium dioxide|manganese|chrome|frit|bentonite|nepheline syenite|sodium silicate|soda ash|epsom salt|
epsom salts|
calcium chloride|vinegar|polymer dispersant|dispersant|magnesium carbonate|wood ash|bone ash|gum|water|
lithium carbonate|
barium carbonate|colemanite|wollastonite|zircon|calcium carbonate|borax|slip|alumina""".replace("\n", "").split("|")

GLAZES = """celadon|tenmoku|shino|clear|white|tin white|matt white|satin black|black|blue|cobalt blue|
copper green|green|honey|
amber|oatmeal|ash|iron red|rust|chun|turquoise|grey|cream|yellow|purple|speckle|transparent|liner|
stoneware clear|
earthenware clear|majolica|base|test|number""".replace("\n", "").split("|")

FLOW = """water|milk|skimmed milk|cream|single cream|double cream|heavy cream|yogurt|yoghurt|honey|paint|
custard|soup|jelly|
batter|porridge""".replace("\n", "").split("|")

SIGNS = """cracks|cracking|flakes|flaking|flakes off|crawls|crawling|runs|running|drips|powdery|pinholes|
smooth|even|uneven|
lumpy|streaky|dusty|bubbles|peels|peeling|slow to dry|dries slowly|dries quickly|too thick|too thin|gelled|
settled|
settled hard|runny|watery|patchy|crazing|shivering|bare patches|nothing|fine|good|soft|hard|sticky|
sandy""".replace("\n", "").split("|")

ATTENTION = ("hey bench", "hello bench", "okay bench", "bench", "listen bench")

FRAMES = """{n} {u}|{n} {u}|{n} {u}|{n}|{n}|{n}|{n}|{n}|add {n} {u}|added {n} {u}|i added {n} {u}|
i put in {n} {u}|{n} {u} of {m}|
add {n} {u} of {m}|{n} {u} of water|target {n}|target {n} to {n}|set target {n}|set the target to {n}|
the scale says {n}|it reads {n}|
it weighs {n}|the cup weighs {n}|weight {n}|reading {n}|timer {n} {u}|set a timer for {n} {u}|
{n} second timer|no {n}|no i said {n}|
i said {n}|make it {n}|{n} please|bucket {n} {u}|temperature {n} degrees|dip {n} seconds|
drain time {n} seconds|gravity {n}|
specific gravity {n}|the gravity is {n}|dry weight {n} {u}|batch {n} {u}|about {n} {u}|{n} or {n}|
between {n} and {n}|
plus {n}|minus {n}|percent {n}|{n} percent {m}|full cup {n}|empty cup {n}|{c}|{c}|{c}|{c}|{c}|{c}|{c} please|
okay {c}|{c} {c}|
{a}|{a} {c}|{a} {n} {u}|like {f}|it's like {f}|it flows like {f}|thinner than {f}|thicker than {f}|
the tile {s}|it {s}|
the glaze {s}|it is {s}|the coat is {s}|{s}|{m}|{m}|add {m}|the {m}|no {m}|{g}|{g} glaze|the {g} bucket|
open {g}|new glaze {g}|
call it {g}|{g} {n}|bucket {g}|switch to {g}|how much {m}|is {m} safe""".replace("\n", "").split("|")


def upto_99(value: int) -> str:
    if value < 10:
        return ONES[value]
    if value < 20:
        return TEENS[value - 10]
    return TENS[value // 10 - 2] + (f" {ONES[value % 10]}" if value % 10 else "")


def digits(text: str, chance: random.Random) -> str:
    """Digit by digit; a doubled digit is now and then said "double four"."""
    words: list[str] = []
    nought = chance.choices(NOUGHTS, (3, 4, 1))[0]
    index = 0
    while index < len(text):
        same = text[index : index + 2] == text[index] * 2
        word = nought if text[index] == "0" else ONES[int(text[index])]
        doubled = same and chance.random() < 0.35
        words += ["double", word] if doubled else [word]
        index += 2 if doubled else 1
    return " ".join(words)


def pairs(value: int, chance: random.Random) -> str:
    """Say it in pairs: "one forty two", "three oh five", "four hundred"."""
    head, tail = divmod(value, 100)
    if tail == 0:
        return f"{upto_99(head)} hundred"
    small = f"{chance.choice(('oh', 'zero', 'nought', 'oh'))} {ONES[tail]}" if tail < 10 else upto_99(tail)
    return f"{upto_99(head)} {small}"


def hundreds(value: int, chance: random.Random) -> str:
    """Say the hundreds: "a hundred and forty two", "one hundred forty two"."""
    head, tail = divmod(value, 100)
    first = chance.choice(("a", "one")) if head == 1 else upto_99(head)
    link = chance.choice((" and ", " and ", " "))
    return f"{first} hundred" + (f"{link}{upto_99(tail)}" if tail else "")


def thousands(value: int, chance: random.Random) -> str:
    head, tail = divmod(value, 1000)
    first = chance.choice(("a", "one")) if head == 1 else upto_99(head)
    if tail == 0:
        return f"{first} thousand"
    if tail < 100:
        return f"{first} thousand {chance.choice(('and ', ''))}{upto_99(tail)}"
    return f"{first} thousand {hundreds(tail, chance)}"


def whole(value: int, chance: random.Random) -> str:
    """One of the ways to say a whole number."""
    if value < 100:
        return digits(str(value), chance) if value > 9 and chance.random() < 0.25 else upto_99(value)
    if value < 1000:
        return (
            chance.choices((pairs, hundreds), (1, 1))[0](value, chance)
            if chance.random() < 0.8
            else digits(str(value), chance)
        )
    if value < 10000 and chance.random() < 0.5:
        return chance.choice((pairs(value, chance), digits(str(value), chance)))
    return thousands(value, chance)


def size(chance: random.Random) -> int:
    """Weights of a cup are the commonest numbers of the bench, so hundreds come most often."""
    kind = chance.random()
    if kind < 0.15:
        return chance.choice(HARD) + (chance.choice((0, 100, 200, 300)) if chance.random() < 0.5 else 0)
    if kind < 0.5:
        return chance.randint(100, 999) if chance.random() < 0.7 else chance.randint(100, 199)
    if kind < 0.8:
        return chance.randint(0, 99)
    return chance.randint(1000, 9999) if chance.random() < 0.8 else chance.randint(10000, 99999)


def decimals(chance: random.Random) -> str:
    return digits("".join(chance.choice("0123456789") for _ in range(chance.choice((1, 1, 2, 2, 2, 3)))), chance)


def number(chance: random.Random) -> str:
    kind = chance.random()
    if kind < 0.17:
        return f"one point {decimals(chance)}"
    if kind < 0.21:
        return f"{chance.choice(('nought', 'zero', 'oh', ''))} point {decimals(chance)}".strip()
    said = whole(size(chance), chance)
    if kind < 0.35:
        return f"{said} point {decimals(chance)}"
    if kind < 0.39:
        return f"{said} and {chance.choice(('a half', 'a quarter', 'three quarters'))}"
    if kind < 0.42:
        return f"minus {said}"
    if kind < 0.44:
        return chance.choice(
            ("half", "half a", "a quarter", "a dozen", "a couple", "twelve hundred", "fifteen hundred")
        )
    return said


SLOTS = {"u": UNITS, "c": COMMANDS, "m": MATERIALS, "g": GLAZES, "f": FLOW, "s": SIGNS, "a": ATTENTION}


def bench_sentence(chance: random.Random) -> str:
    words = []
    for piece in chance.choice(FRAMES).split():
        slot = piece.strip("{}")
        filled = piece if slot == piece else number(chance) if slot == "n" else chance.choice(SLOTS[slot])
        words.append(filled)
    return " ".join(words)


@cache
def general_words() -> tuple[str, ...]:
    dictionary = Dictionary()
    return tuple(word for word in common_words(8000) if word in dictionary and len(word) > 1)


def product_sentence(chance: random.Random) -> str:
    """A sentence that the product's own phrase rules allow; those that need a name nobody has given are passed over."""
    while True:
        try:
            said = phrases.sample(chance.choice(phrases.kinds()), chance)
        except ValueError:
            continue
        if len(said.split()) <= 12:
            return said


def digit_words(chance: random.Random) -> str:
    """Short number words alone or in a row: what is mistaken most."""
    kind = chance.random()
    if kind < 0.4:
        return chance.choice([*ONES, "oh", "nought"])
    if kind < 0.6:
        return chance.choice([*TEENS, *TENS])
    return digits("".join(chance.choice("0123456789") for _ in range(chance.randint(2, 5))), chance)


def sentence(chance: random.Random) -> str:
    """Bench language, single bench words, or common words so that every phone meets every other."""
    kind = chance.random()
    if kind < 0.25:
        return product_sentence(chance)
    if kind < 0.5:
        return bench_sentence(chance)
    if kind < 0.6:
        return digit_words(chance)
    if kind < 0.7:
        return chance.choice(sorted(vocabulary()))
    return " ".join(chance.choice(general_words()) for _ in range(chance.choice((1, 1, 2, 3, 4, 5, 6))))


@cache
def vocabulary() -> frozenset[str]:
    """Every word that the bench sentences can hold."""
    fixed = [*FRAMES, *ONES, *TEENS, *TENS, *NOUGHTS, *(entry for slot in SLOTS.values() for entry in slot)]
    shapes = "and a half quarter quarters three point minus plus hundred thousand double dozen couple twelve fifteen"
    ours = {w for text in [*fixed, shapes] for w in text.split() if not w.startswith("{")}
    return frozenset(ours | phrases.vocabulary())


def main() -> None:
    chance = random.Random(int(sys.argv[2]))
    for _ in range(int(sys.argv[1])):
        print(sentence(chance))


if __name__ == "__main__":
    main()

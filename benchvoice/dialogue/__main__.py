"""``python -m benchvoice.dialogue``: the dialogue as a table, as it stands in DEVELOPERS.md."""

import sys

from benchvoice.dialogue.advance import TABLE

sys.stdout.write(TABLE.as_text() + "\n")

"""From words to what was meant: spoken numbers, amounts, phrases.

Read `number_words` (the words as data), `numbers` (hearing) and `spelling` (saying), then `units` and
`amounts`. Nothing here does I/O; a phrase that cannot be understood is a value, never an exception.
"""

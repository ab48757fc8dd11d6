"""How benchvoice speaks: by a loudspeaker, into a file, or in printed lines.

Every speaker has the same door: ``say(sentence)``, ``tone(name)``, ``change(set_voice)``,
``close()``. Nothing heavy is imported until a speaker is made.
"""

"""Pack people's recordings: single digits of the Free Spoken Digit Dataset, named DIGIT_SPEAKER_TAKE.wav.

    python people.py RECORDINGS STEM

The dataset (Jackson et al., CC BY-SA 4.0, https://github.com/Jakobovski/free-spoken-digit-dataset)
has 8 kHz recordings.
"""

from __future__ import annotations

import sys
from pathlib import Path

import soundfile

from clips import Writer

DIGITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]


def main() -> None:
    """Write every recording under its word and its speaker."""
    writer = Writer(Path(sys.argv[2]))
    for wav in sorted(Path(sys.argv[1]).glob("*.wav")):
        digit, speaker, _ = wav.stem.split("_")
        samples, rate = soundfile.read(wav, dtype="float32")
        writer.add(samples, rate, DIGITS[int(digit)], f"fsdd:{speaker}")


if __name__ == "__main__":
    main()

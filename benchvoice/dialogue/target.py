"""The bucket's target."""

from __future__ import annotations

from benchvoice.dialogue.bench import number
from benchvoice.dialogue.scene import Scene

USUAL_TARGET = (1.35, 1.45)
"""Where most dipping glazes work; common practice, no source."""


def target(scene: Scene) -> tuple[float, float]:
    """Return the bucket's target, lowest and highest gravity."""
    entry = scene.bench.last("bucket", scene.bucket)
    return number(entry, "target_low", USUAL_TARGET[0]), number(entry, "target_high", USUAL_TARGET[1])

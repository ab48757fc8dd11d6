"""The bucket's target."""

from __future__ import annotations

from benchvoice.dialogue.bench import number
from benchvoice.dialogue.scene import Scene

USUAL_TARGET = (1.35, 1.45)
"""Where most dipping glazes work; common practice, no source."""
USUAL_SOLIDS = 2.6
"""Gravity of the solids of a glaze whose recipe is not known; computed from common materials, ± 0.1."""


def target(scene: Scene) -> tuple[float, float]:
    """Return the bucket's target, lowest and highest gravity."""
    entry = next(
        (
            e
            for e in reversed(scene.bench.entries)
            if e.kind in ("bucket", "target") and e.bucket == scene.bucket
        ),
        None,
    )
    return number(entry, "target_low", USUAL_TARGET[0]), number(entry, "target_high", USUAL_TARGET[1])


def solids_gravity(scene: Scene) -> float:
    """Return the gravity of the bucket's solids: from its recipe, else that of common materials."""
    return number(scene.bench.last("bucket", scene.bucket), "solids_gravity", USUAL_SOLIDS)

"""An invented bucket, half a year of it: readings, water, drops, flow, tiles, good marks, a target."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

from benchvoice.messages import Entry

BEGUN = datetime(2026, 1, 5, 8, 30, tzinfo=UTC)
NOW = datetime(2026, 6, 22, 9, 0, tzinfo=UTC)
ZONE = timezone(timedelta(hours=1))
BUCKET = "harbour grey"


def dose(drops: float, mass_g: float) -> dict[str, object]:
    """Return a dose from a neat bottle."""
    return {"additive": "sodium silicate", "mass_g": mass_g, "drops": drops, "share": 1.0, "drop_g": None}


# (days since it was begun, kind, facts)
HAPPENED: list[tuple[float, str, dict[str, object]]] = [
    (0, "bucket", {"target_low": 1.40, "target_high": 1.46}),
    (0, "opened", {}),
    (0.01, "reading", {"shown": 1.52}),
    (0.02, "contents", {"mass_g": 15200.0, "volume_l": 10.0, "spread": 0.1, "how": "litres"}),
    (0.03, "addition", {"what": "water", "mass_g": 1100.0}),
    (0.04, "reading", {"shown": 1.43}),
    (0.05, "flow", {"word": "yogurt", "verdict": "thick"}),
    (0.06, "dose", dose(12.0, 0.83)),
    (0.07, "flow", {"word": "cream", "verdict": "right"}),
    (0.08, "signs", {"signs": [], "step": "ready"}),
    (0.09, "good", {"gravity": 1.43}),
    (28, "opened", {}),
    (28.01, "reading", {"shown": 1.45}),
    (28.02, "flow", {"seconds": 24.4, "spread_s": 0.5, "times_s": [24.0, 24.4, 25.0], "verdict": None,
                     "temperature_c": 20.0, "stood_s": 15.0}),
    (28.03, "good", {"gravity": 1.45}),
    (63, "opened", {}),
    (63.01, "reading", {"shown": 1.48}),
    (63.02, "addition", {"what": "water", "mass_g": 800.0}),
    (63.03, "reading", {"shown": 1.44}),
    (63.04, "flow", {"seconds": 29.0, "spread_s": 0.5, "times_s": [29.0, 29.2, 28.8], "verdict": "thick",
                     "temperature_c": 18.0, "stood_s": 20.0}),
    (63.05, "dose", dose(8.0, 0.55)),
    (63.06, "signs", {"signs": ["crawls", "too thick"], "step": "ask worst sign"}),
    (63.07, "good", {"gravity": 1.44}),
    (63.08, "target", {"target_low": 1.43, "target_high": 1.45, "learned": True}),
    (112, "opened", {}),
    (112.01, "reading", {"shown": 1.47}),
    (112.02, "addition", {"what": "dry", "mass_g": 300.0}),
    (112.03, "addition", {"what": "water", "mass_g": 900.0}),
    (112.04, "reading", {"shown": 1.41}),
    (112.05, "addition", {"what": "water", "mass_g": -450.0}),
    (112.06, "reading", {"shown": 1.44}),
    (112.07, "flow", {"seconds": 25.1, "spread_s": 0.5, "times_s": [25.0, 25.1, 25.3], "verdict": "right",
                      "temperature_c": 21.0, "stood_s": 15.0}),
    (112.08, "signs", {"signs": ["pinholes"], "step": "damp tile"}),
    (140, "opened", {}),
    (140.01, "reading", {"shown": 1.46}),
]  # fmt: skip


def entries() -> tuple[Entry, ...]:
    """Return the invented journal."""
    return tuple(
        Entry(f"made-{number}", kind, BEGUN + timedelta(days=days), BUCKET, _facts(kind, facts))
        for number, (days, kind, facts) in enumerate(HAPPENED, 1)
    )


def _facts(kind: str, facts: dict[str, object]) -> dict[str, object]:
    if kind != "reading":
        return facts
    shown = float(str(facts["shown"]))
    return {"gravity": shown, "sigma": 0.005, "repeat": 0.004, "net_g": 100 * shown, "shown": shown}

"""Draw which number words are taken for which, from the results of evaluate.py on the set `alike`.

python picture.py RESULTS.json CONFUSIONS.svg
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import matplotlib
import numpy as np

matplotlib.use("svg")
import matplotlib.pyplot as plt

from make_tests import ALIKE


def shares(swaps: dict[str, int]) -> np.ndarray:
    """Rows: said; columns: heard, the last one any other word."""
    counts = np.zeros((len(ALIKE), len(ALIKE) + 1))
    for pair, count in swaps.items():
        said, heard = pair.split(" > ")
        if said in ALIKE:
            counts[ALIKE.index(said), ALIKE.index(heard) if heard in ALIKE else -1] += count
    return counts / counts.sum(1, keepdims=True).clip(1)


def draw(rows: list[dict[str, object]], path: Path) -> None:
    plt.rcParams.update({"svg.hashsalt": "benchvoice", "svg.fonttype": "none", "font.size": 9})
    figure, panels = plt.subplots(1, len(rows), figsize=(5.6 * len(rows), 5.2), squeeze=False)
    for panel, row in zip(panels[0], rows, strict=True):
        table = shares(row["swaps"])  # type: ignore[arg-type]
        panel.imshow(table, cmap="Greys", vmin=0, vmax=1)
        panel.set_title(f"{row['engine']}, {row['noise']}")
        panel.set_xticks(range(len(ALIKE) + 1), [*ALIKE, "other"], rotation=60, ha="right")
        panel.set_yticks(range(len(ALIKE)), ALIKE)
        panel.set_xlabel("heard")
        panel.set_ylabel("said")
        for (y, x), value in np.ndenumerate(table):
            if value >= 0.005:
                panel.text(
                    x,
                    y,
                    f"{100 * value:.0f}",
                    ha="center",
                    va="center",
                    color="white" if value > 0.5 else "black",
                )
    figure.tight_layout()
    figure.savefig(path, metadata={"Date": None})


if __name__ == "__main__":
    draw(json.loads(Path(sys.argv[1]).read_text()), Path(sys.argv[2]))

"""The drawing itself. What is told apart by colour is told apart by shape or place as well."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import IO, Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.dates import AutoDateLocator, ConciseDateFormatter, date2num
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from benchvoice.history.series import FLOW_WORDS, Point, Series, Tile

INK, GRAVITY, BAND, BAND_EDGE = "#1a1a1a", "#0b3d66", "#cfe8cf", "#1b6e2c"
WATER, DRY, DROPS, FLOW = "#1f6fb2", "#7a5200", "#8a2d08", "#5f2a87"
WIDTH_IN = 9.0
PANEL_IN = {"gravity": 2.8, "water": 1.7, "drops": 1.5, "flow": 1.8, "flow words": 1.8, "tile": 1.0}
"""Heights of the panels [inch]."""
LOOK: dict[Any, Any] = {
    "svg.fonttype": "none",  # text stays text: it can be read, searched and enlarged
    "svg.hashsalt": "benchvoice",  # the same history gives the same file
    "font.size": 10.5,
    "text.color": INK, "axes.labelcolor": INK, "xtick.color": INK, "ytick.color": INK,
    "axes.spines.top": False, "axes.spines.right": False,
}  # fmt: skip

Panel = tuple[str, Callable[[Axes, Series], None]]


def draw(drawn: Series, title: str, stream: IO[bytes], form: str) -> None:
    """Draw a series into a stream; nothing in the file tells when it was made."""
    with mpl.rc_context(LOOK):
        figure = _figure(drawn, title)
        figure.savefig(stream, format=form, dpi=144, metadata={"Date": None} if form == "svg" else None)


def _figure(drawn: Series, title: str) -> Figure:
    panels = [(name, panel) for name, panel in PANELS if name == "gravity" or _has(drawn, name)]
    heights = [PANEL_IN[name] for name, _ in panels]
    figure = Figure(figsize=(WIDTH_IN, sum(heights) + 0.8), layout="constrained")
    axes = figure.subplots(len(panels), 1, sharex=True, squeeze=False, height_ratios=heights)[:, 0]
    for place, (_, panel) in zip(axes, panels, strict=True):
        panel(place, drawn)
        place.grid(axis="x", color="#d9d9d9", linewidth=0.8)
        place.set_axisbelow(True)
    _time_axis(axes[-1], drawn.times())
    figure.suptitle(title)
    figure.align_ylabels(list(axes))
    return figure


def _has(drawn: Series, name: str) -> bool:
    found: dict[str, Sequence[object]] = {
        "water": (*drawn.water, *drawn.dry), "drops": drawn.drops, "flow": drawn.flow_s,
        "flow words": drawn.flow_words, "tile": drawn.tiles,
    }  # fmt: skip
    return bool(found[name])


def _time_axis(axes: Axes, times: Sequence[datetime]) -> None:
    """Set the axis of time, with room at both ends, in the zone of the times."""
    if not times:
        return
    room = max(0.04 * (times[-1] - times[0]), timedelta(hours=12))
    axes.set_xlim(_place(times[0] - room), _place(times[-1] + room))
    locator = AutoDateLocator(tz=times[0].tzinfo, minticks=3, maxticks=7)
    axes.xaxis_date(tz=times[0].tzinfo)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(ConciseDateFormatter(locator, tz=times[0].tzinfo))


def _place(at: datetime) -> float:
    return float(date2num(at))


def _at(points: Sequence[Point | Tile]) -> list[float]:
    return [_place(point.at) for point in points]


def _values(points: Sequence[Point]) -> list[float]:
    return [point.value for point in points]


# ---- panels --------------------------------------------------------------------------------------


def _gravity(axes: Axes, drawn: Series) -> None:
    _target(axes, drawn)
    axes.plot(
        _at(drawn.gravity),
        _values(drawn.gravity),
        "-o",
        color=GRAVITY,
        markersize=5,
        label="reading",
        gid="readings",
    )
    if drawn.good:
        axes.plot(
            _at(drawn.good),
            _values(drawn.good),
            "D",
            color=INK,
            markersize=11,
            fillstyle="none",
            label="good mark",
        )
    axes.set_ylabel("gravity")
    axes.margins(y=0.12)
    axes.legend(loc="upper left", bbox_to_anchor=(0, 1.16), ncols=3, frameon=False, borderaxespad=0)


def _target(axes: Axes, drawn: Series) -> None:
    """Draw each target from when it held until the next one."""
    ends = [*(band.at for band in drawn.targets[1:]), *drawn.times()[-1:]]
    for band, end in zip(drawn.targets, ends, strict=True):
        span = [_place(band.at), _place(end)]
        axes.fill_between(
            span,
            band.low,
            band.high,
            color=BAND,
            linewidth=0,
            label="target" if band == drawn.targets[0] else None,
        )
        for edge in (band.low, band.high):
            axes.plot(span, [edge, edge], "--", color=BAND_EDGE, linewidth=1)


def _stems(axes: Axes, points: Sequence[Point], colour: str, marker: str, name: str) -> None:
    axes.vlines(_at(points), 0, _values(points), color=colour, linewidth=2)
    axes.plot(_at(points), _values(points), marker, color=colour, markersize=7, label=name, gid=name)


def _water(axes: Axes, drawn: Series) -> None:
    _stems(axes, drawn.water, WATER, "o", "water")
    if drawn.dry:
        _stems(axes, drawn.dry, DRY, "s", "dry batch")
        axes.legend(loc="best", frameon=False)
    axes.axhline(0, color=INK, linewidth=0.8)
    axes.set_ylabel("added, g" if drawn.dry else "water\nadded, g")
    axes.margins(y=0.15)


def _drops(axes: Axes, drawn: Series) -> None:
    _stems(axes, drawn.drops, DROPS, "v", "drops")
    axes.set_ylim(0, 1.2 * max(_values(drawn.drops), default=1.0))
    axes.yaxis.set_major_locator(MaxNLocator(integer=True, nbins=4))
    axes.set_ylabel("drops")


def _flow(axes: Axes, drawn: Series) -> None:
    axes.plot(_at(drawn.flow_s), _values(drawn.flow_s), "-^", color=FLOW, markersize=7, gid="flow")
    axes.set_ylabel("flow, s")
    axes.margins(y=0.2)


def _flow_words(axes: Axes, drawn: Series) -> None:
    axes.plot(_at(drawn.flow_words), _values(drawn.flow_words), "^", color=FLOW, markersize=8)
    axes.set_yticks(range(len(FLOW_WORDS)), FLOW_WORDS)
    axes.set_ylim(-0.5, len(FLOW_WORDS) - 0.5)
    axes.set_ylabel("flow like")


def _tiles(axes: Axes, drawn: Series) -> None:
    """Write what each tile showed at its time, in three steps of height so that words keep apart."""
    times = drawn.times()
    for number, tile in enumerate(drawn.tiles):
        height = (number % 3 - 1) * 0.6
        axes.plot(_at([tile]), [height], "o" if tile.right else "s", color=INK, markersize=7)
        late = tile.at - times[0] > 0.6 * (times[-1] - times[0])
        _beside(axes, tile.told[:1].upper() + tile.told[1:], (_place(tile.at), height), left=late)
    axes.set_ylim(-1, 1)
    axes.set_yticks([])
    axes.set_ylabel("tile")


def _beside(axes: Axes, text: str, point: tuple[float, float], *, left: bool) -> None:
    """Write beside a mark, on the side where there is room."""
    away, side = (-8, "right") if left else (8, "left")
    axes.annotate(text, point, (away, 0), textcoords="offset points", ha=side, va="center")


PANELS: tuple[Panel, ...] = (
    ("gravity", _gravity), ("water", _water), ("drops", _drops), ("flow", _flow), ("flow words", _flow_words),
    ("tile", _tiles),
)  # fmt: skip

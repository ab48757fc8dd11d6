"""One page of HTML for one bucket: no script, nothing fetched, read by a screen reader from top to bottom."""

from __future__ import annotations

from html import escape

from benchvoice.history.chronicle import Chronicle, Row, worded
from benchvoice.history.picture import inline_picture
from benchvoice.history.printed import HEAD
from benchvoice.history.series import day, described

POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""The page may do nothing: no script runs in it and nothing is fetched for it."""
STYLE = """
:root { color-scheme: light; }
body { margin: 2rem auto; max-width: 60rem; padding: 0 1rem; background: #ffffff; color: #1a1a1a;
       font: 1.05rem/1.5 system-ui, sans-serif; }
h1, h2 { line-height: 1.2; }
figure { margin: 0; }
.wide { overflow-x: auto; }
.wide svg { display: block; width: 100%; min-width: 36rem; height: auto; }
figcaption { color: #3a3a3a; }
table { border-collapse: collapse; width: 100%; }
caption { text-align: left; padding-bottom: 0.5rem; color: #3a3a3a; }
th, td { text-align: left; vertical-align: top; padding: 0.35rem 1rem 0.35rem 0;
         border-bottom: 1px solid #767676; }
tbody th { font-weight: normal; white-space: nowrap; }
@media (max-width: 40rem) {
  body { margin: 1rem auto; padding: 0 0.5rem; font-size: 1rem; }
  th, td { padding-right: 0.5rem; overflow-wrap: anywhere; }
  tbody th { white-space: normal; width: 5.5rem; }
}
"""


def page(found: Chronicle) -> str:
    """Return the page as text."""
    title = escape(found.title)
    return f"""<!DOCTYPE html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<title>{title}: history of a glaze bucket</title>
<style>{STYLE}</style>
</head>
<body>
<main>
<h1>{title}</h1>
<h2>How it has been</h2>
{_told(found)}
<h2 id="picture">Picture</h2>
<figure>
<div class="wide" role="group" aria-labelledby="picture" tabindex="0">
{inline_picture(found)}
</div>
<figcaption>{escape(described(found))}</figcaption>
</figure>
<h2>Everything written down</h2>
{_table(found)}
</main>
</body>
</html>
"""


def _told(found: Chronicle) -> str:
    low, high = found.target
    target = worded("page_target", low=low, high=high, day=day(found.now))
    said = (target, found.told, found.good)
    return "\n".join(f"<p>{escape(text)}</p>" for text in said if text)


def _table(found: Chronicle) -> str:
    head = "".join(f'<th scope="col">{escape(name)}</th>' for name in HEAD)
    rows = "\n".join(_row(row) for row in found.rows)
    caption = worded("page_caption", bucket=found.bucket, count=len(found.rows))
    return f"""<table>
<caption>{escape(caption)}</caption>
<thead><tr>{head}</tr></thead>
<tbody>
{rows}
</tbody>
</table>"""


def _row(row: Row) -> str:
    when = f'<time datetime="{row.at.isoformat(timespec="minutes")}">{row.at:%Y-%m-%d %H:%M}</time>'
    rest = "".join(f"<td>{escape(cell)}</td>" for cell in (row.what, row.figure, row.remark))
    return f'<tr><th scope="row">{when}</th>{rest}</tr>'

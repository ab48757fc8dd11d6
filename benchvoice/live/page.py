"""The large display: one page, served to this machine only, with the one number that matters now.

The letters are as tall as the window allows. Someone with a tenth of normal sight reads letters that
subtend 50 minutes of arc: 44 millimetres at three metres (computed: 5 minutes for normal sight, times ten).
A number of up to five signs is that tall on a laptop's screen of 29 by 18 centimetres.
"""

from __future__ import annotations

import json
import threading
from dataclasses import dataclass, replace
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from benchvoice.errors import SetupError
from benchvoice.messages import Sentence, SetVoice

HERE = "127.0.0.1"
"""Nobody outside this machine can reach it."""

PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>benchvoice</title>
<style>
html, body { margin: 0; height: 100%; background: #000; color: #fff; overflow: hidden;
             font-family: Verdana, "DejaVu Sans", sans-serif; }
body { display: flex; flex-direction: column; justify-content: space-between; }
#state { font-size: 6vh; padding: 1vh 2vw; color: #000; background: #ff0; font-weight: bold; }
#room { height: 58vh; display: flex; align-items: center; justify-content: center; }
#big { font-weight: bold; color: #ff0; text-align: center; line-height: 1; font-size: 20vw; }
#said { font-size: 7vh; padding: 1vh 2vw; line-height: 1.15; }
</style>
<noscript><meta http-equiv="refresh" content="2"></noscript></head>
<body><div id="state">STATE</div><div id="room"><div id="big">BIG</div></div><div id="said">SAID</div>
<script>
const at = name => document.getElementById(name);
function fit(what, size, height) {
  do { what.style.fontSize = size + "px"; size *= 0.96; }
  while (size > 12 && (what.scrollWidth > innerWidth || what.offsetHeight > height));
}
function fitAll() {
  fit(at("big"), 0.6 * innerHeight, 0.58 * innerHeight);
  fit(at("said"), 0.07 * innerHeight, 0.32 * innerHeight);
}
async function look() {
  try {
    const now = await (await fetch("/now")).json();
    for (const name of ["state", "big", "said"])
      if (at(name).textContent !== now[name]) { at(name).textContent = now[name]; fitAll(); }
  } catch { at("state").textContent = "benchvoice has stopped"; }
}
addEventListener("resize", fitAll); fitAll(); setInterval(look, 400);
</script></body></html>
"""


@dataclass(frozen=True, slots=True)
class Shown:
    """What the page shows."""

    state: str = ""
    big: str = ""
    said: str = ""


class Page:
    """A speaker that shows: the newest number until there is another, and the newest sentences."""

    def __init__(self, port: int = 0) -> None:
        """Serve the page; port 0 takes any that is free."""
        self.shown = Shown()
        self._new_turn = False
        page = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                page.answer(self)

            def log_message(self, *_: Any) -> None:
                """Keep the terminal for the session."""

        try:
            self._server = ThreadingHTTPServer((HERE, port), Handler)
        except OSError as error:
            raise SetupError(
                f"The large display cannot be served: {error.strerror}.", "Leave out --big."
            ) from error
        self._server.daemon_threads = True
        self._thread = threading.Thread(target=self._server.serve_forever, name="page", daemon=True)
        self._thread.start()

    @property
    def address(self) -> str:
        """Where a browser on this machine finds it."""
        return f"http://{HERE}:{self._server.server_port}/"

    def answer(self, request: BaseHTTPRequestHandler) -> None:
        """Answer a browser; under another name, a page from elsewhere tries to look in."""
        host = request.headers.get("Host", "").rpartition(":")[0]
        content = {"/": self._page, "/now": self._now}.get(request.path)
        if content is None or host not in (HERE, "localhost"):
            request.send_error(404)
            return
        kind, body = content()
        request.send_response(200)
        request.send_header("Content-Type", kind)
        request.send_header("Content-Length", str(len(body)))
        request.send_header("Cache-Control", "no-store")
        request.send_header("Content-Security-Policy", "default-src 'self' 'unsafe-inline'")
        request.end_headers()
        request.wfile.write(body)

    def _now(self) -> tuple[str, bytes]:
        shown = self.shown
        text = json.dumps({"state": shown.state.upper(), "big": shown.big, "said": shown.said})
        return "application/json", text.encode()

    def _page(self) -> tuple[str, bytes]:
        shown, page = self.shown, PAGE
        for place, text in (("STATE", shown.state.upper()), ("BIG", shown.big), ("SAID", shown.said)):
            page = page.replace(f">{place}<", f">{_escaped(text)}<")
        return "text/html; charset=utf-8", page.encode()

    # ---- what every speaker does --------------------------------------------------------

    def say(self, sentence: Sentence) -> None:
        """Show a sentence; the number stays until there is another."""
        said = sentence.printed if self._new_turn else f"{self.shown.said} {sentence.printed}".strip()
        self.shown = replace(self.shown, big=sentence.big or self.shown.big, said=said)
        self._new_turn = False

    def state(self, word: str) -> None:
        """Show what the bench is doing."""
        self.shown = replace(self.shown, state=word)

    def tone(self, name: str) -> None:
        """Begin anew with what is said after the next turn."""
        if name in ("heard", "not understood", "timer due"):
            self._new_turn = True

    def heard(self, words: str) -> None:
        """Do nothing: it is printed, and read back in the reply."""

    def change(self, change: SetVoice) -> None:
        """Do nothing."""

    def close(self) -> None:
        """Serve no more."""
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")

"""The page in the browser while the file is edited: served to this machine alone, read only."""

from __future__ import annotations

import hashlib
import http.server
import threading
import webbrowser
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from supplycalc.output.destination import say
from supplycalc.problems import ComputationError, InputError, Place, Problem

if TYPE_CHECKING:
    from supplycalc.output.call import Call

LOOPBACK = "127.0.0.1"
"""The only address that is listened at."""
CHECKED_EVERY = 1000
"""[ms] The file is looked at even where no change was told, such as one before watching began."""
NAMES = ("127.0.0.1", "localhost")
"""What a browser on this machine may call it; another name is a page elsewhere that was pointed
here."""


class Shown:
    """The page as it was last made; the server reads it, the watcher replaces it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._page, self._state = b"", ""

    def put(self, page: str, state: str) -> None:
        """Replace the page."""
        with self._lock:
            self._page, self._state = page.encode("utf-8"), state

    def get(self) -> tuple[bytes, str]:
        """The page and its state."""
        with self._lock:
            return self._page, self._state


class PageHandler(http.server.BaseHTTPRequestHandler):
    """Answers GET of the page and of its state; everything else is refused, nothing is written."""

    shown: ClassVar[Shown]
    server_version = "supplycalc"
    sys_version = ""

    def do_GET(self) -> None:
        """Send the page, or the state that tells the page whether it is still the same."""
        name = self.headers.get("Host", "").rsplit(":", 1)[0]
        page, state = self.shown.get()
        if name not in NAMES:
            self.send_error(403)
        elif self.path == "/":
            self._send(page, "text/html; charset=utf-8")
        elif self.path == "/state":
            self._send(state.encode("ascii"), "text/plain; charset=us-ascii")
        else:
            self.send_error(404)

    def _send(self, content: bytes, kind: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, format: str, *args: Any) -> None:  # noqa: A002 - the library's name
        """Say nothing of every request."""


def page_server(shown: Shown, port: int = 0) -> http.server.ThreadingHTTPServer:
    """A server of the page at this machine's own address; port 0 takes a free one."""
    handler = type("Handler", (PageHandler,), {"shown": shown})
    return http.server.ThreadingHTTPServer((LOOPBACK, port), handler)


def render(path: Path, call: Call, prices: Path | None, method: str | None) -> tuple[str, str]:
    """The page of a file as it is now, or what is wrong with it, and its state."""
    from supplycalc.demand import known_method
    from supplycalc.output.blocks import Checklist, Verdict
    from supplycalc.output.html import Document, to_page
    from supplycalc.questions.report.document import page_of
    from supplycalc.questions.report.study import report
    from supplycalc.reading import load
    from supplycalc.reading.prices import load_prices

    state = _state(path, prices)
    try:
        house = load(path)
        listing = None if prices is None else load_prices(prices, house.catalogue)
        found = report(house, known_method(method), prices=listing)
        return page_of(found, call.system(house), source=path.name, watched=state), state
    except InputError as error:
        mistakes = error.problems
    except ComputationError as error:
        mistakes = (Problem(place=Place(path.name), message=str(error)),)
    document = Document(
        title=path.name,
        subtitle="The file cannot be computed as it stands; save it again and this page follows",
        blocks=(
            Verdict(text=f"{len(mistakes)} to mend in {path.name}", mood="bad"),
            Checklist(items=tuple(str(mistake) for mistake in mistakes)),
        ),
        system="us",
        made_by="",
    )
    return to_page(document, watched=state), state


def _state(*paths: Path | None) -> str:
    """A word that changes with what the files say."""
    digest = hashlib.sha256()
    for path in paths:
        if path is not None and path.is_file():
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def watch_file(call: Call, prices: Path | None, method: str | None) -> int:
    """Show the page and render it anew each time a file is saved, until Ctrl-C.

    Raises:
        InputError: there is no such file.
    """
    from watchfiles import watch

    path = call.file
    message = ""
    if not path.is_file():
        message = "--watch needs a file that is there"
    elif call.output is not None or call.as_json:
        message = "--watch shows the page in the browser; -o and --json are for a call of their own"
    if message:
        raise InputError([Problem(place=Place(str(path)), message=message)])
    shown = Shown()
    shown.put(*render(path, call, prices, method))
    with page_server(shown) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        address = f"http://{LOOPBACK}:{server.server_port}/"
        say(f"watching {path}: {address} (Ctrl-C ends)")
        webbrowser.open(address)
        # editors replace a file on saving, so its folder is watched
        folders = {file.resolve().parent for file in (path, prices) if file is not None}
        with suppress(KeyboardInterrupt):
            for _ in watch(
                *folders, recursive=False, rust_timeout=CHECKED_EVERY, yield_on_timeout=True
            ):
                if _state(path, prices) != shown.get()[1]:
                    shown.put(*render(path, call, prices, method))
                    say(f"rendered anew: {path}")
        server.shutdown()
    return 0

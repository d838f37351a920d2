"""The document a browser gets: that of Solara, with what the app needs otherwise.

Solara's template is taken as it is and changed at marked places, each of which must be there
exactly once; its version is pinned, and a test renders it. What changes: the language is named, a
reader may zoom, no traceback is ever shown, the app's look comes in, a lost connection is told in
words, and every script carries the number that the content policy asks for.
"""

from __future__ import annotations

import hashlib
import re
from importlib.resources import files

# An alert is read out when its text changes, so the element stays and the text comes and goes.
LOST = """<div class="hw-lost" role="alert">{{
 connectionStatus != 'connected' && wasConnected && !needsRefresh
 ? 'The connection to the program is lost. It is tried again; if this stays, look whether the ' +
   'program still runs. Nothing you changed is gone.' : '' }}</div>"""

GONE = """<div class="hw-lost hw-gone" role="alert" v-show="needsRefresh || cancelAutoRefresh">
<span>{{ needsRefresh || cancelAutoRefresh ? 'The program was started anew, or this page slept ' +
 'too long. What you changed was kept.' : '' }}</span>
<button type="button" class="hw-button hw-main" @click="reload()">Open the tank again</button></div>
"""

FILLING = """<div v-if="loading" id="loader-container"><p class="hw-filling" role="status">
Filling the tank</p></div>"""

_VIEWPORT = (
    'content="width=device-width, initial-scale=1, maximum-scale=1, user-scalable=no, minimal-ui"'
)
# What is replaced, as a pattern, and by what.
_CHANGES: tuple[tuple[str, str], ...] = (
    (r"<html>", '<html lang="en">'),
    (re.escape(_VIEWPORT), 'content="width=device-width, initial-scale=1"'),
    (
        r'<link rel="icon" type="image/png"[^>]*>\s*<link rel="icon" type="image/svg\+xml"[^>]*>',
        '<link rel="icon" type="image/svg+xml" href="/static/assets/icon.svg">',
    ),
    (r"var debug = true;", "var debug = false;"),
    (r'<v-alert v-if="needsRefresh \|\| cancelAutoRefresh".*?</v-alert>', GONE),
    (r'<v-overlay style="z-index: 100002;".*?</v-overlay>', LOST),
    (r'<div v-if="loading" id="loader-container">.*?</v-card>\s*</div>', FILLING),
    (r"</head>", "{sheets}</head>"),
)


class Unexpected(Exception):  # noqa: N818  (read as a sentence)
    """Solara's document is not the one this module knows."""


# Style sheets of ``look/``, in this order; none imports another.
SHEETS = ("theme.css", "watch.css", "learn.css", "repeat.css", "sweep.css", "why.css")


def sheet_links() -> str:
    """Return the links to the app's style sheets, each with the digest of what it holds."""
    look = files("viz.app").joinpath("look")
    links = []
    for name in SHEETS:
        digest = hashlib.md5(look.joinpath(name).read_bytes(), usedforsecurity=False).hexdigest()
        links.append(f'<link rel="stylesheet" href="/static/assets/{name}?v={digest}">\n')
    return "".join(links)


def changed(document: str, *, nonce: str) -> str:
    """Return Solara's document with the app's changes.

    Parameters
    ----------
    document
        As `solara.server.server.read_root` renders it.
    nonce
        For its scripts.

    Raises
    ------
    Unexpected
        If a place is not there, or there twice.
    """
    sheets = sheet_links()
    for pattern, words in _CHANGES:
        new = words.replace("{sheets}", sheets).replace("\\", r"\\")
        document, count = re.subn(pattern, new, document, flags=re.DOTALL)
        if count != 1:
            raise Unexpected(f"found {count} times: {pattern}")
    return re.sub(r"<script(?=[\s>])", f'<script nonce="{nonce}"', document)

"""What a device keeps so that Recoup starts on it without the laptop: files of the app, and one page without data.

`static/worker.js` keeps them under a name made from everything they say, so a changed file or another language
replaces all of them at once.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from app.settings import PROJECT

STATIC = PROJECT / "static"
PATTERNS = ("*.js", "app.css", "vendor/htmx/htmx.min.js", "icons/*.svg", "icons/*.png")
NOT_KEPT = frozenset({"worker.js", "leave.js", "unpaired.js", "api_docs.js"})
"""The worker itself, and what only pages with the laptop beside them use."""


def kept_files() -> tuple[str, ...]:
    """Addresses of the files, in a fixed order."""
    return tuple(_address(file) for file in _files())


def worker_script(start_page: str) -> str:
    """The worker with its two lines on top; `start_page`: what the page without data says in the device's language."""
    own = (STATIC / "worker.js").read_text(encoding="utf-8")
    seal = hashlib.sha256(f"{start_page}\n{own}".encode())
    for file in _files():
        seal.update(_address(file).encode() + file.read_bytes())
    version = json.dumps(seal.hexdigest()[:16])
    return f"const VERSION = {version};\nconst FILES = {json.dumps(kept_files())};\n{own}"


def _files() -> list[Path]:
    found = {file for pattern in PATTERNS for file in STATIC.glob(pattern)}
    return sorted(file for file in found if file.name not in NOT_KEPT)


def _address(file: Path) -> str:
    return f"/static/{file.relative_to(STATIC).as_posix()}"

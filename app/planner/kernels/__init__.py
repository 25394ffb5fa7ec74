"""The tight loops of the free-skating planner, compiled by numba; nothing else.

They know no files and no text: `app.planner.packing` turns an edition and a problem into the tables they
read, `app.planner.backward` says what is solved and why the bounds hold. The rules in `rules` are a second
implementation of `app.legality`; tests hold the two to each other.

numba keeps machine code on disk and takes it for fresh as long as the function's *own* file is unchanged, although
loops of other files are compiled into it. So the folder it keeps is named after the text of all of them: a change
anywhere compiles everything anew.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from numba import config

HERE = Path(__file__).parent


def kept_under() -> Path:
    """Folder for the machine code of exactly these sources."""
    text = b"".join(path.read_bytes() for path in sorted(HERE.glob("*.py")))
    return HERE / "__pycache__" / f"loops-{hashlib.sha256(text).hexdigest()[:16]}"


config.CACHE_DIR = str(kept_under())

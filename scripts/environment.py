"""Making the environment: the virtual environment, the pinned packages, the browser files.

Used by serve.py and test.py. Only the standard library, so that it runs where nothing is installed yet. Each step
leaves a stamp (the hash of the lock it followed) and is skipped while the stamp is current.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from importlib.util import find_spec
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
VENV = PROJECT / ".venv"
LOCKS = PROJECT / "scripts" / "locks"
VENDOR = PROJECT / "static" / "vendor"
OLDEST = (3, 11)

HTMX = "django_htmx/static/django_htmx"
SWAGGER = "drf_spectacular_sidecar/static/drf_spectacular_sidecar/swagger-ui-dist"
FONTS = "font_source_sans_pro/files"
BROWSER_FILES = {
    "htmx/htmx.min.js": f"{HTMX}/htmx-4.min.js",
    "htmx/hx-sse.min.js": f"{HTMX}/ext/hx-sse-4.min.js",
    "swagger/swagger-ui-bundle.js": f"{SWAGGER}/swagger-ui-bundle.js",
    "swagger/swagger-ui.css": f"{SWAGGER}/swagger-ui.css",
    "swagger/LICENSE": f"{SWAGGER}/LICENSE",
    "fonts/SourceSansPro-Regular.ttf": f"{FONTS}/SourceSansPro-Regular.ttf",
    "fonts/SourceSansPro-Bold.ttf": f"{FONTS}/SourceSansPro-Bold.ttf",
    "fonts/LICENSE.txt": f"{FONTS}/LICENSE.txt",
}
"""Where a file goes under static/vendor, and where it is found in the wheels of locks/static.txt."""

NO_VENV = """\
This Python ({python}) cannot make a virtual environment: {missing}.
The way out, one of:
  - Debian, Ubuntu and relatives:  sudo apt install python3-venv
  - any system: install Python {oldest} or newer from your system's packages or python.org,
    then start this script with it:  /path/to/that/python3 {script}
"""


class SetUpFailed(SystemExit):
    """Set-up cannot go on; the message says what to do."""


def interpreter() -> Path:
    """The Python inside the environment."""
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def need_python() -> None:
    """Stop with a clear word when this Python is too old."""
    if sys.version_info < OLDEST:
        oldest = ".".join(map(str, OLDEST))
        raise SetUpFailed(
            f"Recoup needs Python {oldest} or newer; this is {sys.version.split()[0]} ({sys.executable})."
        )


def make(kind: str) -> Path:
    """The environment for `kind` ("run" or "test"), ready to use. Returns its Python."""
    need_python()
    lock = LOCKS / f"{kind}.txt"
    wanted = {"run": _hash(LOCKS / "run.txt"), kind: _hash(lock)}
    _make_venv()
    if _stamp(kind) != wanted[kind]:
        _say(f"Installing the packages of {lock.relative_to(PROJECT)} (once; needs the network) …")
        _pip("install", "--quiet", "--no-deps", "--require-hashes", "-r", str(lock))
        for name, value in wanted.items():
            _write_stamp(name, value)
    _unpack_browser_files()
    return interpreter()


def _make_venv() -> None:
    if interpreter().exists() and _works():
        return
    missing = [name for name in ("venv", "ensurepip") if not _importable(name)]
    if missing:
        oldest = ".".join(map(str, OLDEST))
        facts = {"python": sys.executable, "missing": f"{' and '.join(missing)} missing", "oldest": oldest}
        raise SetUpFailed(NO_VENV.format(script=sys.argv[0], **facts))
    _say("Making the environment in .venv …")
    _run([sys.executable, "-m", "venv", "--clear", str(VENV)], "making the environment")
    _write_stamp("python", sys.executable)


def _works() -> bool:
    """Does the environment still start (its base Python may have gone) and hold pip?"""
    if _stamp("python") == sys.executable:
        return True
    probe = [
        str(interpreter()),
        "-c",
        "import importlib.util as u, sys; sys.exit(u.find_spec('pip') is None)",
    ]
    try:
        return subprocess.run(probe, capture_output=True, check=False).returncode == 0
    except OSError:
        return False


def _importable(name: str) -> bool:
    return find_spec(name) is not None


def _unpack_browser_files() -> None:
    """Take the browser files out of their wheels; the wheels themselves are not installed."""
    wanted = _hash(LOCKS / "static.txt", *sorted(BROWSER_FILES.items()))
    stamp = VENDOR / ".stamp"
    if stamp.exists() and stamp.read_text() == wanted:
        return
    _say("Fetching htmx, the API page and the letters of PDFs (once) …")
    with tempfile.TemporaryDirectory() as folder:
        lock = str(LOCKS / "static.txt")
        _pip(
            "download",
            "--quiet",
            "--no-deps",
            "--only-binary=:all:",
            "--require-hashes",
            "-d",
            folder,
            "-r",
            lock,
        )
        shutil.rmtree(VENDOR, ignore_errors=True)
        for wheel in Path(folder).glob("*.whl"):
            _unpack(wheel)
    absent = [name for name in BROWSER_FILES if not (VENDOR / name).exists()]
    if absent:
        raise SetUpFailed(
            f"the pinned wheels hold no {', '.join(absent)}; scripts/environment.py needs its new place"
        )
    stamp.write_text(wanted)


def _unpack(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        held = set(archive.namelist())
        for place, source in BROWSER_FILES.items():
            if source in held:
                target = VENDOR / place
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(archive.read(source))


def compile_once() -> None:
    """Let the planner compile its tight loops, again only after they or the packages changed."""
    kernels = PROJECT / "app" / "planner" / "kernels"
    sources = sorted((PROJECT / "app" / "planner").rglob("*.py"))
    wanted = _hash(LOCKS / "run.txt", *sources)
    if _stamp("warm") == wanted:
        return
    _say("Compiling the planner (once) …")
    for old in (kernels / "__pycache__").glob("loops-*"):
        shutil.rmtree(old, ignore_errors=True)
    done = subprocess.run([str(interpreter()), "-m", "app", "warm"], cwd=PROJECT, check=False)
    if done.returncode:
        _say("That did not work, see above; going on without. Please report it.")
        return
    _write_stamp("warm", wanted)


def _pip(*arguments: str) -> None:
    command = [str(interpreter()), "-m", "pip", arguments[0], "--disable-pip-version-check", "--no-input"]
    _run([*command, *arguments[1:]], f"pip {arguments[0]}")


def _run(command: list[str], what: str) -> None:
    if subprocess.run(command, cwd=PROJECT, check=False).returncode:
        raise SetUpFailed(f"Set-up stopped at {what}; the lines above say why. Starting again resumes there.")


def _hash(*parts: object) -> str:
    digest = hashlib.sha256()
    for part in parts:
        digest.update(part.read_bytes() if isinstance(part, Path) else repr(part).encode())
    return digest.hexdigest()


def _stamp(name: str) -> str:
    file = VENV / f"recoup-{name}.stamp"
    return file.read_text() if file.exists() else ""


def _write_stamp(name: str, value: str) -> None:
    (VENV / f"recoup-{name}.stamp").write_text(value)


def _say(text: str) -> None:
    print(text, flush=True)

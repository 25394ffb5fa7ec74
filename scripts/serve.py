#!/usr/bin/env python3
"""Start Recoup: `python3 scripts/serve.py`. Needs Python 3.11 or newer and nothing else.

The first start makes the environment, installs the pinned packages, compiles the planner; later starts skip all
that. Then the server starts on this machine only and the browser opens. `--help` lists the flags.
"""

import argparse
import os
import subprocess
import sys

import environment


def flags() -> argparse.ArgumentParser:
    """The flags; they are handed on to `python -m app serve`."""
    parser = argparse.ArgumentParser(description="Start Recoup and open it in the browser.")
    parser.add_argument("--port", type=int, help="port (default 8000; the next free one when taken)")
    parser.add_argument("--host", help="address to listen on (default 127.0.0.1: this machine only)")
    parser.add_argument(
        "--lan", action="store_true", help="let phones in at once: shows address, QR code and code"
    )
    parser.add_argument("--no-browser", action="store_true", help="do not open the browser")
    parser.add_argument("--data-dir", help="folder of the database (default: var in the project)")
    return parser


def main() -> int:
    """Set up, then hand over to the server."""
    flags().parse_args()
    python = environment.make("run")
    environment.compile_once()
    command = [str(python), "-m", "app", "serve", *sys.argv[1:]]
    os.environ["PYTHONPATH"] = str(environment.PROJECT)
    if os.name != "nt":
        os.execv(command[0], command)  # does not come back
    return subprocess.run(command, check=False).returncode


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)

"""Every package the running app needs has a licence that stands in DEVELOPERS.md and may be used with ours (MIT).

Permissive licences are taken as they are. The Lesser General Public License is taken for libraries that are installed
from their own unchanged packages and only imported: everybody can exchange them, as its section 4 asks.
"""

from __future__ import annotations

import re
from importlib.machinery import SourceFileLoader
from importlib.util import module_from_spec, spec_from_loader
from pathlib import Path
from types import ModuleType

import pytest

PROJECT = Path(__file__).parents[2]
PERMISSIVE = frozenset(
    {
        "0BSD",
        "Apache-2.0",
        "Apache-2.0 WITH LLVM-exception",
        "BSD-2-Clause",
        "BSD-3-Clause",
        "CC0-1.0",
        "MIT",
        "MIT-0",
        "MIT-CMU",
        "OFL-1.1",
        "PSF-2.0",
        "Zlib",
    }
)
LESSER = {"fpdf2": "LGPL-3.0-only", "psycopg": "LGPL-3.0-only", "psycopg-binary": "LGPL-3.0-only"}
"""By name, so that another one is looked at first."""


def script() -> ModuleType:
    """scripts/licences as a module."""
    loader = SourceFileLoader("licences", str(PROJECT / "scripts" / "licences"))
    spec = spec_from_loader("licences", loader)
    assert spec is not None
    module = module_from_spec(spec)
    loader.exec_module(module)
    return module


LICENCES = script()


@pytest.mark.parametrize("package", LICENCES.packages())
def test_every_package_has_a_licence_we_may_use(package: str) -> None:
    said = LICENCES.licence(package)
    parts = re.split(r" (?:AND|OR) ", said)
    assert set(parts) <= PERMISSIVE or LESSER.get(package) == said, f"{package}: {said or 'no licence found'}"


def test_the_table_is_that_of_the_installed_packages() -> None:
    held = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    missing = [row for row in LICENCES.rows() if row not in held]
    assert not missing, f"scripts/licences prints the table; DEVELOPERS.md lacks {missing}"
    named = set(re.findall(r"^\| ([a-z0-9-]+) \| [A-Z0-9]", held.partition("## Licences")[2], re.MULTILINE))
    assert named == set(LICENCES.packages())

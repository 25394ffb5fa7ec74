"""Editions: one rulebook chosen by name, with its values, fingerprint and switch settings."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from pathlib import Path

from app.domain.points import Points
from app.domain.rulings import RuleRef
from app.domain.words import listed, say
from app.errors import InputError, RulebookError, UnknownEdition
from app.rulebook.loader import load_rules
from app.rulebook.money_tables import Bonuses
from app.rulebook.schema import Rules, Switch
from app.rulebook.values import ValueTable, load_values

DATA = Path(__file__).resolve().parents[2] / "data"
OWN = "own"
"""The federation of rulebooks of one's own."""
AT = "@"
"""Stands between the name of an edition and a fingerprint."""


@dataclass(frozen=True, eq=False)
class Edition:
    """One rulebook, `isu/2026-27/senior/women/free`; frozen, cheap to pass around."""

    name: str
    title: str
    issuer: str
    """Whose rulebook it is, in words: "ISU"."""
    level_words: str
    """The level as people write it."""
    rules: Rules
    values: ValueTable
    settings: Mapping[str, str] = field(default_factory=dict)
    """Readings chosen away from the defaults: switch -> reading."""
    copied_from: str = ""
    """Of a rulebook of one's own: the edition it began as, which gives season and level."""

    @property
    def federation(self) -> str:
        return self.name.split("/")[0]

    @property
    def season(self) -> str:
        return (self.copied_from or self.name).split("/")[1]

    @property
    def level(self) -> str:
        return (self.copied_from or self.name).split("/")[2]

    @property
    def discipline(self) -> str:
        return self.name.split("/")[3]

    @property
    def segment(self) -> str:
        return self.name.split("/")[4]

    @property
    def is_own(self) -> bool:
        """A rulebook of the coach's own, `own/<name>/<version>/<discipline>/<segment>`."""
        return self.federation == OWN

    @property
    def is_short(self) -> bool:
        return self.rules.short is not None

    @property
    def boxes(self) -> int:
        return self.rules.boxes.most

    @property
    def half_way_seconds(self) -> int:
        """Middle of the required time, without the tolerance (ISU Communication 2176)."""
        return self.rules.programme.seconds // 2

    def reading(self, switch: str) -> str | None:
        """The reading in force for a disputed rule; None where this edition has no such switch."""
        if switch not in self.rules.switches:
            return None
        return self.settings.get(switch, self.rules.switches[switch].default)

    def reading_ref(self, switch: str) -> RuleRef:
        """Source of the reading in force."""
        reading = self.rules.switches[switch].readings[self.reading(switch) or ""]
        return RuleRef(reading.document, reading.paragraph, reading.certainty)

    @property
    def bonuses(self) -> Bonuses | None:
        """The bonus table in force, if this edition has one under the readings chosen."""
        table = self.rules.bonuses
        if table is None or (table.switch and self.reading(table.switch) != table.reading):
            return None
        return table

    def fall_deduction(self, nth: int) -> Points:
        """Hundredths taken off for the nth fall (from 1)."""
        each = self.rules.falls.each
        return each[min(nth, len(each)) - 1]

    @cached_property
    def fingerprint(self) -> str:
        """Short hash of every number in force; a layout remembers it."""
        stated = {
            # Without what is left at its default: a wider vocabulary does not move it.
            "rules": self.rules.model_dump(mode="json", exclude_defaults=True),
            "values": sorted((c, v, p) for (c, v), p in self.values.rows.items()),
            "settings": dict(sorted(self.settings.items())),
        }
        return hashlib.sha256(json.dumps(stated, sort_keys=True).encode()).hexdigest()[:16]


@lru_cache(maxsize=1)
def _all() -> dict[str, Edition]:
    return load_all(DATA)


def load_all(data: Path) -> dict[str, Edition]:
    """Every edition under a data folder. Raises RulebookError naming file, table and row."""
    tables = {path.stem: load_values(path) for path in sorted((data / "values").glob("*.csv"))}
    editions: dict[str, Edition] = {}
    for loaded in load_rules(data / "rules"):
        table = loaded.rules.values.table
        if table not in tables:
            raise RulebookError(loaded.name, f"table values, row table: no data/values/{table}.csv")
        if loaded.name in editions:
            raise RulebookError(loaded.name, "stands in two rule files")
        head = loaded.head
        editions[loaded.name] = Edition(
            name=loaded.name,
            title=head.title,
            issuer=head.issuer,
            level_words=head.level_words or loaded.name.split("/")[2].replace("-", " "),
            rules=loaded.rules,
            values=tables[table],
        )
    return editions


@dataclass(frozen=True)
class Shelf:
    """Editions beside the shipped ones, handed in by whoever starts the program; nothing here is read from a file.

    `own`: rulebooks of one's own by name; a version never changes, a changed one has a new name. `kept`: earlier states
    of an edition by name and fingerprint, so that what was started under them goes on under them.
    """

    own: dict[str, Edition] = field(default_factory=dict)
    kept: dict[tuple[str, str], Edition] = field(default_factory=dict)
    look_again: list[Callable[[], None]] = field(default_factory=list)
    """Called for a name that is not here: another process may have put it where ours come from."""


SHELF = Shelf()


def value_tables() -> dict[str, ValueTable]:
    """The shipped value tables by name."""
    return {book.values.name: book.values for book in _all().values()}


def edition_names() -> tuple[str, ...]:
    """Names of every edition, shipped and own, sorted."""
    return tuple(sorted({*_all(), *SHELF.own}))


def pinned(name: str, fingerprint: str) -> str:
    """A name for an edition as it was at that fingerprint: the name itself while nothing has changed.

    An earlier state that was not kept cannot be brought back: then it is the edition as it is today.
    """
    today = {**_all(), **SHELF.own}.get(name)
    same = today is not None and today.fingerprint == fingerprint
    return name if same or (name, fingerprint) not in SHELF.kept else f"{name}{AT}{fingerprint}"


def edition(name: str, settings: Mapping[str, str] | None = None) -> Edition:
    """The edition of that name (or of a `pinned` one), with readings chosen away from the defaults.

    Raises UnknownEdition, and InputError for a switch or reading it does not have.
    """
    found = _found(name)
    if not settings:
        return found
    for switch, reading in settings.items():
        _check_setting(found.rules.switches, switch, reading)
    away = {s: reading for s, reading in settings.items() if reading != found.rules.switches[s].default}
    return replace(found, settings=away) if away else found


def _on_hand(name: str) -> Edition | None:
    plain, _, fingerprint = name.partition(AT)
    return SHELF.kept.get((plain, fingerprint)) if fingerprint else _all().get(name) or SHELF.own.get(name)


def _found(name: str) -> Edition:
    if isinstance(name, str):
        found = _on_hand(name)
        if found is None and name.startswith(f"{OWN}/"):
            for look in SHELF.look_again:
                look()
            found = _on_hand(name)
        if found is not None:
            return found
    raise UnknownEdition(
        say(
            "no rulebook called %(name)s; expected one of: %(known)s …",
            name=repr(str(name)),
            known=_near(str(name), edition_names()),
        )
    )


def _near(name: str, known: tuple[str, ...]) -> str:
    """The names most like a wrong one."""
    near = [k for k in known if k.split("/")[-2:] == name.split("/")[-2:]] or list(known)
    return listed(sorted(near, key=lambda k: (not k.startswith("isu/"), k))[:8])


def beside_the_shipped(name: str) -> Edition | None:
    """An edition that another process has to be given, for it stands on the shelf; None: it is shipped."""
    return None if name in _all() else _found(name)


def put_on_shelf(name: str, found: Edition) -> None:
    """Put an edition there under a name that `pinned` or `Edition.name` gives it; one of that name is replaced."""
    plain, _, fingerprint = name.partition(AT)
    if fingerprint:
        SHELF.kept[plain, fingerprint] = found
    else:
        SHELF.own[plain] = found


def _check_setting(switches: Mapping[str, Switch], switch: str, reading: str) -> None:
    if switch not in switches:
        raise InputError(
            "switches",
            say(
                "no switch %(switch)s in this edition; it has %(switches)s",
                switch=repr(switch),
                switches=sorted(switches),
            ),
        )
    if reading not in switches[switch].readings:
        raise InputError(
            f"switches.{switch}",
            say(
                "no reading %(reading)s; expected one of %(readings)s",
                reading=repr(reading),
                readings=sorted(switches[switch].readings),
            ),
        )

"""Reading an export file without trusting it: sizes first, then sums, then each row by the model of its table.

An archive is refused before anything is unpacked that is too large: the entries are named by the manifest, counted and
measured, and no line is read beyond its limit. Nothing is ever written under a name from the file.
"""

from __future__ import annotations

import hashlib
import stat
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import IO, Any

from pydantic import BaseModel, ValidationError

from app.domain.words import say
from app.errors import InputError, RecoupError
from app.storage.database import NEWEST
from app.storage.portable import FORMAT, FORMAT_VERSION, MANIFEST, NOTE, Manifest, TableEntry, row_model

MOST_UNPACKED = 500_000_000
MOST_ENTRIES = 64
MOST_MANIFEST = 200_000
MOST_LINE = 4_000_000
AT_ONCE = 1_000_000
FIELD = "file"
PACKED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


@dataclass(frozen=True)
class ExportFile:
    """An export file whose sizes and sums are right; its rows have not been looked at yet."""

    archive: zipfile.ZipFile
    manifest: Manifest

    def rows(self, table: str) -> Iterator[dict[str, Any]]:
        """The rows of a table, each checked; none when the table is not in the file. Raises InputError."""
        entry = next((one for one in self.manifest.tables if one.table == table), None)
        if entry is None:
            return
        model = row_model(table)
        with self.archive.open(entry.file) as opened:
            for number, line in enumerate(_lines(opened, entry.file), start=1):
                yield _row(model, line, f"{entry.file}, line {number}")


def opened(source: IO[bytes], known: frozenset[str]) -> ExportFile:
    """The export file in `source`. `known`: the tables of this installation. Raises InputError saying what is wrong."""
    try:
        archive = zipfile.ZipFile(source)
        manifest = _manifest(archive)
        _check_entries(archive, manifest, known)
        for entry in manifest.tables:
            _check_sum(archive, entry)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, EOFError, OSError) as error:
        raise InputError(
            FIELD, say("this is no export file of Recoup, or it was damaged on the way")
        ) from error
    return ExportFile(archive, manifest)


def _manifest(archive: zipfile.ZipFile) -> Manifest:
    infos = archive.infolist()
    if len(infos) > MOST_ENTRIES or sum(one.file_size for one in infos) > MOST_UNPACKED:
        given = say(
            "%(count)s files of %(sum)s bytes in it",
            count=len(infos),
            sum=format(sum(one.file_size for one in infos), ","),
        )
        raise InputError(
            FIELD,
            say(
                "%(given)s; expected at most %(most_entries)s files and %(most_unpacked)s bytes",
                given=given,
                most_entries=MOST_ENTRIES,
                most_unpacked=format(MOST_UNPACKED, ","),
            ),
        )
    said = next((one for one in infos if one.filename == MANIFEST), None)
    if said is None or said.file_size > MOST_MANIFEST:
        raise InputError(
            FIELD, say("this is no export file of Recoup: it has no manifest.json of the right size")
        )
    try:
        manifest = Manifest.model_validate_json(archive.read(said))
    except ValidationError as error:
        raise InputError(FIELD, f"{MANIFEST}: {_first(error)}") from None
    if manifest.format != FORMAT:
        raise InputError(
            FIELD, say("this is no export file of Recoup but %(format)s", format=repr(manifest.format[:40]))
        )
    if manifest.format_version > FORMAT_VERSION or manifest.schema_ > NEWEST:
        raise InputError(
            FIELD, say("a newer Recoup has written this file; update this one, then bring it in again")
        )
    return manifest


def _check_entries(archive: zipfile.ZipFile, manifest: Manifest, known: frozenset[str]) -> None:
    """Exactly the files of the manifest, once each, of the size it says, plain and unencrypted."""
    strange = [one.table for one in manifest.tables if one.table not in known]
    if strange:
        raise InputError(
            FIELD,
            say(
                "it has a table %(strange)s, which this Recoup does not know; update it first",
                strange=repr(strange[0]),
            ),
        )
    sizes = {one.file: one.bytes for one in manifest.tables}
    if len({one.table for one in manifest.tables}) != len(manifest.tables):
        raise InputError(FIELD, say("a table stands twice in its manifest"))
    names = [one.filename for one in archive.infolist()]
    if sorted(names) != sorted({*sizes, MANIFEST, *({NOTE} & set(names))}):
        raise InputError(FIELD, say("the files in it are not those its manifest names"))
    for info in archive.infolist():
        plain = (
            info.compress_type in PACKED
            and not info.flag_bits & 1
            and not stat.S_ISLNK(info.external_attr >> 16)
        )
        if not plain or info.file_size != sizes.get(info.filename, info.file_size):
            raise InputError(
                FIELD,
                say(
                    "%(filename)s in it is encrypted, a link, or of another size than it says",
                    filename=info.filename,
                ),
            )


def _check_sum(archive: zipfile.ZipFile, entry: TableEntry) -> None:
    digest, lines, size = hashlib.sha256(), 0, 0
    with archive.open(entry.file) as opened_entry:
        while part := opened_entry.read(AT_ONCE):
            size += len(part)
            if size > entry.bytes:
                break
            lines += part.count(b"\n")
            digest.update(part)
    if (size, lines, digest.hexdigest()) != (entry.bytes, entry.rows, entry.sha256):
        raise InputError(
            FIELD,
            say(
                "%(file)s is not as it was written: its checksum differs. Export it once more",
                file=entry.file,
            ),
        )


def _lines(source: IO[bytes], name: str) -> Iterator[bytes]:
    while line := source.readline(MOST_LINE + 1):
        if len(line) > MOST_LINE:
            raise InputError(
                FIELD,
                say(
                    "%(name)s: a row of more than %(most_line)s bytes",
                    name=name,
                    most_line=format(MOST_LINE, ","),
                ),
            )
        yield line


def _row(model: type[BaseModel], line: bytes, where: str) -> dict[str, Any]:
    try:
        return model.model_validate_json(line).model_dump()
    except ValidationError as error:
        raise InputError(FIELD, f"{where}: {_first(error)}") from None
    except (RecoupError, KeyError, TypeError, ValueError, RecursionError) as error:
        raise InputError(FIELD, f"{where}: {str(error)[:200]}") from error


def _first(error: ValidationError) -> str:
    first: Mapping[str, Any] = error.errors(include_url=False, include_input=False)[0]
    place = ".".join(str(part) for part in first["loc"]) or "row"
    return f"{place}: {first['msg']}"

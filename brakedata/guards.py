"""What the reader refuses, before it costs memory: files that are no files, bombs, and workbooks that would break their reader.

Nothing is unpacked to disk and nothing is executed. Every refusal is one sentence: where, what, what to do.
"""

import io
import os
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from brakedata import findings
from brakedata.findings import RecordsError, legible

LARGEST_FILE_BYTES = 512 * 1024**2
"""Files, and what a zip unpacks to: about eight million rows of measurements. Reading takes some ten times a file's size in
memory at worst, and computers have 8 GB."""
MOST_PACKED = 200
"""A zip that unpacks to more than this many times its size holds nothing a person wrote (tables pack 5 to 30 times), once it
is larger than `SMALL_BYTES`."""
SMALL_BYTES = 16 * 1024**2
MOST_MEMBERS = 1_000
"""Files in a zip; a workbook has a few for each sheet."""
MOST_COLUMNS = 2_000
"""Columns of a table: a sheet with a column for each pad and each week of twenty years stays below."""
MOST_CELLS = 20_000_000
"""Cells of a sheet: a million rows of twenty columns, about 2 GB as they are read."""
MOST_MERGED = 100_000
"""Merged ranges of a sheet."""

PACKINGS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
"""The two every program writes, and that can be unpacked in small steps."""
_PASSING = re.compile(
    r"(^|/)(~\$|\.(?!\.?/)|__MACOSX(/|$)|Thumbs\.db$|desktop\.ini$)|\.(tmp|part|crdownload|writing)$|(^|/)[^/]+#$", re.IGNORECASE
)


def passing(name: str) -> bool:
    """Whether a file's name is that of a lock file, a hidden or a half-written file: no records, skipped in silence."""
    return bool(_PASSING.search(name.replace("\\", "/")))


def shown(text, most: int = 60) -> str:
    """A name or a cell for a sentence, `findings.legible` and short."""
    return legible(text, most)


# --- files ------------------------------------------------------------------------------------------------------------


def place(path) -> Path:
    """The path a person gave, with ``~`` understood.

    Raises
    ------
    RecordsError
        It names nothing, or cannot be a path.
    """
    try:
        said = Path(path).expanduser()
        os.stat(said)
    except FileNotFoundError as problem:
        raise RecordsError(f"{shown(path, 200)} does not exist: give the folder or workbook that holds the records.") from problem
    except (OSError, RuntimeError, ValueError) as problem:
        raise RecordsError(
            f"{shown(path, 200)} could not be opened ({getattr(problem, 'strerror', '') or problem}): "
            "give the folder or workbook that holds the records."
        ) from problem
    return said


def read_bytes(file: Path) -> bytes:
    """All bytes of a file.

    Raises
    ------
    RecordsError
        It is a folder, a pipe or a device, a lock file, too large, not to be opened, or written to at this moment.
    """
    name = shown(file.name)
    if file.name.startswith("~$"):
        raise RecordsError(f"{name} is only the mark of an open workbook: give the workbook itself, after saving it.")
    try:
        before = os.stat(file)
        if stat.S_ISDIR(before.st_mode):
            raise RecordsError(f"{name} is a folder, where a file was looked for: give the file in it, or rename the folder.")
        if not stat.S_ISREG(before.st_mode):
            raise RecordsError(f"{name} is a device and no file: copy the records to a file of their own.")
        check_size(before.st_size, name)
        with open(file, "rb") as opened:
            data = opened.read(before.st_size + 1)
            after = os.fstat(opened.fileno())
    except (OSError, ValueError) as problem:
        raise RecordsError(
            f"{name} could not be opened ({getattr(problem, 'strerror', '') or problem}): close it in other programs and try again."
        ) from problem
    if len(data) != before.st_size or (after.st_size, after.st_mtime_ns) != (before.st_size, before.st_mtime_ns):
        raise RecordsError(f"{name} is being written by another program: wait until that is done and try again.")
    return data


def check_size(size: int, name: str) -> None:
    """Refuse what is larger than `LARGEST_FILE_BYTES`."""
    if size > LARGEST_FILE_BYTES:
        raise RecordsError(
            f"{shown(name)} holds {size / 1024**2:,.0f} MB, and {LARGEST_FILE_BYTES // 1024**2} MB is the most that is read: "
            "split it by year or site."
        )


def check_grid(rows: int, columns: int, name: str) -> None:
    """Refuse a table wider than `MOST_COLUMNS` or of more than `MOST_CELLS` cells."""
    if columns > MOST_COLUMNS:
        raise RecordsError(
            f"{shown(name)} has {columns:,} columns, and {MOST_COLUMNS:,} is the most that is read: delete those that hold no records."
        )
    if rows * columns > MOST_CELLS:
        raise RecordsError(
            f"{shown(name)} spans {rows:,} rows of {columns:,} columns: delete what stands far from the table, or save it as .csv."
        )


_MAGIC = (
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "xls"), (b"%PDF", "pdf"), (b"\x1f\x8b", "gzip"),
    (b"7z\xbc\xaf'\x1c", "7z"), (b"Rar!", "rar"), (b"{\\rtf", "rtf"), (b"\x89PNG", "picture"), (b"\xff\xd8\xff", "picture"),
    (b"SQLite format 3\0", "database"), (b"\x7fELF", "program"),
)  # fmt: skip


def kind_of(data: bytes) -> str:
    """What a file is by its content: xlsx, xlsb, ods, xls, zip, parquet, html, pdf ..., ``empty``, or ``text`` for all else."""
    if not data[:4096].strip(b"\t\r\n \xef\xbb\xbf") and not data.strip(b"\t\r\n \xef\xbb\xbf"):
        return "empty"
    if data[:4] in (b"PK\x03\x04", b"PK\x05\x06"):
        try:
            with zipfile.ZipFile(io.BytesIO(data)) as packed:
                names = set(packed.namelist()[:MOST_MEMBERS])
        except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError):
            return "zip"
        for member, kind in (("xl/workbook.xml", "xlsx"), ("xl/workbook.bin", "xlsb"), ("content.xml", "ods")):
            if member in names:
                return kind
        return "zip"
    if data[:4] == data[-4:] == b"PAR1":
        return "parquet"
    for magic, kind in _MAGIC:
        if data.startswith(magic):
            return kind
    head = data[:1000].lstrip(b"\xef\xbb\xbf\t\r\n ").lower()
    return "html" if head.startswith((b"<!doctype html", b"<html", b"<table")) else "text"


# --- zips -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Member:
    """A file in a zip: its last name, and its path as written there. `read` unpacks it in memory."""

    name: str
    path: str
    _packed: zipfile.ZipFile
    _info: zipfile.ZipInfo

    def read(self) -> bytes:
        """The member's bytes, never more than the zip's directory said."""
        return _unpacked(self._packed, self._info, self.path)


def zip_members(data: bytes, name: str) -> tuple[list[Member], list]:
    """The files in a zipped export, and findings (R17) for those that are not read.

    Parameters
    ----------
    data : bytes
    name : str
        The zip's own name, for sentences.

    Returns
    -------
    members : list of Member
        In order of path; folders and `passing` names are not among them.
    found : list of DataFrame

    Raises
    ------
    RecordsError
        The zip is broken, holds too many files, or unpacks to too much.
    """
    packed = _opened(data, name)
    members, found, seen = [], [], set()
    for info in sorted(packed.infolist(), key=lambda info: info.orig_filename):
        path = info.orig_filename
        plain = path.replace("\\", "/")
        if info.is_dir() or passing(plain):
            continue
        why = _why_not(info, plain)
        if not why and plain.lower() in seen:
            why = "another file in the zip has this name: keep one"
        seen.add(plain.lower())
        if why:
            found.append(findings.make("R17-not-read", shown(name), value=shown(path, 120), advice=why))
        else:
            members.append(Member(plain.rsplit("/", 1)[-1], shown(plain, 200), packed, info))
    return members, found


def _why_not(info: zipfile.ZipInfo, path: str) -> str:
    """Why a member of a zip is not read; empty where it is."""
    if path.startswith("/") or re.match(r"[A-Za-z]:", path) or ".." in path.split("/") or "\0" in path:
        return "its name leads out of the zip: rename it and zip again"
    if stat.S_ISLNK(info.external_attr >> 16):
        return "it is a link and no file: zip the file itself"
    if info.flag_bits & 1:
        return "it is protected by a password: zip it without"
    if info.compress_type not in PACKINGS:
        return "it is packed in an unusual way: zip it again with another program"
    return "a zip in a zip is not opened: take it out and give it by itself" if path.lower().endswith(".zip") else ""


def _opened(data: bytes, name: str) -> zipfile.ZipFile:
    """A zip whose directory stays within the limits."""
    try:
        packed = zipfile.ZipFile(io.BytesIO(data))
    except (zipfile.BadZipFile, ValueError, NotImplementedError, OSError) as problem:
        raise RecordsError(f"{shown(name)} is damaged and cannot be unpacked: make or fetch it again.") from problem
    infos = packed.infolist()
    if len(infos) > MOST_MEMBERS:
        raise RecordsError(
            f"{shown(name)} holds {len(infos):,} files, and {MOST_MEMBERS:,} is the most that is read: zip the tables only."
        )
    unpacked = sum(info.file_size for info in infos)
    check_size(unpacked, f"{shown(name)}, unpacked,")
    if unpacked > max(SMALL_BYTES, MOST_PACKED * len(data)):
        raise RecordsError(
            f"{shown(name)} would unpack to {unpacked / len(data):,.0f} times its size, as no table does: it was not opened; "
            "ask whoever sent it."
        )
    return packed


def _unpacked(packed: zipfile.ZipFile, info: zipfile.ZipInfo, name: str) -> bytes:
    try:
        with packed.open(info) as member:
            data = member.read(info.file_size + 1)
    except (zipfile.BadZipFile, zlib.error, OSError, ValueError, RuntimeError, NotImplementedError, EOFError) as problem:
        raise RecordsError(f"{shown(name)} is damaged and cannot be unpacked: make or fetch it again.") from problem
    if len(data) != info.file_size:
        raise RecordsError(f"{shown(name)} is not as long as the zip says: make or fetch it again.")
    return data


# --- workbooks --------------------------------------------------------------------------------------------------------


def checked_workbook(data: bytes, name: str) -> bytes:
    """A workbook that its reader can be given: the same sheets, no part that was not looked at.

    It is packed anew from the parts that hold cells, since a zip can show one thing to one reader and another to the next, and a
    chain of sectors that bites its tail has no end; pictures and macros are not among them.

    Parameters
    ----------
    data : bytes
        Of an .xlsx, .ods or .xls.
    name : str
        For sentences.

    Raises
    ------
    RecordsError
        It is none of these, damaged, or its cells span more than is read.
    """
    kind = kind_of(data)
    if kind == "xls":
        stream = _xls_stream(data, name)
        for rows, columns in _xls_spans(stream, name):
            check_grid(rows, columns, name)
        return _xls_alone(stream)
    if kind not in ("xlsx", "ods"):
        raise RecordsError(_NO_WORKBOOK.format(shown(name)))
    packed, out = _opened(data, name), io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as anew:
        for info in packed.infolist():
            if not info.filename.lower().endswith((".xml", ".rels", "mimetype")) or info.filename in anew.NameToInfo:
                continue
            if _why_not(info, info.filename):
                raise RecordsError(_NO_WORKBOOK.format(shown(name)))
            part = _unpacked(packed, info, name)
            _check_xml(part, name)
            if kind == "xlsx" and b"sheetData" in part:
                check_grid(*_sheet_span(part, name), name)
                _check_merged(part, name)
            elif info.filename == "content.xml":
                for rows, columns in _ods_spans(part, name):
                    check_grid(rows, columns, name)
            anew.writestr(zipfile.ZipInfo(info.filename), part)
    return out.getvalue()


_NO_WORKBOOK = "{} is not a readable workbook: open it and save it again as .xlsx."


@contextmanager
def reader_faults(sentence: str) -> Iterator[None]:
    """Whatever a workbook's reader raises, its own panic too, becomes a `RecordsError` with this sentence."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit, GeneratorExit, MemoryError):
        raise
    except BaseException as problem:  # a panic of the reader is no Exception
        raise RecordsError(sentence) from problem


def _check_xml(part: bytes, name: str) -> None:
    """No definitions of one's own in a part: they are how a few letters become billions, or another file's content."""
    if b"<!DOCTYPE" in part or b"<!ENTITY" in part:
        raise RecordsError(
            f"{shown(name)} holds definitions that no spreadsheet program writes; it was not read: save it anew as .xlsx."
        )
    if b"\0" in part:
        raise RecordsError(_NO_WORKBOOK.format(shown(name)))


_STEP = 16 * 1024**2
_SAID = rb"(?:\s+[\w:.-]+\s*=\s*(?:\"[^\"<>]*\"|'[^'<>]*'))*"
_NOT_R = rb"(?:\s+(?!r\s*=)[\w:.-]+\s*=\s*(?:\"[^\"<>]*\"|'[^'<>]*'))*"
_CELL = re.compile(rb"<(?:\w+:)?c(?=[\s/>])")
_NAMED_CELL = re.compile(rb"<(?:\w+:)?c" + _NOT_R + rb"\s+r\s*=\s*[\"']([A-Za-z]{1,7})(\d{1,9})[\"']" + _SAID + rb"\s*/?>")
_UNNAMED_CELL = re.compile(rb"<(?:\w+:)?c" + _NOT_R + rb"\s*/?>")
_ROW = re.compile(rb"<(?:\w+:)?row(?=[\s/>])")
_NAMED_ROW = re.compile(rb"<(?:\w+:)?row" + _NOT_R + rb"\s+r\s*=\s*[\"'](\d{1,9})[\"']" + _SAID + rb"\s*/?>")
_UNNAMED_ROW = re.compile(rb"<(?:\w+:)?row" + _NOT_R + rb"\s*/?>")


def _pieces(part: bytes) -> Iterator[bytes]:
    """A part in pieces of some 16 MB that end with a tag."""
    start = 0
    while start < len(part):
        end = part.find(b">", start + _STEP) + 1 or len(part)
        yield part[start:end]
        start = end


def _sheet_span(part: bytes, name: str) -> tuple[int, int]:
    """Rows and columns that the cells of an .xlsx sheet span from its top left corner, at most."""
    columns, lines, rows, in_a_row, unnamed = {b"A"}, {b"1"}, 0, 0, 0
    for piece in _pieces(part):
        cells, row_names = _NAMED_CELL.findall(piece), _NAMED_ROW.findall(piece)
        columns.update(column for column, _ in cells)
        lines = {max(lines.union(row_names, (line for _, line in cells)), key=int)}
        bare, bare_rows = len(_UNNAMED_CELL.findall(piece)), len(_UNNAMED_ROW.findall(piece))
        every_row = len(_ROW.findall(piece))
        if len(_CELL.findall(piece)) != len(cells) + bare or every_row != len(row_names) + bare_rows:
            raise RecordsError(_NO_WORKBOOK.format(shown(name)))
        rows += every_row
        unnamed += bare
    if unnamed:  # cells that do not say where they stand follow one another
        in_a_row = max(len(_CELL.findall(line)) for line in _ROW.split(part))
    return int(lines.pop()) + rows * bool(unnamed), max(map(_column_number, columns)) + in_a_row


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters[:8].upper():
        number = 26 * number + letter - 64
    return number


def _check_merged(part: bytes, name: str) -> None:
    if len(re.findall(rb"mergeCell\s", part)) > MOST_MERGED:
        raise RecordsError(
            f"{shown(name)} has more than {MOST_MERGED:,} merged cells: undo the merging, or save the sheet as .csv."
        )


def merged(sheet) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """Merged ranges of a sheet of a workbook, ((first row, first column), (last row, last column)) from 0, within its cells.

    Ranges that cover more cells together than the sheet has overlap, as no spreadsheet program lets them: the rest is not given.
    """
    if sheet.end is None:
        return []
    last_row, last_column = sheet.end
    kept, left = [], (last_row + 1) * (last_column + 1)
    for (top, first), (bottom, last) in sheet.merged_cell_ranges or []:
        bottom, last = min(bottom, last_row), min(last, last_column)
        left -= max(0, bottom - top + 1) * max(0, last - first + 1)
        if left < 0:
            break
        if top <= bottom and first <= last:
            kept.append(((top, first), (bottom, last)))
    return kept


_ODS_WHAT = rb"<(/?)table:(table-row|table-cell|covered-table-cell|table)"
_ODS_ANY = re.compile(_ODS_WHAT + rb"(?=[\s/>])")
_ODS_TAG = re.compile(_ODS_WHAT + rb"(" + _SAID + rb")\s*(/?)>")
_REPEATED = re.compile(rb"\stable:number-(?:rows|columns)-repeated\s*=\s*[\"'](\d{1,12})[\"']")


def _ods_spans(part: bytes, name: str) -> Iterator[tuple[int, int]]:
    """Rows and columns of each sheet of an .ods, up to its last cell that holds something."""
    if len(_ODS_ANY.findall(part)) != sum(1 for _ in _ODS_TAG.finditer(part)):
        raise RecordsError(_NO_WORKBOOK.format(shown(name)))
    rows = last_row = columns = at = last_cell = times = 0
    for tag in _ODS_TAG.finditer(part):
        closing, what, said, alone = tag.groups()
        repeated = _REPEATED.findall(said)
        many = max(map(int, repeated)) if repeated else 1
        if what == b"table":
            yield last_row, columns
            rows = last_row = columns = 0
        elif what == b"table-row":
            if closing or alone:
                rows += times if closing else many
                if closing and last_cell:
                    last_row, columns = rows, max(columns, last_cell)
            at, last_cell, times = 0, 0, many
        elif not closing:
            at += many
            if not alone or b"office:value" in said:
                last_cell = at
    yield last_row, columns


def _xls_spans(book: bytes, name: str) -> list[tuple[int, int]]:
    """Rows and columns of each sheet of an .xls, by the cell records in its stream and by what the sheet says itself."""
    spans, rows, columns, at = [], 0, 0, 0
    while at + 4 <= len(book):
        kind, length = struct.unpack_from("<HH", book, at)
        said = book[at + 4 : at + 4 + length]
        if kind in _XLS_CELLS and length >= 6:
            row, column = struct.unpack_from("<HH", said)
            rows, columns = max(rows, row + 1), max(columns, column + 1)
            if kind == 0x00BD:  # several numbers in one record, the last column in its last two bytes
                columns = max(columns, struct.unpack("<H", said[-2:])[0] + 1)
        elif kind == 0x0200 and length >= 10:  # the rows and columns the sheet says it has
            last = struct.unpack_from("<IHH" if length >= 14 else "<HHH", said, 4 if length >= 14 else 2)
            rows, columns = max(rows, last[0]), max(columns, last[2])
        elif kind == 0x00FC and length >= 8 and struct.unpack_from("<I", said, 4)[0] > len(book):  # more texts than bytes
            raise RecordsError(_NO_WORKBOOK.format(shown(name)))
        elif kind == 0x000A:  # end of a sheet
            spans.append((rows, columns))
            rows = columns = 0
        at += 4 + length
    return [*spans, (rows, columns)]


_XLS_CELLS = frozenset(
    (0x0003, 0x0203, 0x0004, 0x0204, 0x0005, 0x0205, 0x0006, 0x0206, 0x0406, 0x007E, 0x027E, 0x00BD, 0x00D6, 0x00FD, 0x0002)
)  # fmt: skip
"""Numbers of the records that hold cells (MS-XLS, section 2.3)."""


def _xls_stream(data: bytes, name: str) -> bytes:
    """The stream of records in an .xls, which is a small file system: sectors in chains (MS-CFB, sections 2.1 to 2.6)."""
    try:
        shift, mini_shift = struct.unpack_from("<HH", data, 30)
        first_dir, cutoff, first_mini, _, first_list, _ = struct.unpack_from("<I4xIIIII", data, 48)
        sectors = struct.unpack_from("<109I", data, 76)
        while first_list < _LAST_SECTOR and len(sectors) < len(data) >> shift:
            more = struct.unpack(f"<{(1 << shift) // 4}I", _sector(data, first_list, shift))
            sectors, first_list = sectors + more[:-1], more[-1]
        table = np.frombuffer(b"".join(_sector(data, n, shift) for n in sectors if n < _LAST_SECTOR), "<u4")
        entries = _chained(data, first_dir, table, shift)
        entries = [entries[at : at + 128] for at in range(0, len(entries) - 127, 128)]
        named = {
            entry[: max(0, struct.unpack_from("<H", entry, 64)[0] - 2)].decode("utf-16-le").lower(): entry for entry in entries
        }
        if "encryptedpackage" in named:
            raise RecordsError(f"{shown(name)} is protected by a password: save it without one.")
        book = named["workbook"] if "workbook" in named else named["book"]
        start, size = struct.unpack_from("<II", book, 116)
        if size >= cutoff:
            return _chained(data, start, table, shift)[:size]
        small = _chained(data, struct.unpack_from("<I", entries[0], 116)[0], table, shift)
        mini_table = np.frombuffer(_chained(data, first_mini, table, shift), "<u4")
        return _chained(small, start, mini_table, mini_shift, head=0)[:size]
    except (struct.error, KeyError, IndexError, ValueError, OverflowError) as problem:
        raise RecordsError(_NO_WORKBOOK.format(shown(name))) from problem


_LAST_SECTOR = 0xFFFFFFFA


def _sector(data: bytes, number: int, shift: int, head: int = 1) -> bytes:
    return data[(number + head) << shift : (number + head + 1) << shift]


def _chained(data: bytes, start: int, table: np.ndarray, shift: int, head: int = 1) -> bytes:
    """The sectors of a chain one after the other; raises where it leads out of the file or bites its tail."""
    parts = []
    while start < _LAST_SECTOR:
        if len(parts) > len(table):
            raise ValueError("a chain without end")
        parts.append(_sector(data, start, shift, head))
        start = int(table[start])
    return b"".join(parts)


def _xls_alone(stream: bytes) -> bytes:
    """An .xls that holds this stream and nothing else, in sectors of 4,096 bytes."""
    stream = stream.ljust(4096, b"\0")
    own = -(-len(stream) // 4096)
    tables = -(-(own + 1) // 1023)  # each lists 1,024 sectors, one of which is itself
    chain = [0xFFFFFFFD] * tables + [0xFFFFFFFE, *range(tables + 2, tables + 1 + own), 0xFFFFFFFE]
    chain += [0xFFFFFFFF] * (1024 * tables - len(chain))
    head = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16) + struct.pack("<HHHHH6x", 0x3E, 4, 0xFFFE, 12, 6)
    head += struct.pack("<9I", 1, tables, tables, 0, 4096, 0xFFFFFFFE, 0, 0xFFFFFFFE, 0)
    head += struct.pack("<109I", *range(tables), *[0xFFFFFFFF] * (109 - tables))
    entries = b""
    for name, kind, child, start, size in (
        ("Root Entry", 5, 1, tables, 0),
        ("Workbook", 2, 0xFFFFFFFF, tables + 1, len(stream)),
    ):
        entries += (name.encode("utf-16-le") + b"\0\0").ljust(64, b"\0")
        entries += struct.pack("<HBBIII36xIQ", 2 * len(name) + 2, kind, 1, 0xFFFFFFFF, 0xFFFFFFFF, child, start, size)
    return (
        head.ljust(4096, b"\0")
        + struct.pack(f"<{len(chain)}I", *chain)
        + entries.ljust(4096, b"\0")
        + stream.ljust(4096 * own, b"\0")
    )

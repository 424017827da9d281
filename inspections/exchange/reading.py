"""A table as rows of text, whatever program wrote it: CSV in three encodings and with three delimiters, or XLSX."""

import codecs
import csv
import io
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import IO, Any

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

MOST_ROWS = 60_000
MOST_UNPACKED_BYTES = 400_000_000  # of an XLSX: a small file may hide a large one
_CHUNK = 1 << 16
_FORMULA_AFTER_APOSTROPHE = ("=", "+", "-", "@", "\t")


class CannotBeRead(Exception):
    """The file is no table that can be read; says why."""


@dataclass
class Row:
    line: int  # in the file, the heads being line 1
    cells: dict[str, str]
    formulas: list[str] = field(default_factory=list)  # columns that hold one


@dataclass
class Table:
    format: str
    heads: list[str]
    rows: Iterator[Row]


def read_table(file: IO[bytes], name: str) -> Table:
    """The heads and a lazy iterator over the rows. Raises CannotBeRead, also from the iterator."""
    file.seek(0)
    start = file.read(4)
    file.seek(0)
    if start == b"PK\x03\x04":
        return _table("Excel workbook", _excel_lines(file))
    if start.startswith(b"\xd0\xcf\x11\xe0"):
        raise CannotBeRead("This is the old Excel format (.xls). Save it as .xlsx or CSV first.")
    encoding, words = _encoding(file)
    text = io.TextIOWrapper(file, encoding=encoding, newline="")
    head = text.readline()
    text.seek(0)
    delimiter = max(",;\t", key=head.count)
    named = {",": "commas", ";": "semicolons", "\t": "tabs"}[delimiter]
    return _table(f"CSV, {words}, {named}", _csv_lines(text, delimiter))


def _table(words: str, lines: Iterator[tuple[int, list[Any]]]) -> Table:
    try:
        _, first = next(lines)
    except StopIteration:
        raise CannotBeRead("The file is empty.") from None
    heads = ["_".join(_text(head).lower().replace("-", " ").split()) for head in first]
    named = [head for head in heads if head]
    if len(set(named)) != len(named):
        raise CannotBeRead(
            f"Two columns have the same name: {', '.join(sorted({h for h in named if named.count(h) > 1}))}."
        )
    return Table(words, heads, _rows(heads, lines))


def _rows(heads: list[str], lines: Iterator[tuple[int, list[Any]]]) -> Iterator[Row]:
    count = 0
    for line, values in lines:
        texts = [_text(value) for value in values]
        if not any(texts):
            continue
        count += 1
        if count > MOST_ROWS:
            raise CannotBeRead(f"More than {MOST_ROWS:,} rows. Cut the file into parts.")
        if any(texts[len(heads) :]):
            raise CannotBeRead(f"Line {line} has more cells than there are columns: a delimiter inside a cell?")
        cells = dict(zip(heads, [*texts, *[""] * (len(heads) - len(texts))], strict=False))
        formulas = [head for head, text in cells.items() if text.startswith(("=", "@"))]
        yield Row(line, {head: plain(text) for head, text in cells.items()}, formulas)


def plain(text: str) -> str:
    """Without the apostrophe that we, too, put before what a spreadsheet would take for a formula."""
    return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA_AFTER_APOSTROPHE) else text


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d}" if value.time() == time() else f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, date):
        return f"{value:%Y-%m-%d}"
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, float) and value.is_integer():
        return str(int(value))  # Excel knows no whole numbers
    return str(value).strip()


def _encoding(file: IO[bytes]) -> tuple[str, str]:
    """By its mark, else UTF-8 if all of it is, else Windows-1252, which is said."""
    start = file.read(3)
    file.seek(0)
    if start.startswith(codecs.BOM_UTF8):
        found = "utf-8-sig", "UTF-8 with its mark"
    elif start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        found = "utf-16", "UTF-16"
    elif _decodes(file, "utf-8"):
        found = "utf-8", "UTF-8"
    else:
        found = "cp1252", "taken for Windows-1252: look whether accents are right"
    if not _decodes(file, found[0]):
        raise CannotBeRead("The letters of this file cannot be read. Save it as CSV in UTF-8.")
    return found


def _decodes(file: IO[bytes], encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    file.seek(0)
    try:
        while chunk := file.read(_CHUNK):
            if "\x00" in decoder.decode(chunk):
                return False
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    finally:
        file.seek(0)
    return True


def _csv_lines(text: IO[str], delimiter: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(text, delimiter=delimiter, strict=True)
    begins = 1
    try:
        for values in reader:
            yield begins, values
            begins = reader.line_num + 1
    except csv.Error as error:
        raise CannotBeRead(f"Line {begins} cannot be read: {error}.") from error


def _excel_lines(file: IO[bytes]) -> Iterator[tuple[int, list[Any]]]:
    try:
        with zipfile.ZipFile(file) as packed:
            if sum(part.file_size for part in packed.infolist()) > MOST_UNPACKED_BYTES:
                raise CannotBeRead("This workbook unpacks to more than can be read. Save the one sheet as CSV.")
        book = load_workbook(file, read_only=True)  # formulas as they are written, never their results
        sheet = book.worksheets[0]
        for number, values in enumerate(sheet.iter_rows(values_only=True), 1):
            yield number, list(values)
    except CannotBeRead:
        raise
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, IndexError, SyntaxError) as error:
        raise CannotBeRead("This is no Excel workbook that can be read. Save the sheet as CSV.") from error

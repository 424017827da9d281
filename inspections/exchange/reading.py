"""A table as rows of text, whatever program wrote it: CSV in three encodings and with three delimiters, or XLSX."""

import codecs
import csv
import io
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import IO, Any

from openpyxl import load_workbook
from openpyxl.utils.exceptions import InvalidFileException

MOST_ROWS = 60_000
MOST_UNPACKED_BYTES = 400_000_000  # of an XLSX: a small file may hide a large one
_CHUNK = 1 << 16
_ERRORS = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!"})  # as spreadsheets write them
_FORMULA_AFTER_APOSTROPHE = ("=", "+", "-", "@", "\t")


class CannotBeRead(Exception):
    """The file is no table that can be read; says why."""


@dataclass
class Row:
    line: int  # in the file, the heads being line 1
    cells: dict[str, str]
    faults: list[str] = field(default_factory=list)  # why it cannot be taken, whatever its cells say


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
        book = _workbook(file)
        first, *others = book.worksheets
        words = f", only the first of its {len(others) + 1} sheets, “{first.title[:31]}”" if others else ""
        return _table(f"Excel workbook{words}", _excel_lines(first))
    if start.startswith(b"\xd0\xcf\x11\xe0"):
        raise CannotBeRead("This is the old Excel format (.xls). Save it as .xlsx or CSV first.")
    encoding, words = _encoding(file)
    text = io.TextIOWrapper(file, encoding=encoding, newline="")
    head, begins = _head_of(text)
    delimiter = max(",;\t", key=head.count)
    named = {",": "commas", ";": "semicolons", "\t": "tabs"}[delimiter]
    return _table(f"CSV, {words}, {named}", _csv_lines(text, delimiter, begins))


def _table(words: str, lines: Iterator[tuple[int, list[Any]]]) -> Table:
    try:
        line, first = next(lines)
    except StopIteration:
        raise CannotBeRead("The file is empty.") from None
    if isinstance(first, str):
        raise CannotBeRead(f"Line {line}: {first}")
    heads = ["_".join(_text(head).lower().replace("e-mail", "email").replace("-", " ").split()) for head in first]
    named = [head for head in heads if head]
    if len(set(named)) != len(named):
        raise CannotBeRead(
            f"Two columns have the same name: {', '.join(sorted({h for h in named if named.count(h) > 1}))}."
        )
    return Table(words, heads, _rows(heads, lines))


def _rows(heads: list[str], lines: Iterator[tuple[int, list[Any]]]) -> Iterator[Row]:
    count = 0
    for line, values in lines:
        unread = [values] if isinstance(values, str) else []
        texts = [] if unread else [_text(value) for value in values]
        if not any(texts) and not unread:
            continue
        count += 1
        if count > MOST_ROWS:
            raise CannotBeRead(f"More than {MOST_ROWS:,} rows. Cut the file into parts.")
        if any(texts[len(heads) :]):
            unread.append("It has more cells than there are columns: a delimiter inside a cell?")
        cells = dict(zip(heads, [*texts, *[""] * (len(heads) - len(texts))], strict=False))
        yield Row(line, {head: plain(text) for head, text in cells.items()}, [*unread, *_faults(cells)])


def _faults(cells: dict[str, str]) -> Iterator[str]:
    if formulas := [head for head, text in cells.items() if text.startswith(("=", "@"))]:
        yield f"A formula in {', '.join(formulas)}: put its value there."
    if errors := [head for head, text in cells.items() if text in _ERRORS]:
        yield f"An error of the spreadsheet in {', '.join(errors)}."


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


def _head_of(text: IO[str]) -> tuple[str, int]:
    """The line of the heads and its number; `text` then stands before it.

    Empty lines are no heads, nor is the `sep=;` that spreadsheets write.
    """
    number = 0
    while True:
        number, at = number + 1, text.tell()
        line = text.readline()
        if not line or (line.strip("\ufeff\r\n") and not line.strip("\ufeff\r\n").lower().startswith("sep=")):
            text.seek(at)
            return line, number


def _csv_lines(text: IO[str], delimiter: str, begins: int) -> Iterator[tuple[int, list[str] | str]]:
    """The number of each line and its cells; in their place, of a line that cannot be read, why."""
    reader = csv.reader(text, delimiter=delimiter, strict=True)
    passed = begins - 1
    while True:
        try:
            values: list[str] | str = next(reader)
        except StopIteration:
            return
        except csv.Error as error:  # the reader goes on with the next line
            values = f"It cannot be read: {error}."
        yield begins, values
        begins = passed + reader.line_num + 1


def _workbook(file: IO[bytes]) -> Any:
    with _told_if_no_workbook():
        with zipfile.ZipFile(file) as packed:
            if sum(part.file_size for part in packed.infolist()) > MOST_UNPACKED_BYTES:
                raise CannotBeRead("This workbook unpacks to more than can be read. Save the one sheet as CSV.")
        book = load_workbook(file, read_only=True)  # formulas as they are written, never their results
        if not book.worksheets:
            raise IndexError("no sheet of cells")
        return book


def _excel_lines(sheet: Any) -> Iterator[tuple[int, list[Any]]]:
    with _told_if_no_workbook():
        is_begun = False
        for number, values in enumerate(sheet.iter_rows(values_only=True), 1):
            if is_begun := is_begun or any(value is not None for value in values):
                yield number, list(values)


@contextmanager
def _told_if_no_workbook() -> Iterator[None]:
    try:
        yield
    except (InvalidFileException, zipfile.BadZipFile, KeyError, ValueError, IndexError, SyntaxError) as error:
        raise CannotBeRead("This is no Excel workbook that can be read. Save the sheet as CSV.") from error

"""Spreadsheets (xlsx, xls, ods) as rows of text, through pandas and the optional calamine engine."""

import hashlib
import io
from typing import TYPE_CHECKING

from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import message
from reworkkit.model.values import Where
from reworkkit.read.delimited_split import Row, Split
from reworkkit.read.text import TextFile

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pandas import DataFrame

_ZIP, _OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_MOST_UNPACKED = 512 * 1024 * 1024


def is_spreadsheet(data: bytes) -> bool:
    """Tell whether the bytes are a workbook, whatever the file is called."""
    return data.startswith((_ZIP, _OLE))


def read_spreadsheet(data: bytes, name: str) -> tuple[list[Split], TextFile]:
    """Return each sheet as rows of text; a missing engine, a damaged or an oversized file is a ReworkkitError."""
    _refuse_bomb(data, name)
    try:
        import pandas as pd

        sheets = pd.read_excel(
            io.BytesIO(data), engine="calamine", sheet_name=None, header=None, dtype=str, keep_default_na=False
        )
    except ImportError:
        raise ReworkkitError("spreadsheet-needs-extra", where=(Where(name),), file=name) from None
    except Exception as problem:  # calamine raises its own, undocumented classes
        reason = str(problem).splitlines()[0][:200] if str(problem) else type(problem).__name__
        raise ReworkkitError("spreadsheet-unreadable", where=(Where(name),), file=name, reason=reason) from None
    splits = [_split(str(title), frame, len(sheets)) for title, frame in sheets.items() if not frame.empty]
    if not splits:
        raise ReworkkitError("file-empty", where=(Where(name),), file=name)
    return splits, TextFile("", "spreadsheet", (), hashlib.sha256(data).hexdigest(), len(data))


def _split(title: str, frame: "DataFrame", count: int) -> Split:
    values: Sequence[Sequence[object]] = frame.to_numpy(dtype=object).tolist()
    rows = [Row(n, [c if isinstance(c, str) else "" for c in cells]) for n, cells in enumerate(values, 1)]
    assumed = (message("sheet-chosen", sheet=title, count=count),) if count > 1 else ()
    return Split("sheet", rows, assumed, 1.0)


def _refuse_bomb(data: bytes, name: str) -> None:
    if not data.startswith(_ZIP):
        return
    import zipfile

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as book:
            unpacked = sum(entry.file_size for entry in book.infolist())
    except (zipfile.BadZipFile, ValueError, OSError):
        raise ReworkkitError(
            "spreadsheet-unreadable", where=(Where(name),), file=name, reason="the archive is damaged"
        ) from None
    if unpacked > _MOST_UNPACKED:
        raise ReworkkitError(
            "file-too-large", where=(Where(name),), file=name, size=f"{unpacked / 1e6:.0f} MB unpacked"
        )

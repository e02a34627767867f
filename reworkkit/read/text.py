"""Bytes to text: size and kind checks, byte-order marks, strict UTF-8, else a code page chosen on evidence.

Whatever had to be assumed is said in `TextFile.assumed`; `encoding` (the person's own word) overrules all of it.
"""

import codecs
import hashlib
import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from reworkkit.errors import ReworkkitError
from reworkkit.model.messages import Message, message
from reworkkit.model.values import Where
from reworkkit.read.text_evidence import best_code_page, repaired_twice_encoded

MOST_BYTES = 64 * 1024 * 1024
"""Files above this size are refused."""

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_INVISIBLE = dict.fromkeys(
    [0xAD, 0x61C, 0x180E, *range(0x200B, 0x2010), *range(0x202A, 0x202F), *range(0x2060, 0x2065), 0xFEFF, 0]
)
_VISIBLE = re.compile(r"[^\x20-\x7e]")


@dataclass(frozen=True, slots=True)
class TextFile:
    """A file as text: the encoding used, what was assumed to get there, and hash and size of its bytes."""

    text: str
    encoding: str
    assumed: tuple[Message, ...]
    sha256: str
    size: int


def visible(text: str) -> str:
    """Return text for matching: invisible characters gone, every kind of blank a blank, full-width forms narrow.

    >>> visible("\\u200eＲ１\\u00a0 ")
    'R1'
    """
    if not _VISIBLE.search(text):
        return text.strip()
    return " ".join(unicodedata.normalize("NFKC", text.translate(_INVISIBLE)).split())


def read_bytes(path: Path, name: str | None = None) -> bytes:
    """Return the bytes of a file; missing, a folder, unreadable, empty or over 64 MB is a `ReworkkitError`."""
    shown = name or path.name
    where = (Where(shown),)
    try:
        if path.is_dir():
            raise ReworkkitError("file-is-folder", where=where, file=shown)
        if path.exists() and not path.is_file():
            raise ReworkkitError("file-not-plain", where=where, file=shown)
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise ReworkkitError("file-too-large", where=where, file=shown, size=f"{size / 1e6:.0f} MB")
        data = path.read_bytes()
    except FileNotFoundError:
        raise ReworkkitError("file-missing", where=where, file=shown) from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise ReworkkitError("file-unreadable", where=where, file=shown, reason=reason) from None
    if not data.strip(b"\0 \t\r\n\x1a\xef\xbb\xbf\xff\xfe"):
        raise ReworkkitError("file-empty", where=where, file=shown)
    return data


def read_text(path: Path, encoding: str | None = None, name: str | None = None) -> TextFile:
    """Read a text file in whatever encoding it is; `name` is how the file is called in messages."""
    return decode(read_bytes(path, name), name or path.name, encoding)


def decode(data: bytes, name: str, encoding: str | None = None) -> TextFile:
    """Turn bytes into text; what had to be assumed about the encoding is in `assumed`."""
    text, used, assumed = _stated(data, name, encoding) if encoding else _found(data, name)
    return TextFile(text, used, assumed, hashlib.sha256(data).hexdigest(), len(data))


Decoded = tuple[str, str, tuple[Message, ...]]


def _stated(data: bytes, name: str, encoding: str) -> Decoded:
    where = (Where(name),)
    try:
        info = codecs.lookup(encoding)
        if not getattr(info, "_is_text_encoding", True):
            raise LookupError(encoding)
        text = data.decode(encoding)
    except (LookupError, ValueError) as problem:
        if not isinstance(problem, UnicodeError):
            raise ReworkkitError("encoding-unknown", where=where, file=name, encoding=encoding) from None
        start = getattr(problem, "start", 0)
        line = data.count(b"\n", 0, start) + 1
        raise ReworkkitError("encoding-wrong", where=(Where(name, line),), file=name, encoding=encoding) from None
    return text.removeprefix("\ufeff"), info.name, ()


def _found(data: bytes, name: str) -> Decoded:
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return _marked(data, name, encoding)
    if b"\0" in data:
        return _with_nul(data, name)
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        return _not_utf8(data, name)
    if data.isascii():
        return text, "ascii", ()
    return _maybe_repaired(text, "utf-8")


def _marked(data: bytes, name: str, encoding: str) -> Decoded:
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        text = data.decode(encoding, errors="replace")
        return text, encoding, (message("text-bytes-lost", encoding=encoding, count=text.count("\ufffd")),)
    if encoding == "utf-8-sig":
        return _maybe_repaired(text, encoding)
    return text.removeprefix("\ufeff"), encoding, ()


def _maybe_repaired(text: str, encoding: str) -> Decoded:
    if (repaired := repaired_twice_encoded(text)) is not None:
        return repaired[0], encoding, (message("text-encoded-twice", through=repaired[1], example=repaired[2]),)
    return text, encoding, ()


def _with_nul(data: bytes, name: str) -> Decoded:
    """UTF-16 without a mark has its NUL bytes all on one side of each pair; anything else with NUL is no text."""
    even, odd = data[0::2].count(0), data[1::2].count(0)
    pairs = max(len(data) // 2, 1)
    for encoding, many, few in (("utf-16-le", odd, even), ("utf-16-be", even, odd)):
        if many > 0.3 * pairs and few <= 0.02 * pairs:
            try:
                text = data[: len(data) // 2 * 2].decode(encoding)
            except UnicodeDecodeError:
                continue
            if all(c.isprintable() or c in "\t\r\n" for c in text[:2000].translate(_INVISIBLE)):
                return text, encoding, (message("text-encoding-assumed", encoding=encoding, evidence="NUL bytes"),)
    raise ReworkkitError("file-binary", where=(Where(name),), file=name)


def _not_utf8(data: bytes, name: str) -> Decoded:
    if sum(c < 32 and c not in b"\t\r\n\f\v\x1a\x1b" for c in data[:4096]) > 0.02 * min(len(data), 4096):
        raise ReworkkitError("file-binary", where=(Where(name),), file=name)
    if (mended := _mostly_utf8(data)) is not None:
        return mended
    choice = best_code_page(data)
    text = data.decode(choice.encoding, errors="replace")
    slug_facts = {"encoding": choice.encoding, "evidence": choice.evidence}
    if choice.sure:
        return text, choice.encoding, (message("text-encoding-assumed", **slug_facts),)
    return text, choice.encoding, (message("text-encoding-unsure", **slug_facts),)


def _mostly_utf8(data: bytes) -> Decoded | None:
    """A UTF-8 file with a few foreign bytes (pasted from elsewhere): keep UTF-8, read the strays as cp1252."""
    text = data.decode("utf-8", errors="surrogateescape")
    strays = sum("\udc80" <= c <= "\udcff" for c in text)
    good = sum(ord(c) > 127 for c in text) - strays
    if good < 3 * strays:
        return None
    mended = "".join(
        bytes([ord(c) - 0xDC00]).decode("cp1252", errors="replace") if "\udc80" <= c <= "\udcff" else c for c in text
    )
    return mended, "utf-8", (message("text-stray-bytes", count=strays),)

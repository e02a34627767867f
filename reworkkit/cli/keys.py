"""Answers from the keyboard: single keys where a person sits at a terminal, whole lines where the input is piped."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

BACK, PAUSE = "b", "p"
_ESCAPE = "\x1b"
_SPECIAL = {"\x08": BACK, "\x7f": BACK, "\x03": PAUSE, "\x04": PAUSE, "\x1a": PAUSE, "": PAUSE, "\x1b[D": BACK}
_RETURN = ("\r", "\n")
"""Pressed after a key by habit: passed over."""

ReadAnswer = Callable[[], str]


def stdin_is_terminal() -> bool:
    """Return whether a person types: standard input is a terminal."""
    return sys.stdin is not None and sys.stdin.isatty()


@contextmanager
def answers() -> Iterator[ReadAnswer]:
    """Yield a function that waits for one answer: a key, or a line where standard input is no terminal.

    The end of the input, Ctrl-C, Ctrl-D and Esc are the answer `p` (pause); backspace and the left arrow `b` (back).
    """
    if not stdin_is_terminal():
        yield _line
    elif sys.platform == "win32":
        yield _windows_key
    else:
        with _key_by_key():
            yield _posix_key


def read_line() -> str:
    """Return one whole line, for a remark; empty where the input ended."""
    try:
        if not stdin_is_terminal() or sys.platform == "win32":
            return sys.stdin.readline().strip()
        with _whole_lines():
            return sys.stdin.readline().strip()
    except KeyboardInterrupt:
        return ""


def _line() -> str:
    line = sys.stdin.readline()
    return line.strip() if line else PAUSE


if sys.platform == "win32":  # pragma: no cover

    def _windows_key() -> str:
        import msvcrt

        key = _RETURN[0]
        while key in _RETURN:
            key = msvcrt.getwch()
        if key in ("\x00", "\xe0"):
            return BACK if msvcrt.getwch() == "K" else "?"
        return PAUSE if key == _ESCAPE else _SPECIAL.get(key, key)

else:
    import termios
    import tty

    @contextmanager
    def _key_by_key() -> Iterator[None]:
        fd = sys.stdin.fileno()
        before = termios.tcgetattr(fd)
        tty.setcbreak(fd, termios.TCSADRAIN)
        try:
            yield
        finally:
            termios.tcsetattr(fd, termios.TCSADRAIN, before)

    @contextmanager
    def _whole_lines() -> Iterator[None]:
        fd = sys.stdin.fileno()
        before = termios.tcgetattr(fd)
        lines = list(before)
        lines[3] |= termios.ICANON | termios.ECHO
        termios.tcsetattr(fd, termios.TCSADRAIN, lines)
        try:
            yield
        finally:
            termios.tcsetattr(fd, termios.TCSADRAIN, before)

    def _posix_key() -> str:
        key = _RETURN[0]
        try:
            while key in _RETURN:
                key = _bytes_of_key().decode("utf-8", "replace")
        except KeyboardInterrupt:
            return PAUSE
        return PAUSE if key == _ESCAPE else _SPECIAL.get(key, key)

    def _bytes_of_key() -> bytes:
        """Return one key; what a special key sends comes at once, so that Esc alone is told from an arrow."""
        import os
        import select

        fd = sys.stdin.fileno()
        key = os.read(fd, 1)
        more = 2 if key == b"\x1b" else max(0, _length(key) - 1)
        while more and select.select([fd], [], [], 0.05)[0]:
            key += os.read(fd, 1)
            more -= 1
        return key

    def _length(first: bytes) -> int:
        lead = first[0] if first else 0
        return 1 if lead < 0xC0 else 2 if lead < 0xE0 else 3 if lead < 0xF0 else 4

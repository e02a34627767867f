"""All that is reached from something, step by step."""

from collections.abc import Callable, Set


def closure(start: Set[str], onward: Callable[[set[str]], set[str]]) -> set[str]:
    """Return some names with all that are reached from them; `onward` gives what lies next to those found last.

    >>> sorted(closure({"A"}, lambda nets: {chr(ord(net) + 1) for net in nets if net < "C"}))
    ['A', 'B', 'C']
    """
    found, fresh = set(start), set(start)
    while fresh := onward(fresh) - found:
        found |= fresh
    return found

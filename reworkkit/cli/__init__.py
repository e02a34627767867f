"""The command line. `run` is the installed entry point; `main` is the same for tests and other programs."""

import os
import sys
from collections.abc import Sequence

# One thread: several cost CPU time at import and make sums depend on the machine.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def main(arguments: Sequence[str]) -> int:
    """Run one command and return its exit code: 0 done, 1 something is open (--check), 2 nothing was done."""
    from reworkkit.cli.commands import application
    from reworkkit.cli.frame import guarded

    app = application(arguments[0] if arguments else "")
    return guarded(lambda: app(args=list(arguments), prog_name="reworkkit", standalone_mode=True))


def run() -> None:
    """Run the command that the process was started with."""
    import gc

    # A command lives for a moment and frees nothing that matters; the collector would only cost time.
    gc.disable()
    sys.exit(main(sys.argv[1:]))

"""The process that apart.py starts: one recalculation, told of on the standard output."""

from __future__ import annotations

import gc
import pickle
import sys

from .apart import MEMORY_BYTES
from .recalc import recalculate
from .results import Recalculation
from .safe_files import FileProblem


def main() -> None:
    """Read what is to be done, do it within the limits, and send progress, the result or a sentence."""
    if sys.platform == "linux":
        import resource

        # RLIMIT_DATA counts what is really held in private memory, RLIMIT_AS also what threads only reserve.
        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY_BYTES, MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    gc.disable()  # a tenth of the time of a large log; the process ends before garbage could matter
    source, output, options = pickle.load(sys.stdin.buffer)
    result: Recalculation | str
    try:
        result = recalculate(source, output, progress=lambda *step: send(step), **options)
    except FileProblem as problem:
        result = str(problem)
    except MemoryError:
        return  # the other side knows what an end without a result means
    send(result)


def send(message: object) -> None:
    """Hand a message to the process that waits for it."""
    pickle.dump(message, sys.stdout.buffer)
    sys.stdout.buffer.flush()


if __name__ == "__main__":
    main()

"""What the program costs, each figure beside a peer's in the same run.

`python -m tests.benchmarks [--quick] [--json]`. Every module here with a function `measure(quick)` is a
benchmark: it answers its figures by their public names, and beside them one entry under its own name with
`ours_s`, `peer_s`, `n` and `conditions`. Progress goes to standard error by `progress`.
"""

import sys


def progress(text: str) -> None:
    """A line for whoever waits."""
    print(f"  {text}", file=sys.stderr, flush=True)

"""`python -m tests.killtest`: run, check, print the figures; 0 when all of them are as promised."""

import argparse
import contextlib
import json
import sys
import tempfile
import time
from pathlib import Path

from tests.fixtures import postgresql
from tests.killtest import checker
from tests.killtest.run import Plan, run

WORKERS = {"sqlite": 1, "postgresql": 3}


def main() -> int:
    """Read the options, run, check."""
    parser = argparse.ArgumentParser(prog="python -m tests.killtest", description="Kill the bot at random.")
    parser.add_argument("--kills", type=int, default=300, help="how often (300)")
    parser.add_argument("--database", choices=sorted(WORKERS), default="sqlite")
    parser.add_argument("--json", action="store_true", help="the figures as one JSON object")
    parser.add_argument("--seed", type=int, default=1, help="for the moments and the people")
    parser.add_argument("--keep", type=Path, metavar="DIR", help="leave record, logs and database there")
    options = parser.parse_args()
    began_s = time.monotonic()
    with contextlib.ExitStack() as stack:
        if options.keep is None:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="killtest-")))
        else:
            folder = options.keep
            folder.mkdir(parents=True)
        url = f"sqlite:///{folder / 'programme.sqlite3'}"
        if options.database == "postgresql":
            server = stack.enter_context(postgresql.running())
            url = server.url(server.create())
        run(Plan(options.kills, url, WORKERS[options.database], folder, seed=options.seed))
        found = checker.check(folder)
    figures = {**found.figures, "seconds": round(time.monotonic() - began_s, 1)}
    for fault in found.faults:
        print(fault, file=sys.stderr)
    if options.json:
        print(json.dumps(figures))
    else:
        width = max(len(name) for name in figures)
        print("\n".join(f"{name:{width}}  {figure:>10}" for name, figure in figures.items()))
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())

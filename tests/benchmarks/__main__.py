"""`python -m tests.benchmarks`: run them all, print one table or one JSON object."""

import argparse
import importlib
import json
import os
import pkgutil
import sys
import time
from collections.abc import Callable, Iterator
from typing import Any

import tests.benchmarks as package
from tests.benchmarks import progress

Measure = Callable[[bool], dict[str, Any]]


def benchmarks() -> Iterator[tuple[str, Measure]]:
    """Every module with a `measure`, by name."""
    for found in pkgutil.iter_modules(package.__path__):
        if found.name.startswith(("_", "test_")):
            continue
        module = importlib.import_module(f"{package.__name__}.{found.name}")
        if hasattr(module, "measure"):
            yield found.name, module.measure


def main() -> int:
    """Read the options and measure."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=package.__doc__)
    parser.add_argument("--quick", action="store_true", help="smaller numbers, the same figures")
    parser.add_argument("--json", action="store_true", help="the figures as one JSON object")
    parser.add_argument("--only", metavar="NAME", nargs="*", help="some of the benchmarks")
    options = parser.parse_args()
    figures: dict[str, Any] = {"quick": options.quick}
    began_s = time.monotonic()
    for name, measure in benchmarks():
        if options.only and name not in options.only:
            continue
        progress(f"{name} ...")
        started_s, used_s = time.monotonic(), _processor_s()
        figures |= measure(options.quick)
        took_s = time.monotonic() - started_s
        progress(f"{name}: {took_s:.1f} s, of a processor {_processor_s() - used_s:.1f} s")
    figures["seconds"] = round(time.monotonic() - began_s, 1)
    print(json.dumps(figures) if options.json else table(figures))
    return 0


def _processor_s() -> float:
    """What this process and its children that have ended used."""
    return sum(os.times()[:4])


def table(figures: dict[str, Any]) -> str:
    """One line a figure; what stands beside it is indented under it."""
    lines = []
    for name, value in figures.items():
        if isinstance(value, dict):
            lines += [f"{name}:", *(f"    {key:20} {_shown(part)}" for key, part in value.items())]
        elif isinstance(value, list):
            lines += [f"{name}:", *(f"    {_shown(part)}" for part in value)]
        else:
            lines.append(f"{name:24} {_shown(value)}")
    return "\n".join(lines)


def _shown(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.3f}"
    if isinstance(value, dict):
        return "  ".join(f"{key} {_shown(part)}" for key, part in value.items())
    return str(value)


if __name__ == "__main__":
    sys.exit(main())

"""Check the whole set-up in one go: settings, database, keys, clock, token, time zones, sign-off, disk."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """No arguments."""
    del parser


def run(args: argparse.Namespace) -> int:
    """Say what is well, a line each; raises RefusedError with a line for each fault."""
    del args
    from bot import clock, serve  # noqa: PLC0415 - see the package
    from bot.errors import RefusedError  # noqa: PLC0415 - the same

    well, faults = serve.check(clock.SystemClock())
    for line in well:
        print(f"well: {line}")
    if faults:
        raise RefusedError(*faults)
    return 0

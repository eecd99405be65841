"""Run the bot: receive, remind, answer, alert, send digests."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """No arguments; everything is a setting."""
    del parser


def run(args: argparse.Namespace) -> int:
    """Run until SIGTERM or SIGINT."""
    del args
    import asyncio  # noqa: PLC0415 - see the package

    from bot import clock, logs, serve, settings  # noqa: PLC0415 - the same

    known = settings.read(settings.ServeSettings)
    logs.set_up(known.log_level)
    asyncio.run(serve.serve(known, serve.Wiring(clock.SystemClock())))
    return 0

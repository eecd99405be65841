"""Print a fresh key for DATA_KEYS or DATA_KEYS_FILE."""

import argparse


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """No arguments."""
    del parser


def run(args: argparse.Namespace) -> int:
    """Print the key; keep it apart from the database and its backups."""
    del args
    from bot.store import vault  # noqa: PLC0415 - only this verb needs it

    print(vault.new_master_key())
    return 0

"""Validate prescription files and show what each adds up to."""

import argparse
from pathlib import Path

from bot.commands import prescriptions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The files, and what they are checked against."""
    parser.add_argument("files", type=Path, nargs="+", metavar="FILE", help="prescription, or a table in CSV")
    prescriptions.add_day(parser, "no finding may be dated after it (default: today)")
    parser.add_argument("--brief", action="store_true", help="only whether each is fit, as for many files")
    prescriptions.add_own(parser)
    prescriptions.add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Check every file; one that is at fault, or that a gate stands against, is refused with every reason."""
    from bot.errors import RefusedError  # noqa: PLC0415 - see the package
    from bot.rules import rulebook  # noqa: PLC0415 - the same

    rules = rulebook.with_own(args.own)
    today = args.on or prescriptions.today()
    checked = [prescriptions.check(path, rules, today, args.brief) for path in args.files]
    if args.json:
        prescriptions.print_json({"ok": all(one["ok"] for one in checked), "files": checked})
    else:
        for one in checked:
            if one["ok"]:
                print(prescriptions.in_words(one), end="\n" if args.brief else "\n\n")
    faults = [fault for one in checked for fault in one["faults"]]
    if faults:
        raise RefusedError(*faults)
    return 0

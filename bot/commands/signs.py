"""List the warning signs with their sources, for a person, a script, or as a page to sign."""

import argparse
import datetime as dt
from pathlib import Path

from bot.commands import prescriptions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """How, and with which file of the clinic's own."""
    parser.add_argument("--own", type=Path, metavar="FILE", help="the clinic's own warning signs")
    parser.add_argument("--page", type=Path, metavar="FILE", help="write a page (HTML) to print and sign")
    prescriptions.add_json(parser)


def run(args: argparse.Namespace) -> int:
    """List them; needs no setting, database or network."""
    from bot.conversation import copy  # noqa: PLC0415 - see the package
    from bot.errors import RefusedError  # noqa: PLC0415 - the same
    from bot.reports import signs as report  # noqa: PLC0415 - the same
    from bot.rules import in_force, own_signs  # noqa: PLC0415 - the same

    own = own_signs.load(args.own)
    known = in_force.contents(own)
    if args.page is not None:
        sheet = report.Sheet(
            rules=own.rules,
            digest=known.digest,
            parts=known.parts,
            advice={
                key: own.advice.get(key) or copy.as_written(known.language, key) for key in own_signs.ADVICE
            },
            lowered=[(one.sign, one.before, one.after, one.reason, one.name) for one in own.lowered],
            changed=own.changed,
            intended_use=in_force.intended_use(),
            printed_on=prescriptions.today(dt.UTC),
        )
        try:
            args.page.write_text(report.page(sheet), encoding="utf-8")
        except OSError as error:
            raise RefusedError(f"--page: {args.page}: cannot be written ({error.strerror})") from None
    if args.json:
        rows = [report.row(sign, own.changed) for sign in report.ordered(own.rules)]
        prescriptions.print_json(
            {"language": known.language, "version": known.version, "digest": known.digest, "signs": rows}
        )
    elif args.page is None:
        print(report.table(own.rules, own.changed))
        print(f"\nin force: {known.language} {known.version}, {known.digest}")
        if own.changed:
            print("* changed by the clinic's own file")
    else:
        print(f"the page is in {args.page}")
    return 0

"""Show who works for a clinic, or change facts of one of them: name, hours, last day."""

import argparse
import datetime as dt


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Whom it is about, and what is to change."""
    parser.add_argument("code", nargs="?", help="none: show everybody")
    parser.add_argument("--name")
    parser.add_argument("--registration", help="of a therapist")
    parser.add_argument(
        "--hours",
        help='when a therapist works, such as "mon-thu 09:00-15:00"; `clinic` for the clinic\'s own',
    )
    parser.add_argument(
        "--leaves-on", type=dt.date.fromisoformat, metavar="DATE", help="her last day; her clients go first"
    )
    parser.add_argument("--stays", action="store_true", help="take her last day back")
    parser.add_argument("--recorded-by", default="", help="full name of who makes the change")
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Show, or change and keep who did it."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.errors import RefusedError  # noqa: PLC0415 - the same
    from bot.service import clinic_facts  # noqa: PLC0415 - the same

    new = clinic_facts.NewFacts(args.name, args.registration, args.hours, args.leaves_on, args.stays)
    if args.code is None and new.any:
        raise RefusedError("code: expected the code of whom it is about, such as T1")
    if args.stays and args.leaves_on is not None:
        raise RefusedError("--stays: given with --leaves-on; expected one of them")
    with house.database() as (begin, clock):
        if args.code is None:
            print("\n".join(clinic_facts.people_lines(begin, args.clinic)))
        else:
            by = args.recorded_by.strip()
            print(clinic_facts.change_person(begin, clock, args.clinic, args.code, new, by))
    return 0

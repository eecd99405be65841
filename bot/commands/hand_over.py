"""Hand clients over to another therapist, for good or until a day, or end that."""

import argparse
import datetime as dt


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """From whom, to whom, and whom."""
    parser.add_argument("giver", help="code of the therapist whose clients they are")
    parser.add_argument("taker", nargs="?", help="code of the therapist who is to have them")
    parser.add_argument("clients", nargs="*", help="their codes; none: all of them")
    parser.add_argument(
        "--until", type=dt.date.fromisoformat, metavar="DATE", help="the last day; none: for good"
    )
    parser.add_argument("--back", action="store_true", help="end what stands until a day instead")
    parser.add_argument("--recorded-by", default="", help="full name of who decides it")
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Hand over, and keep who decided it; both therapists are told in chat."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.errors import RefusedError  # noqa: PLC0415 - the same
    from bot.service import clinic_facts  # noqa: PLC0415 - the same

    by = args.recorded_by.strip()
    if args.taker is None and not args.back:
        raise RefusedError("taker: expected the code of the therapist who is to have them")
    with house.database() as (begin, clock):
        if args.back:
            print(f"back: {clinic_facts.hand_back(begin, clock, args.clinic, args.giver, by)}")
            return 0
        codes = (args.giver, args.taker)
        clients = tuple(args.clients)
        done = clinic_facts.hand_over(begin, clock, args.clinic, codes, clients, args.until, by)
    print(f"handed over to {args.taker}: {', '.join(done)}")
    return 0

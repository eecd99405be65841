"""Name who is on call, leads safeguarding, acts on low mood, stands in on leave; or show who does."""

import argparse
import datetime as dt

KINDS = ("on-call", "safeguarding", "mood", "cover", "no-cover", "solo")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Which duty, whose, and from when to when."""
    parser.add_argument("kind", nargs="?", choices=KINDS, help="none: show the duties that stand")
    parser.add_argument("who", nargs="?", help="code of who has it")
    parser.add_argument("--hours", default="", help='on call, such as "mon-sun 17:00-09:00"')
    parser.add_argument("--crisis-line", default="", help="number shown with the mood question")
    parser.add_argument("--for", dest="whose", help="cover: code of the therapist on leave")
    parser.add_argument("--from", dest="from_on", type=dt.date.fromisoformat, metavar="DATE")
    parser.add_argument("--until", dest="until_on", type=dt.date.fromisoformat, metavar="DATE")
    parser.add_argument("--recorded-by", default="", help="solo: full name of who says so")
    parser.add_argument("--end", action="store_true", help="end it instead")
    parser.add_argument("--clinic", help="code of the clinic, where there are several")


def run(args: argparse.Namespace) -> int:
    """Record, end or show."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.domain.duties import Duty, Named, night_hours  # noqa: PLC0415 - the same
    from bot.errors import RefusedError  # noqa: PLC0415 - the same
    from bot.service import clinic_form, duties  # noqa: PLC0415 - the same

    duty = Duty(args.kind.replace("-", "_")) if args.kind else None
    if args.crisis_line and not clinic_form.NUMBER.fullmatch(args.crisis_line):
        raise RefusedError("--crisis-line: not a phone number; expected digits, spaces and a leading +")
    try:
        hours = night_hours(clinic_form.hours(args.hours, overnight=True)) if args.hours else {}
    except ValueError as error:
        raise RefusedError(f"--hours: {error}") from None
    with house.database() as (begin, clock):
        if duty is not None and args.end:
            print(f"ended: {duties.end(begin, clock, args.clinic, duty, args.who)}")
        elif duty is not None:
            wanted = Named(
                duty,
                from_on=args.from_on,
                until_on=args.until_on,
                hours=hours,
                number=args.crisis_line,
                recorded_by=args.recorded_by.strip(),
            )
            duties.name(begin, clock, args.clinic, wanted, args.who, args.whose)
        print("\n".join(duties.listed(begin, args.clinic)))
    return 0

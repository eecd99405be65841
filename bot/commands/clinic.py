"""Show a clinic's facts, or change some of them."""

import argparse

from bot.commands.add_clinic import DAYS


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What is to change; nothing shows what there is."""
    parser.add_argument("--clinic", help="code of the clinic, where there are several")
    parser.add_argument("--name", help="as clients read it")
    parser.add_argument("--hours", help='opening hours, such as "mon-fri 09:00-17:00; sat 09:00-12:00"')
    parser.add_argument("--closed-on", help="all days the clinic is shut, such as 2026-12-25,2026-12-26")
    parser.add_argument("--phone", help="answered in opening hours")
    parser.add_argument("--out-of-hours-line", help="answered at all other times")
    parser.add_argument("--emergency-number", help="of the clients' country, such as 112")
    parser.add_argument("--digest-day", choices=DAYS)
    parser.add_argument("--digest-at", metavar="HH:MM", help="in the clinic's zone")
    parser.add_argument("--labels", choices=("codes", "initials"))
    parser.add_argument("--recorded-by", default="", help="full name of who makes the change")
    parser.add_argument("--changes", action="store_true", help="list every change so far instead")


def run(args: argparse.Namespace) -> int:
    """Change what is named, keep who did it, and show the facts."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.service import clinic_facts  # noqa: PLC0415 - the same

    wanted = {name: getattr(args, name) for name in clinic_facts.FACTS}
    with house.database() as (begin, clock):
        if args.changes:
            print("\n".join(clinic_facts.changes(begin, args.clinic)))
            return 0
        facts = clinic_facts.change_clinic(begin, clock, args.clinic, wanted, args.recorded_by.strip())
    for name, text in facts.items():
        print(f"{name.replace('_', '-')}: {text or '-'}")
    return 0

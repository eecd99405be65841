"""Set up a clinic: hours, numbers, digest day."""

import argparse

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """What a clinic has to say of itself."""
    parser.add_argument("code", help="a short code of your own, such as harbour")
    parser.add_argument("--name", required=True, help="as clients read it")
    parser.add_argument("--zone", required=True, help="time zone, such as Europe/Dublin")
    parser.add_argument("--country", required=True, help="two letters, such as IE")
    parser.add_argument(
        "--hours",
        required=True,
        help='opening hours, such as "mon-fri 09:00-17:00; sat 09:00-12:00"',
    )
    parser.add_argument(
        "--closed-on", default="", help="days the clinic is shut, such as 2026-12-25,2026-12-26"
    )
    parser.add_argument("--phone", required=True, help="answered in opening hours")
    parser.add_argument("--out-of-hours-line", required=True, help="answered at all other times")
    parser.add_argument("--emergency-number", required=True, help="of the clients' country, such as 112")
    parser.add_argument("--digest-day", required=True, choices=DAYS)
    parser.add_argument("--digest-at", required=True, metavar="HH:MM", help="in the clinic's zone")
    parser.add_argument(
        "--labels",
        required=True,
        choices=("codes", "initials"),
        help="what stands for a client in the therapist's messages: her code, or initials and code",
    )


def run(args: argparse.Namespace) -> int:
    """Set it up; every fault is named in one go."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.service import clinic_form, setup  # noqa: PLC0415 - the same

    new = clinic_form.read(vars(args))
    with house.database() as (begin, clock):
        setup.add_clinic(begin, clock, new)
    print(f"clinic {new.code} is set up")
    print("next: programme-bot add-therapist, programme-bot add-fallback")
    return 0

"""Show the weekly digest: who needs her therapist, most urgent first."""

import argparse

from bot.commands import prescriptions, reporting


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Whose, which week, and in what form."""
    parser.add_argument("--therapist", metavar="T", help="code of the therapist (default: all of the clinic)")
    parser.add_argument("--week", help="an ISO week such as 2026-W10 (default: the last seven whole days)")
    reporting.add_clinic(parser)
    prescriptions.add_json(parser)
    reporting.add_files(
        parser,
        png="the picture of the most urgent clients",
        pdf="every client, to print",
        csv="a row for each client",
    )


def run(args: argparse.Namespace) -> int:
    """Work it out and print it; files are written beside that."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.reports import documents, paper, picture  # noqa: PLC0415 - the same
    from bot.reports.digest import digest_text  # noqa: PLC0415 - the same
    from bot.reports.words import words  # noqa: PLC0415 - the same
    from bot.service import reporting as reports  # noqa: PLC0415 - the same

    say = words("en")
    with house.database() as (begin, clock):
        made = reports.digest(begin, clock, args.clinic, args.therapist, args.week, _tell)
    data = made.digest
    if args.png:
        reporting.write(args.png, picture.digest_picture(data))
    if args.pdf:
        heading = paper.Heading(made.name, made.therapist, made.on)
        reporting.write(args.pdf, paper.digest_pdf(data, heading, made.at, say))
    if args.csv:
        reporting.write(args.csv, documents.digest_csv(data, say))
    if args.json:
        prescriptions.print_json(
            {
                "clinic": made.clinic,
                "therapist": made.therapist,
                "at": made.at.isoformat(),
                "first_on": data.first_on.isoformat(),
                "last_on": data.last_on.isoformat(),
                "clients": documents.digest(data, say),
            }
        )
    else:
        print(digest_text(data))
    return 0


def _tell(done: int, whole: int) -> None:
    """Progress for whoever waits for many clients."""
    import sys  # noqa: PLC0415 - see the package

    if done < whole:
        print(f"{done} of {whole} clients", file=sys.stderr, flush=True)

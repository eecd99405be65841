"""Show the exercises there are to prescribe."""

import argparse

from bot.commands import prescriptions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """All of them, or one."""
    parser.add_argument("exercise", nargs="?", help="the id of one, to read it in full")
    prescriptions.add_own(parser)
    prescriptions.add_json(parser)


def run(args: argparse.Namespace) -> int:
    """Show them."""
    from bot.conversation import prescribing_words as words  # noqa: PLC0415 - see the package
    from bot.errors import RefusedError  # noqa: PLC0415 - the same
    from bot.reports import prescription as report  # noqa: PLC0415 - the same
    from bot.rules import rulebook  # noqa: PLC0415 - the same

    catalogue = rulebook.with_own(args.own).catalogue
    shown = list(catalogue.exercises.values())
    if args.exercise is not None:
        shown = [one for one in shown if one.id == args.exercise]
        if not shown:
            near = catalogue.nearest(args.exercise)
            hint = f"did you mean {near}?" if near else "see `programme-bot catalogue`"
            raise RefusedError(f"{args.exercise!r}: not an exercise we know; {hint}")
    if args.json:
        prescriptions.print_json({"exercises": [report.exercise(one) for one in shown]})
    elif args.exercise is not None:
        print("\n".join(words.exercise(shown[0])))
    else:
        print("\n".join(words.exercise_line(one) for one in shown))
    return 0

"""Record that a clinician signed the rules, gates and texts in force, or show where that stands."""

import argparse

from bot.commands import prescriptions


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Who signed, and when."""
    parser.add_argument("--name", help="the clinician's full name")
    parser.add_argument("--registration", help="her registration number")
    prescriptions.add_day(parser, "the day of her signature (default: today)")
    parser.add_argument(
        "--digest", help="the digest on the page she signed; refused when something else is in force"
    )


def run(args: argparse.Namespace) -> int:
    """Record it, or show what is in force, who signed it, and what it is intended for."""
    from bot.commands import house  # noqa: PLC0415 - see the package
    from bot.errors import RefusedError  # noqa: PLC0415 - the same
    from bot.rules import in_force  # noqa: PLC0415 - the same
    from bot.service import approval  # noqa: PLC0415 - the same

    known = house.contents()
    wanted = (args.digest or "").strip().lower()
    if wanted and not (len(wanted) >= in_force.SHOWN and known.digest.startswith(wanted)):
        raise RefusedError(f"--digest: {wanted[:64]} is not what is in force, which is {known.digest}")
    if (args.name is None) != (args.registration is None):
        raise RefusedError("--name, --registration: expected both, or neither to see where it stands")
    with house.database() as (begin, clock):
        if args.name is not None:
            on = args.on or prescriptions.today()
            approval.sign(begin, clock, known, args.name, args.registration, on)
        with begin() as tx:
            missing = approval.SignedOff(known).missing(tx, known.language)
        earlier = approval.signed(begin)
    print(f"in force: {known.language} {known.version}, {known.digest}")
    print("\n".join(f"  {name}: {digest}" for name, digest in sorted(known.parts.items())))
    for one in earlier:
        stands = "in force" if one.digest == known.digest else "superseded"
        short = one.digest[: in_force.SHOWN]
        print(f"signed {one.signed_on} by {one.name} ({one.registration}), {short}: {stands}")
    print("\n".join(missing) if missing else "clients may be enrolled")
    if args.name is None:
        print(f"\n{in_force.intended_use()}", end="")
    return 0

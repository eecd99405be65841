"""The command line: one file a verb. Heavy imports wait inside the verb, so that --help is quick."""

import argparse
import os
import sys
from collections.abc import Sequence

from bot.commands import (
    add_administrator,
    add_client,
    add_clinic,
    add_colleague,
    add_fallback,
    add_therapist,
    adherence,
    agenda,
    backup,
    catalogue,
    check,
    clinic,
    dead_letters,
    diary,
    digest,
    discharge,
    dose,
    duty,
    enrol,
    export,
    gates,
    hand_over,
    invite,
    migrate,
    new_key,
    people,
    prescribe,
    read,
    restore,
    retention,
    rotate_keys,
    schema,
    selfcheck,
    serve,
    sign_off,
    signs,
    summary,
)
from bot.errors import RefusedError

VERBS = (
    *(new_key, migrate, add_clinic, add_therapist, add_fallback, add_client, enrol, invite, serve, prescribe),
    *(check, dose, gates, schema, catalogue, read, agenda, adherence),
    *(signs, sign_off, add_colleague, add_administrator, duty),
    *(clinic, people, hand_over),
    *(dead_letters, selfcheck, rotate_keys, backup, restore, retention),
    *(digest, summary, discharge, diary, export),
)
REFUSED = 2


def make_parser() -> argparse.ArgumentParser:
    """The parser with every verb."""
    parser = argparse.ArgumentParser(
        prog="programme-bot",
        description="Home-programme adherence for pelvic-health physiotherapy, by chat.",
        epilog="Settings come from the environment, or from the folder that SECRETS_DIR names: BOT_TOKEN, "
        "BOT_API_URL, DATABASE_URL, DATA_KEYS or DATA_KEYS_FILE, WEBHOOK_URL, WEBHOOK_SECRET, LISTEN, "
        "SEND_RATE, OWN_SIGNS_FILE, OWN_EXERCISES_FILE, ERASURES_FILE, LATE_DELIVERY_MINUTES, MESSAGE_DAYS, "
        "UNSEEN_ALERT_MINUTES, LOG_LEVEL.",
    )
    verbs = parser.add_subparsers(title="verbs", metavar="VERB", required=True)
    for verb in VERBS:
        name = verb.__name__.rpartition(".")[2].replace("_", "-")
        about = (verb.__doc__ or "").strip().splitlines()[0].rstrip(".")
        sub = verbs.add_parser(name, help=about, description=about + ".")
        verb.add_arguments(sub)
        sub.set_defaults(run=verb.run)
    return parser


def run(arguments: Sequence[str]) -> int:
    """Run a verb; a refusal is one line for each fault on standard error, and 2."""
    args = make_parser().parse_args(arguments)
    try:
        result: int = args.run(args)
    except RefusedError as error:
        for fault in error.faults:
            print(fault, file=sys.stderr)
        return REFUSED
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:  # whoever read it has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    return result

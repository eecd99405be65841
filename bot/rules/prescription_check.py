"""Whether a prescription may be put in force: its gates, on its first day."""

import datetime as dt
from collections.abc import Iterator

from bot.conversation import prescribing_words as words
from bot.domain import gating
from bot.domain.gating import GateState, Record
from bot.errors import RefusedError
from bot.rules import faults
from bot.rules.prescription_models import PrescriptionFile
from bot.rules.prescription_values import record as record_of
from bot.rules.rulebook import Rulebook


def refuse_unless_fit(
    file: PrescriptionFile, rules: Rulebook, name: str, known: Record | None = None
) -> None:
    """Raise RefusedError, a line for each exercise that no gate lets through; `name` stands in front.

    known: what else is known of the client, such as alerts that are open, instead of the file's own record.
    """
    wrong = [faults.line(name, faults.dotted(place), message) for place, message in unfit(file, rules, known)]
    if wrong:
        raise RefusedError(*wrong)


def unfit(
    file: PrescriptionFile, rules: Rulebook, known: Record | None = None
) -> Iterator[tuple[faults.Place, str]]:
    """Each place of a prescription that a gate stands against, and why, on the day it starts."""
    record = known or record_of(file)
    on = file.programme.starts_on
    for release, reasons in gating.faulty_releases(rules.catalogue, record, rules.limits):
        said = words.say("refused.release", on=release.on, reasons="; ".join(map(words.reason, reasons)))
        yield ("releases", record.releases.index(release)), said
    yield from _gated(file, rules, record, on)


def _gated(
    file: PrescriptionFile, rules: Rulebook, record: Record, on: dt.date
) -> Iterator[tuple[faults.Place, str]]:
    for index, entry in enumerate(file.programme.adjuncts):
        exercise = rules.catalogue.exercises.get(entry.exercise)
        if exercise:
            decision = gating.decide(exercise, record, on, rules.limits)
            if decision.state is not GateState.ALLOWED:
                place = ("programme", "adjuncts", index, "exercise")
                yield place, words.refusal(decision, on)

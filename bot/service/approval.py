"""Whether a client may be enrolled: only where a clinician signed the very rules and texts in force."""

import datetime as dt
from dataclasses import dataclass
from typing import Protocol

from bot.clock import Clock
from bot.errors import RefusedError
from bot.rules.in_force import SHOWN, Contents
from bot.store import sign_offs
from bot.store.base import Begin, Tx
from bot.store.sign_offs import SignOff

HOW = "sign with `programme-bot sign-off`"


class Approval(Protocol):
    """Asked before an invite is made, opened, or consent taken."""

    def missing(self, tx: Tx, language: str) -> tuple[str, ...]:
        """What stands in the way of enrolling in this language, a line each; empty when nothing does."""


@dataclass(frozen=True, slots=True)
class SignedOff:
    """Approval by recorded sign-offs of what is in force."""

    contents: Contents

    def missing(self, tx: Tx, language: str) -> tuple[str, ...]:
        """What is not signed, or that there are no rules in this language at all."""
        known = self.contents
        if language != known.language:
            return (f"language {language}: there are no signed-off rules; expected {known.language}",)
        if sign_offs.covers(tx, language, known.digest):
            return ()
        earlier = [signed for signed in sign_offs.every(tx) if signed.language == language]
        what = f"rules, gates and texts in force ({language} {known.version}, {known.digest[:SHOWN]})"
        if not earlier:
            return (f"{what} carry no sign-off; {HOW}",)
        changed = ", ".join(known.changed(earlier[-1].parts))
        return (f"{what} have changed since the sign-off of {earlier[-1].signed_on} ({changed}); {HOW}",)


def sign(begin: Begin, clock: Clock, known: Contents, name: str, registration: str, on: dt.date) -> None:
    """Record that a clinician signed these contents. Raises RefusedError for an unfit name, number or day."""
    faults = []
    if len(name.split()) < 2:  # noqa: PLR2004 - a first and a last name
        faults.append("--name: expected the clinician's full name")
    if not any(letter.isdigit() for letter in registration):
        faults.append("--registration: expected her registration number")
    now = clock.now()
    if on > now.date() + dt.timedelta(days=1):  # her day may be ahead of UTC
        faults.append(f"--on: {on} is a day to come; expected the day of her signature")
    if faults:
        raise RefusedError(*faults)
    with begin() as tx:
        sign_offs.add(
            tx,
            SignOff(known.language, known.digest, known.parts, name.strip(), registration.strip(), on),
            now,
        )


def signed(begin: Begin) -> list[SignOff]:
    """All recorded sign-offs, oldest first."""
    with begin() as tx:
        return sign_offs.every(tx)

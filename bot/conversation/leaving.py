"""Leaving for good: asked once, done at her word, and then nothing unasked comes any more."""

from bot.conversation import enrol
from bot.conversation.effects import GiveConsent, SetStage, TellTherapist, Turn, Wait
from bot.conversation.speech import Button, Say
from bot.conversation.view import ClientView, contact_values
from bot.domain.people import Stage


def ask() -> Turn:
    """Whether she means to leave for good; writing less is offered beside it."""
    buttons = (Button("stop.button.yes", "stop:yes"), Button("stop.button.no", "stop:no"))
    less = (Button("stop.button.fewer", "fewer:ask"),)
    return Turn((Wait({"for": "stop"}),), (Say("stop.ask", rows=(buttons, less)),))


def stop(view: ClientView) -> Turn:
    """She leaves: her consent ends and her therapist is told."""
    told = TellTherapist(Say("staff.client_left"), "left")
    effects = (GiveConsent(enrol.CONSENT_TEXT, given=False), SetStage(Stage.WITHDRAWN), Wait(None), told)
    return Turn(effects, (Say("stop.done", contact_values(view)),))

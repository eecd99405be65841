"""What is kept of her: she may see all of it as a file, and have it erased, asked twice."""

from bot.conversation import choosing, copy, counting, enrol
from bot.conversation.effects import (
    EraseAll,
    FileNote,
    GiveConsent,
    SendAllKept,
    SetStage,
    TellTherapist,
    Turn,
    Wait,
    say,
)
from bot.conversation.incoming import Body, Command, Press
from bot.conversation.speech import Button, Say
from bot.conversation.view import ClientView, contact_values
from bot.domain.people import Stage


def is_asked(body: Body) -> bool:
    """Whether this is about what is kept of her; that is hers to ask also when she has left."""
    match body:
        case Command(name="privacy", argument=""):
            return True
        case Press(data=data):
            return data.startswith("mine:")
        case _:
            return False


def step(view: ClientView, body: Body) -> Turn:
    """What is kept, the file of it, or its end."""
    if not isinstance(body, Press):
        return show(view)
    match body.data:
        case "mine:show":
            return Turn((SendAllKept(),))
        case "mine:erase":
            return Turn(says=(_ask(),))
        case "mine:sure":
            return counting.without_buttons(_erase(view), body)
        case "mine:no":
            return counting.without_buttons(say("erase.kept"), body)
        case "mine:wrong":
            return _what_is_wrong(view)
        case "mine:times":
            return choosing.show(view)
        case "mine:phone":
            return say("correct.phone", **contact_values(view))
        case "mine:fact" if view.client.stage is Stage.ACTIVE:
            return Turn((Wait({"for": "correction"}),)) + say("correct.ask")
        case _:
            return say("press.unknown")


def show(view: ClientView) -> Turn:
    """What is kept, by whom it is seen, for how long."""
    years = view.record_years
    key = "privacy.years" if years else "privacy.no_years"
    kept = copy.text(view.client.language, key, {"years": years or 0})
    rows = (
        (Button("privacy.button.show", "mine:show"),),
        (Button("privacy.button.wrong", "mine:wrong"),),
        (Button("privacy.button.erase", "mine:erase"),),
    )
    return Turn(
        says=(Say("privacy", {**contact_values(view), "kept": kept, "days": view.message_days}, rows),)
    )


def _what_is_wrong(view: ClientView) -> Turn:
    """What she may change herself, and the way to have the rest put right."""
    if view.client.stage is not Stage.ACTIVE:
        return say("correct.ring", **contact_values(view))
    rows = (
        (Button("correct.button.times", "mine:times"), Button("correct.button.zone", "zone:change")),
        (Button("correct.button.phone", "mine:phone"), Button("correct.button.fact", "mine:fact")),
    )
    return Turn(says=(Say("correct.which", rows=rows),))


def correction(view: ClientView, text: str) -> Turn:
    """What she says is wrong goes to her therapist as a wish; nothing of the record changes by it."""
    note = FileNote(copy.text(view.client.language, "correct.note", {"text": text}))
    told = TellTherapist(Say("staff.correction"), "correct", in_hours=True)
    return Turn((note, told, Wait(None)), (Say("correct.passed_on", contact_values(view)),))


def _ask() -> Say:
    yes, no = Button("erase.button.yes", "mine:sure"), Button("erase.button.no", "mine:no")
    return Say("erase.ask", rows=((yes, no),))


def _erase(view: ClientView) -> Turn:
    """She leaves with everything; while a warning of hers is open, its end is waited for."""
    told = TellTherapist(Say("staff.client_erases"), "erases")
    left = () if view.client.stage is Stage.WITHDRAWN else (SetStage(Stage.WITHDRAWN),)
    effects = (GiveConsent(enrol.CONSENT_TEXT, given=False), *left, EraseAll(), Wait(None), told)
    key = "erase.waits" if view.open_alerts else "erase.done"
    return Turn(effects, (Say(key, contact_values(view)),))

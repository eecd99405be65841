"""Who may do what in chat: every command and every button there is, by role.

This is the one list. What does not stand here for somebody's role is answered as unknown before any handler
sees it, so that a new command or button does nothing until it is entered here. Whose client, alert or draft a
button names is a second question: each handler asks it of the database, for the sender, on every press.
"""

from collections.abc import Mapping
from dataclasses import replace

from bot.conversation.incoming import Body, Command, Press
from bot.domain.people import Role

EVERYBODY = frozenset(Role)
CLIENT = frozenset({Role.CLIENT})
THERAPIST = frozenset({Role.THERAPIST})
ANSWERING = frozenset({Role.THERAPIST, Role.FALLBACK, Role.COLLEAGUE})  # who may be told of an alert
ADMINISTRATOR = frozenset({Role.ADMINISTRATOR})

COMMANDS: Mapping[str, frozenset[Role]] = {
    **dict.fromkeys(("start", "help", "privacy"), EVERYBODY),
    **dict.fromkeys(
        (
            *("today", "week", "plan", "exercises", "notyet", "times", "language", "symptoms"),
            *("call", "pause", "stop"),
        ),
        CLIENT,
    ),
    "resume": CLIENT | THERAPIST,
    **dict.fromkeys(
        (
            *("digest", "client", "notes", "reviewed", "new", "change", "room"),
            *("write", "handover", "hours", "maintain", "finish", "discharge"),
        ),
        THERAPIST,
    ),
    "alerts": ANSWERING,
    "clients": THERAPIST | ADMINISTRATOR,
    **dict.fromkeys(("people", "cover", "clinic", "invite"), ADMINISTRATOR),
}
# By what a button's data begin with; the longer beginning, of two parts, counts where it stands here.
PRESSES: Mapping[str, frozenset[Role]] = {
    **dict.fromkeys(
        (
            *("consent", "zone", "numb", "reached", "sure", "pause", "undo", "time", "amount", "trial"),
            *("undoextra", "maint", "fill", "fewer", "call", "stop", "tech"),
            *("done", "total", "more", "later", "wait", "nomore", "week", "extra", "ask"),
            *("plan:show", "plan:unsure", "plan:call"),
            *("mine:show", "mine:erase", "mine:sure", "mine:no"),
            *("mine:wrong", "mine:times", "mine:phone", "mine:fact"),
        ),
        CLIENT,
    ),
    **dict.fromkeys(("seen", "words", "out", "show", "reopen", "resume"), ANSWERING),
    "keep": CLIENT | ANSWERING,  # of a count; of a pause
    **dict.fromkeys(
        (
            *("called", "dr", "code", "room:nudge", "room:again", "end:yes", "end:no"),
            *("cl:all", "cl:list", "cl:card", "cl:main", "cl:diary", "cl:words", "cl:alerts", "cl:called"),
            *("cl:pause", "cl:resume", "cl:step", "cl:put", "cl:sign", "cl:change", "cl:leave"),
            *("cl:visit", "cl:came", "cl:rev", "cl:next"),
            *("cn:new", "cn:ask", "cn:send", "cn:leave", "ho:yes", "ho:no"),
        ),
        THERAPIST,
    ),
}


def beginning(data: str) -> str:
    """What a button's data begin with, as the list has it."""
    parts = data.split(":")
    two = ":".join(parts[:2])
    return two if two in PRESSES else parts[0]


def commands_of(role: Role) -> frozenset[str]:
    """The commands of a role."""
    return frozenset(name for name, roles in COMMANDS.items() if role in roles)


def within(role: Role, body: Body) -> Body:
    """The same, or with what is not in the reach of the role taken out of it.

    A client's command that is none of hers stays whole: it holds words of hers, which are read for warning
    signs and kept. Her side does nothing else with it.
    """
    match body:
        case Press(data=data) if role not in PRESSES.get(beginning(data), frozenset()):
            return replace(body, data="")
        case Command(name=name) if role is not Role.CLIENT and role not in COMMANDS.get(name, frozenset()):
            return replace(body, name="")
        case _:
            return body

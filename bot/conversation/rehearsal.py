"""How one message alone would be taken, for who tries the reader out: no client, no chat, no clinic."""

import datetime as dt
import uuid

from bot.conversation import client, safety
from bot.conversation.effects import FileNote
from bot.conversation.incoming import Text
from bot.conversation.view import ClientView
from bot.domain.contacts import ClinicCard
from bot.domain.day_book import Meaning, SetReport, fold
from bot.domain.people import Client, Stage
from bot.domain.prescription import InForce, Prescription
from bot.domain.warning_signs import SignRules

NOON = dt.time(12, tzinfo=dt.UTC)
NOBODY = uuid.UUID(int=0)


def view(sets: int, done: int, today: dt.date, language: str, rules: SignRules) -> ClientView:
    """A client who has `sets` prescribed every day and reported `done` today; nothing is being asked."""
    now = dt.datetime.combine(today, NOON)
    reports = (SetReport(today, Meaning.TOTAL, done, now - dt.timedelta(hours=1), "earlier"),) if done else ()
    week_ago = today - dt.timedelta(weeks=1)
    plan = Prescription(
        contractions=(),
        sets_a_day=sets,
        days=frozenset(range(7)),
        nudge_times=(),
        quiet_from=dt.time(22),
        quiet_to=dt.time(7),
        round_up_at=dt.time(20),
        check_in_day=6,
        check_in_questions=(),
        starts_on=week_ago,
        review_on=today + dt.timedelta(weeks=12),
    )
    return ClientView(
        client=Client(NOBODY, NOBODY, NOBODY, "-", None, "UTC", language, Stage.ACTIVE, baby_at_home=True),
        card=ClinicCard("-", "UTC", "-", "-", "-", {}, frozenset()),
        now=now,
        said_at=now,
        versions=(InForce(1, plan),),
        book=fold(reports),
        waiting=None,
        pause=None,
        open_alerts=(),
        baseline={},
        laters=0,
        digest_day=0,
        rules=rules,
        reports=reports,
    )


def becomes_a_note(asked: ClientView, text: str) -> bool:
    """Whether the text, or a part of it, would lie unread until a person looks at it."""
    if len(text) > safety.ALERT_WORDS:
        return True
    return any(isinstance(effect, FileNote) for effect in client.step(asked, Text(text)).effects)

"""Every command and every button, by every role, on her own, a colleague's and another clinic's clients.

The rows come from the one list of who may do what (`bot/conversation/reach.py`), so that a new command or
button without an expectation here fails. Each cell is an update of the platform's shape, handled by the real
service code on a database, and then undone. OWASP Authorization Cheat Sheet (from memory): deny by default,
check on every request, on the server, for the object and not only for the kind of act.
"""

import ast
import datetime as dt
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import pytest

from bot.conversation import reach
from bot.conversation.incoming import Press
from bot.domain.drafts import Draft, DraftKind
from bot.domain.endings import Ending, EndingKind
from bot.domain.people import Role, Stage
from bot.service import client_side, files, staff_side
from bot.store import chats, drafts, endings, people, sent_files
from bot.store.base import Tx
from bot.store.sent_files import SentFile
from tests.fixtures.clock import MovableClock
from tests.fixtures.two_clinics import PLAN, Her, Outcome, TwoClinics, pressed, typed
from tests.rules.checkout import ROOT
from tests.store import prepared

ROLES = ("client", "therapist", "administrator", "fallback", "lead", "on call", "stranger")
ROLE_OF = {
    **{role: Role(role) for role in ("client", "therapist", "administrator", "fallback", "stranger")},
    "lead": Role.COLLEAGUE,
    "on call": Role.COLLEAGUE,
}
# What says no. Whatever is in reach is answered by something else.
REFUSALS = {
    *("command.unknown", "press.unknown", "press.old", "staff.old_button", "stranger"),
    *("staff.no_client", "caseload.nobody", "admin.invite.nobody", "advice.unsure_old", "undo.nothing"),
    *("ending.not_active", "alert.not_yours", "staff.text", "handover.not_yours"),
    *("handover.refused.nobody",),
}
DAY = "20260302"

Scopes = frozenset[str]
Update = dict[str, Any]
NONE: Scopes = frozenset()
SELF = frozenset({"self"})
OWN = frozenset({"own"})
IN_CLINIC = frozenset({"own", "colleague's"})
Prepare = Callable[[TwoClinics, Tx, Her, str], None]


@dataclass(frozen=True)
class Row:
    """A command or a button: what follows it for whose things, what has to stand before, who may.

    may: for each role whose things are in reach; one left out may nothing. "self": it names nobody.
    """

    may: dict[str, Scopes]
    after: Callable[[Her], str] = lambda _: ""
    before: Prepare | None = None

    @property
    def scopes(self) -> tuple[str, ...]:
        if all(scopes <= SELF for scopes in self.may.values()):
            return ("self",)
        return ("own", "colleague's", "elsewhere")


def _code(rest: str = "") -> Callable[[Her], str]:
    return lambda her: f"{her.client.code} {rest}".strip()


def _id(front: str = "") -> Callable[[Her], str]:
    return lambda her: f"{front}{her.client.id.hex}"


def _alert(front: str = "", *, closed: bool = False) -> Callable[[Her], str]:
    return lambda her: f"{front}{(her.closed if closed else her.open).hex}"


def _fixed(text: str) -> Callable[[Her], str]:
    return lambda _: text


def _her_stage(stage: Stage) -> Prepare:
    def prepare(house: TwoClinics, tx: Tx, _her: Her, _role: str) -> None:
        people.set_stage(tx, house.here.clients["own"].client.id, stage)

    return prepare


def _offered(house: TwoClinics, tx: Tx, _her: Her, _role: str) -> None:
    her = house.here.clients["own"].client
    now = house.clock.now()
    endings.add(tx, her.id, Ending(EndingKind.OFFERED, now, until=now.date(), owner=her.therapist_id))


def _waits_to_discharge(house: TwoClinics, tx: Tx, her: Her, role: str) -> None:
    """Even where the chat waits for exactly this answer: she may have been handed over since."""
    if role == "stranger":
        return
    me = house.here.clients["own"].person if role == "client" else house.here.staff[role]
    waiting = {"for": "discharge", "client": her.client.id.hex, "reason": "goals reached"}
    chats.wait(tx, me.owner.id, waiting, house.clock.now())


def _waits_to_hand_over(house: TwoClinics, tx: Tx, her: Her, role: str) -> None:
    if role not in house.here.staff:
        return
    taker = house.here.staff["second"].owner.id.hex
    waiting = {"for": "hand-over", "mark": "abcd1234", "to": taker, "clients": her.client.id.hex, "until": ""}
    chats.wait(tx, house.here.staff[role].owner.id, waiting, house.clock.now())


def _waits_for_a_note(house: TwoClinics, tx: Tx, her: Her, role: str) -> None:
    if role in house.here.staff:
        waiting = {"for": "note", "client": her.client.id.hex}
        chats.wait(tx, house.here.staff[role].owner.id, waiting, house.clock.now())


def _shut(her: Her) -> str:
    return her.draft.hex


STAFF_ROLES = ("therapist", "administrator", "fallback", "lead", "on call")
EVERYBODY = dict.fromkeys(("client", *STAFF_ROLES), SELF)
HERS = {"client": SELF}
THERAPISTS = {"therapist": OWN}
TOLD = {"therapist": OWN, "fallback": IN_CLINIC, "lead": OWN, "on call": OWN}

COMMANDS: dict[str, Row] = {
    **dict.fromkeys(("start", "help", "privacy"), Row(EVERYBODY)),
    **dict.fromkeys(
        (
            *("today", "week", "plan", "exercises", "notyet", "times", "language", "symptoms"),
            *("call", "pause", "stop"),
        ),
        Row(HERS),
    ),
    "resume": Row({"client": frozenset({"own", "colleague's", "elsewhere"}), "therapist": OWN}, _code()),
    **dict.fromkeys(("client", "notes", "reviewed", "change", "room"), Row(THERAPISTS, _code())),
    "digest": Row({"therapist": SELF}),
    "hours": Row({"therapist": SELF}, _fixed("mon 09:00-12:00")),
    "new": Row({"therapist": SELF}, _fixed("K50")),
    "write": Row(THERAPISTS, _code("Well done")),
    "handover": Row(THERAPISTS, lambda her: f"T2 {her.client.code}"),
    "maintain": Row(THERAPISTS, _code("30 April")),
    **dict.fromkeys(("finish", "discharge"), Row(THERAPISTS, _code("goals reached"))),
    "alerts": Row(dict.fromkeys(("therapist", "fallback", "lead", "on call"), SELF)),
    "clients": Row(dict.fromkeys(("therapist", "administrator"), SELF)),
    **dict.fromkeys(("people", "cover", "clinic"), Row({"administrator": SELF})),
    "invite": Row({"administrator": IN_CLINIC}, _code()),
}
PRESSES: dict[str, Row] = {
    "consent": Row(HERS, _fixed("yes"), _her_stage(Stage.CONSENTING)),
    "zone": Row(HERS, _fixed("yes"), _her_stage(Stage.SETTING_TIME)),
    "numb": Row(HERS, _fixed("no")),
    "reached": Row({"client": OWN}, _alert("no:")),
    "sure": Row(HERS, _fixed("no")),
    "pause": Row(HERS, _fixed("1")),
    "undo": Row({"client": OWN}, lambda her: her.report),
    "time": Row(HERS, _fixed("0")),
    "amount": Row(HERS, _fixed("2")),
    "trial": Row(HERS, _fixed("done")),
    "undoextra": Row({"client": OWN}, lambda her: her.extra),
    "maint": Row(HERS, _fixed("yes"), _offered),
    **dict.fromkeys(("fill", "fewer"), Row(HERS, _fixed("ask"))),
    "call": Row(HERS),
    "stop": Row(HERS, _fixed("no")),
    "tech": Row(HERS, _fixed("all:1")),
    **{
        verb: Row(HERS, _fixed(f"{DAY}:{rest}".rstrip(":")))
        for verb, rest in (
            *(("done", "1"), ("total", "2"), ("more", "1"), ("later", "1"), ("wait", "60"), ("nomore", "")),
            *(("week", "3"), ("ask", "leaks:0"), ("extra", "A")),
        )
    },
    **dict.fromkeys(("plan:show", "plan:unsure", "plan:call"), Row(HERS, _fixed("1"))),
    **dict.fromkeys(("mine:show", "mine:erase", "mine:sure", "mine:no"), Row(HERS)),
    **dict.fromkeys(("mine:wrong", "mine:times", "mine:phone", "mine:fact"), Row(HERS)),
    "seen": Row(TOLD, _alert()),
    "words": Row(TOLD, _alert()),
    "out": Row(TOLD, _alert("spoke:")),
    "show": Row(TOLD, _alert()),
    "reopen": Row(TOLD, _alert(closed=True)),
    "resume": Row({"therapist": OWN, "fallback": IN_CLINIC}, _alert(closed=True)),
    "keep": Row(TOLD, _alert(closed=True)),
    "called": Row(THERAPISTS, _id()),
    "dr": Row(THERAPISTS, lambda her: f"{_shut(her)}:back:"),
    "code": Row({"therapist": SELF}, _fixed("K51")),
    **dict.fromkeys(("room:nudge", "room:again"), Row(THERAPISTS, _id())),
    **dict.fromkeys(("end:yes", "end:no"), Row(THERAPISTS, _id(), _waits_to_discharge)),
    **dict.fromkeys(("cn:new", "cn:ask"), Row(THERAPISTS, _id())),
    "cn:leave": Row(THERAPISTS, _id(), _waits_for_a_note),
    "cn:send": Row(THERAPISTS, _id("abcd1234:")),
    "ho:yes": Row(THERAPISTS, _fixed("abcd1234"), _waits_to_hand_over),
    "ho:no": Row({"therapist": IN_CLINIC | {"elsewhere"}}, _fixed("abcd1234"), _waits_to_hand_over),
    "cl:all": Row({"therapist": SELF}),
    "cl:list": Row({"therapist": SELF}, _fixed("all.0")),
    **{
        f"cl:{verb}": Row(THERAPISTS, _id(f"{argument}:" if argument else ""))
        for verb, argument in (
            *(("card", ""), ("main", ""), ("diary", "0"), ("words", ""), ("alerts", ""), ("called", "")),
            *(("pause", ""), ("resume", ""), ("step", ""), ("put", "1.x"), ("sign", "1.x"), ("change", "")),
            *(("leave", ""), ("visit", ""), ("came", "attended"), ("rev", "hold"), ("next", "hold.4")),
        )
    },
}
# Which words of a client's a role may read: her label, what she wrote, her notes.
READS: dict[str, dict[str, tuple[str, ...]]] = {
    "client": {"own": ("x", "goal", "note", "alert")},
    "therapist": {"own": ("x", "goal", "note", "alert")},
    "fallback": {"own": ("x", "alert"), "colleague's": ("x", "alert")},
    "lead": {"own": ("x", "alert")},
    "on call": {"own": ("x", "alert")},
}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TwoClinics]:
    clock = MovableClock(dt.datetime(2026, 3, 2, 10, tzinfo=dt.UTC))
    path = tmp_path_factory.mktemp("matrix") / "two.sqlite"
    url = f"sqlite:///{path}"
    prepared.at_head(url)
    store = prepared.open_store(url, clock.now())
    yield TwoClinics(store, clock)
    store.close()


@dataclass
class Cell:
    """One cell, and what was wrong in it."""

    house: TwoClinics
    role: str
    scope: str
    wrong: list[str] = field(default_factory=list)

    def judge(self, row: Row, outcome: Outcome, name: str) -> None:
        """Fill `wrong`."""
        where = f"{name}, {self.role}, {self.scope}"
        allowed = self.scope in row.may.get(self.role, NONE)
        mine = outcome.sender
        said = {letter.sentence for letter in outcome.letters if letter.chat == mine}
        refused = bool(said & REFUSALS)
        beyond = set(outcome.changed)
        if not outcome.handled:
            self.wrong.append(f"{where}: not handled")
        if allowed and (refused or not (said | beyond)):
            self.wrong.append(f"{where}: may, but was told {sorted(said)}")
        if not allowed and not refused:
            self.wrong.append(f"{where}: may not, but was told {sorted(said)}")
        if not allowed and self.role != "client" and beyond:
            self.wrong.append(f"{where}: may not, but wrote to {sorted(beyond)}")
        self.wrong += [f"{where}: {fault}" for fault in self._leaks(outcome, mine)]
        offered = {data for letter in outcome.letters if letter.chat == mine for data in letter.buttons}
        presses = [Press("", data, None) for data in sorted(offered)]
        beyond_her = [one.data for one in presses if reach.within(ROLE_OF[self.role], one) != one]
        self.wrong += [f"{where}: offers {beyond_her}"] if beyond_her else []

    def _leaks(self, outcome: Outcome, mine: uuid.UUID | None) -> Iterator[str]:
        house = self.house
        reads = READS.get(self.role, {})
        every = {**house.targets, "same code": house.there.clients["same code"]}
        there = {person.chat for person in house.there.staff.values()}
        there |= {her.person.chat for her in house.there.clients.values()}
        for letter in outcome.letters:
            if letter.chat in there:
                yield f"{letter.sentence} went to the other clinic"
            if "Birch Yard" in letter.text or "020 910 0141" in letter.text:
                yield f"{letter.sentence} holds the other clinic's facts"
            if letter.chat != mine:
                continue
            for whose, her in every.items():
                free = reads.get(whose, ())
                hidden = [word for word in her.words if word[2:] not in free and word in letter.text]
                if hidden:
                    yield f"{letter.sentence} holds {hidden} of {whose}"
        for whose, her in every.items():
            touched = outcome.touched(her.ids)
            if touched and whose not in self._may_touch():
                yield f"changed {touched} of {whose}"

    def _may_touch(self) -> set[str]:
        return {"fallback": {"own", "colleague's"}, "administrator": {"own", "colleague's"}}.get(
            self.role, set() if self.role == "stranger" else {"own"}
        )


def run(house: TwoClinics, row: Row, name: str, make: Callable[[int, Her], Update]) -> list[str]:
    """Every cell of a row; what was wrong."""
    wrong: list[str] = []
    for role in ROLES:
        for scope in row.scopes:
            her = house.targets["own" if scope == "self" else scope]
            cell = Cell(house, role, scope)
            prepare = None
            if row.before is not None:
                prepare = partial(_prepared, row.before, house, her, role)
            cell.judge(row, house.send(make(house.sender(role), her), prepare), name)
            wrong += cell.wrong
    return wrong


def test_menus_hold_what_is_in_reach() -> None:
    assert set(client_side.COMMANDS) <= reach.commands_of(Role.CLIENT)
    for role in (Role.THERAPIST, Role.FALLBACK, Role.COLLEAGUE, Role.ADMINISTRATOR):
        assert set(staff_side.menu_of(role)) <= reach.commands_of(role), role


def _prepared(before: Prepare, house: TwoClinics, her: Her, role: str, tx: Tx) -> None:
    before(house, tx, her, role)


def test_every_command_and_button_has_an_expectation() -> None:
    """Both ways: none is left out, and none is expected that is not there."""
    assert set(COMMANDS) == set(reach.COMMANDS)
    assert set(PRESSES) == set(reach.PRESSES)


@pytest.mark.parametrize("name", sorted(reach.COMMANDS))
def test_matrix_of_commands(house: TwoClinics, name: str) -> None:
    row = COMMANDS[name]

    def make(user: int, her: Her) -> Update:
        return typed(user, f"/{name} {row.after(her)}".strip())

    assert run(house, row, f"/{name}", make) == []


@pytest.mark.parametrize("name", sorted(reach.PRESSES))
def test_matrix_of_buttons(house: TwoClinics, name: str) -> None:
    row = PRESSES[name]

    def make(user: int, her: Her) -> Update:
        return pressed(user, f"{name}:{row.after(her)}".rstrip(":"))

    assert run(house, row, name, make) == []


def test_a_wrong_answer_is_found(house: TwoClinics) -> None:
    """The judge is told the wrong thing, and says so: her own card may not, another clinic's may be seen."""

    def make(user: int, her: Her) -> Update:
        return pressed(user, f"cl:card:{her.client.id.hex}")

    wrong = run(house, Row({"therapist": frozenset({"elsewhere"})}, _id()), "cl:card", make)
    assert [line.partition(", but")[0] for line in wrong] == [
        "cl:card, therapist, own: may not",
        "cl:card, therapist, elsewhere: may",
    ]


# ---- Not from a private chat, not by the sender ------------------------------------------------------------

GROUP = {"id": -100_200_300, "type": "supergroup", "title": "Somebody's group"}


def _every(user: int, her: Her, chat: Update | None) -> Iterator[tuple[str, Update]]:
    for name, row in COMMANDS.items():
        yield f"/{name}", typed(user, f"/{name} {row.after(her)}".strip(), chat=chat)
    for name, row in PRESSES.items():
        yield name, pressed(user, f"{name}:{row.after(her)}".rstrip(":"), chat=chat)


@pytest.mark.parametrize("role", ["client", "therapist"])
def test_matrix_in_a_group_nothing_is_done(house: TwoClinics, role: str) -> None:
    """Only that the bot talks in private is said, to who wrote there, in her own chat."""
    wrong = []
    for name, update in _every(house.sender(role), house.here.clients["own"], GROUP):
        outcome = house.send(update)
        said = {letter.sentence for letter in outcome.letters if letter.chat == outcome.sender}
        elsewhere = [letter.sentence for letter in outcome.letters if letter.chat != outcome.sender]
        if not outcome.handled or said - {"answer"} != {"group"} or elsewhere or outcome.changed:
            wrong.append(f"{name}: {said} {elsewhere} {sorted(outcome.changed)}")
    assert wrong == []


def test_matrix_goes_by_the_sender_and_not_by_the_message(house: TwoClinics) -> None:
    """A colleague's update that names the therapist's chat is the colleague's."""
    her = house.here.clients["own"]
    forged = {"id": house.sender("therapist"), "type": "private"}
    wrong = []
    for name, update in _every(house.here.staff["second"].user, her, forged):
        outcome = house.send(update)
        to = {letter.chat for letter in outcome.letters}
        if house.here.staff["therapist"].chat in to:
            wrong.append(f"{name}: answered in the therapist's chat")
        if any(word in letter.text for letter in outcome.letters for word in her.words):
            wrong.append(f"{name}: said what is hers")
        touched = outcome.touched(her.ids)
        wrong += [f"{name}: changed {touched}"] if touched else []
    assert wrong == []


def test_matrix_of_inline_use(house: TwoClinics) -> None:
    """The bot is of no use inline: a query does nothing, and no button under such a message is ours."""
    user, her = house.sender("therapist"), house.here.clients["own"]
    who = {"id": user, "is_bot": False, "first_name": "Somebody"}
    queries = [
        {"inline_query": {"id": "1", "from": who, "query": her.client.code, "offset": ""}},
        {"chosen_inline_result": {"result_id": "1", "from": who, "query": her.client.code}},
    ]
    for update in queries:
        outcome = house.send(update)
        assert outcome.handled
        assert outcome.letters == []
        assert not outcome.changed
    for name, row in PRESSES.items():
        query = {
            "id": "q",
            "from": who,
            "inline_message_id": "abc",
            "data": f"{name}:{row.after(her)}".rstrip(":"),
        }
        outcome = house.send({"callback_query": query})
        assert {letter.sentence for letter in outcome.letters} <= {"answer", *REFUSALS}, name
        assert not outcome.changed, name


# ---- What is typed while the chat waits for a line ---------------------------------------------------------

LINES: dict[str, Callable[[Her], dict[str, str]] | None] = {
    "outcome": lambda her: {"outcome": "passed_on", "alert": her.open.hex},
    "review": lambda her: {"alert": her.closed.hex},
    "card-finding": lambda her: {"client": her.client.id.hex},
    "card-review": lambda her: {"outcome": "refer", "client": her.client.id.hex},
    "note": lambda her: {"client": her.client.id.hex},
    "note-ready": lambda her: {"client": her.client.id.hex, "text": "Well done", "mark": "abcd1234"},
    "draft": lambda her: {"draft": her.draft.hex},
    # These name nobody: what the sender's own chat waits for, and a button or a new code that follows.
    **dict.fromkeys(("draft_code", "discharge", "hand-over"), None),
    **dict.fromkeys(
        ("time", "zone", "pause", "count", "sure", "numb", "stop", "zero", "one_or_all", "correction"), None
    ),
}


def _waited_for() -> set[str]:
    """Every kind of line the program's code waits for."""
    found = set()
    for room in ("conversation", "service"):
        for path in (ROOT / "bot" / room).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if not isinstance(node, ast.Dict):
                    continue
                for key, value in zip(node.keys, node.values, strict=True):
                    if (
                        isinstance(key, ast.Constant)
                        and key.value == "for"
                        and isinstance(value, ast.Constant)
                    ):
                        found.add(str(value.value))
    return found


def test_every_line_waited_for_has_an_expectation() -> None:
    assert set(LINES) == _waited_for()


@pytest.mark.parametrize("kind", sorted(kind for kind, made in LINES.items() if made is not None))
def test_matrix_of_lines(house: TwoClinics, kind: str) -> None:
    """A line about somebody who is not hers (any more) does nothing, even where the chat waits for it."""
    made = LINES[kind]
    assert made is not None
    wrong: list[str] = []
    row = Row({"therapist": OWN})
    for scope in ("own", "colleague's", "elsewhere"):
        her = house.targets[scope]

        def prepare(tx: Tx, her: Her = her) -> None:
            me = house.here.staff["therapist"].owner.id
            chats.wait(tx, me, {"for": kind, **made(her)}, house.clock.now())

        outcome = house.send(typed(house.sender("therapist"), "seen by Dr Vell on Monday"), prepare)
        cell = Cell(house, "therapist", scope)
        cell.judge(row, outcome, f"line for {kind}")
        wrong += cell.wrong
    assert wrong == []


# ---- Files -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ROLES)
def test_matrix_of_files(house: TwoClinics, role: str) -> None:
    """A document is fetched for a therapist only."""
    update = typed(house.sender(role), "")
    message = update["message"]
    message["document"] = {"file_id": "f1", "file_name": "plan.toml", "file_size": 100}
    del message["text"]
    outcome = house.send(update)
    assert outcome.handled
    assert ("sent_file" in outcome.changed) == (role == "therapist")


@pytest.mark.parametrize("scope", ["own", "colleague's", "elsewhere"])
def test_matrix_of_files_about_a_client(house: TwoClinics, scope: str) -> None:
    """A file that names a colleague's client shows nothing of her; a code of another clinic is free here."""
    her, therapist = house.targets[scope], house.here.staff["therapist"]
    text = PLAN.read_text(encoding="utf-8").replace('client = "K1"', f'client = "{her.client.code}"')
    sent = SentFile(uuid.uuid4(), therapist.owner.id, "f1", "plan.toml", 0)

    def put(tx: Tx) -> None:
        sent_files.add(tx, sent, house.clock.now())

    outcome = house.do(
        lambda office: files.settle(office, sent, files.Fetched(text.encode())), put, therapist.user
    )
    said = {letter.sentence for letter in outcome.letters if letter.chat == outcome.sender}
    assert said == ({"staff.no_client"} if scope == "colleague's" else {"file.hub"})
    if scope != "own":
        assert "goal" not in "".join(letter.text for letter in outcome.letters)
        assert "against" not in "".join(letter.text for letter in outcome.letters).casefold()


def test_matrix_of_a_change_begun_before_she_was_handed_over(house: TwoClinics) -> None:
    """The draft is there, and is the therapist's; its client is not any more."""
    her, therapist = house.here.clients["colleague's"], house.here.staff["therapist"]
    for kind in (DraftKind.CHANGE, DraftKind.FILE):
        draft = Draft(
            uuid.uuid4(), therapist.owner.id, her.client.code, kind, "", {"base": "1"}, {"client": "K2"}
        )

        def put(tx: Tx, draft: Draft = draft) -> None:
            drafts.put(tx, draft, house.clock.now())

        for act in ("back:", "force:", "what:sets"):
            outcome = house.send(pressed(therapist.user, f"dr:{draft.id.hex}:{act}"), put)
            assert {letter.sentence for letter in outcome.letters} == {"answer", "staff.old_button"}
            assert not outcome.changed

"""The list of a therapist's clients: all of them or a part, in the digest's order, in pages."""

from bot.conversation import caseload as talk
from bot.conversation.card import say
from bot.domain import caseload_filters
from bot.domain.caseload_filters import Filter
from bot.domain.people import Client
from bot.reports import pages
from bot.reports.pages import Entry
from bot.service import digests
from bot.service.desk import Desk
from bot.store import people


def show(desk: Desk, wanted: Filter, number: int, message_id: int | None) -> None:
    """A page of a part; a message of its own, or in place of the one whose button was pressed."""
    data = digests.gather(desk.tx, desk.staff, desk.clinic, desk.now)
    clients = people.clients_of(desk.tx, desk.staff.id)
    listed = pages.entries(caseload_filters.lines_of(data.lines, wanted))
    ids = dict(data.client_ids)
    for client in caseload_filters.clients_of(clients, wanted):
        label = client.label(desk.clinic.labels)
        ids[label] = client.id
        listed.append(Entry(label, _stage(client, label)))
    found = pages.page(listed, number, f"page.head.{'part' if wanted in caseload_filters.STAGES else 'all'}")
    shown = [(label, ids[label]) for label in found.labels if label in ids]
    counts = caseload_filters.counts(data.lines, clients)
    desk.shows(talk.page(found.text, shown, wanted, found.number, more=found.more, counts=counts), message_id)


def _stage(client: Client, label: str) -> str:
    return say(f"page.stage.{client.stage.value}", client=label)


def press(desk: Desk, argument: str, message_id: int | None) -> None:
    """A press on a page: which part, and which page of it."""
    name, _, number = argument.partition(".")
    wanted = Filter(name) if name in list(Filter) else Filter.ALL
    show(desk, wanted, int(number) if number.isdecimal() else 0, message_id)

"""A clinic's hours and duties, read together."""

from bot.domain.duties import Rota
from bot.domain.people import Clinic
from bot.store import duties, people
from bot.store.base import Tx


def rota_of(tx: Tx, clinic: Clinic) -> Rota:
    """A clinic's hours and the duties that stand."""
    return Rota(clinic.card, duties.of_clinic(tx, clinic.id), people.own_hours(tx, clinic.id))

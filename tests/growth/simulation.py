"""A morning played through: nudges fall due, wait in order, go out within the rate, and are answered.

It knows none of the model's formulas: a queue, a rate, who goes first, and chance.
"""

import random
from collections import deque
from dataclasses import dataclass

from tests.growth.model import Load

STEP_S = 5.0


@dataclass
class Morning:
    """What came of it."""

    sent: int = 0
    let_go: int = 0
    last_wait_s: float = 0.0
    most_a_step: float = 0.0


def play(load: Load, seed: int = 1) -> Morning:
    """One morning of one bot."""
    chance = random.Random(seed)
    morning = Morning()
    due = deque(sorted(chance.uniform(0, load.morning_s) for _ in range(load.clients)))
    waiting: deque[float] = deque()
    answers: dict[int, int] = {}
    owed, spare, step = 0, 0.0, 0
    while due or waiting:
        now_s = step * STEP_S
        while due and due[0] <= now_s:
            waiting.append(due.popleft())
        while waiting and waiting[0] + load.lifetime_s <= now_s:
            waiting.popleft()
            morning.let_go += 1
        owed += answers.pop(step, 0) * load.calls
        spare += load.rate * STEP_S
        first = min(owed, int(spare))
        owed -= first
        spare -= first
        room = min(int(spare), int(load.rate * load.bulk * STEP_S), len(waiting))
        for _ in range(room):
            morning.last_wait_s = now_s - waiting.popleft()
            morning.sent += 1
            if chance.random() < load.answered:
                later = step + 1 + int(chance.expovariate(1 / load.answer_after_s) / STEP_S)
                answers[later] = answers.get(later, 0) + 1
        morning.most_a_step = max(morning.most_a_step, (first + room) / STEP_S)
        spare = min(spare - room, load.rate)  # what is not used is lost
        step += 1
    return morning

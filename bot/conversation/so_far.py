"""Where she is: today and her last seven days, plainly, with no verdict."""

import datetime as dt

from bot.conversation import copy, enrol, plan_shown
from bot.conversation.speech import Say, Values
from bot.conversation.view import ClientView, contact_values, date_text

WEEK_DAYS = 7
FULL, EMPTY = "●", "○"  # told apart by being filled, not by colour


def in_the_week(view: ClientView) -> Say:
    """Her last seven days, plainly: what was done, what nobody said, no verdict."""
    lines = []
    for back in range(WEEK_DAYS - 1, -1, -1):
        on = view.today - dt.timedelta(days=back)
        sets, done = view.sets(on), view.done(on)
        key = "week.line" if on in view.book.totals else "week.unknown" if sets else "week.free"
        if not back and sets:
            key = "week.today"
        if on in view.away and not done:
            key = f"week.{view.away[on].value}"
        values: Values = {
            "day": f"{on:%a} {on.day}",
            "cells": FULL * min(done, sets) + EMPTY * max(0, sets - done),
            "done": done,
            "sets": sets,
        }
        lines.append(copy.text(view.client.language, key, values))
    days = [view.today - dt.timedelta(days=back) for back in range(WEEK_DAYS)]
    return Say("week", {"lines": "\n".join(lines) + plan_shown.week_line(view, days)})


def on_today(view: ClientView) -> Say:
    """Where she is today."""
    if not view.versions:
        return Say("today.no_plan", contact_values(view))
    pause = ""
    if view.paused and view.pause is not None:
        until = view.pause.until
        pause = "today.paused_open" if until is None else "today.paused"
    values: dict[str, str | int] = {
        "done": view.done(view.today),
        "sets": view.sets(view.today),
        "times": enrol.times_text(view),
        "pause": "",
    }
    if pause:
        until = view.pause.until if view.pause else None
        day = date_text(until) if until else ""
        values["pause"] = copy.text(view.client.language, pause, {"day": day})
    return Say("today" if view.sets(view.today) else "today.free", values)

"""From the answers of the guided form to a prescription, as a document in the shape of its file."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from bot.conversation.form_asks import CHECKED, Answers
from bot.conversation.prescribing_words import say
from bot.domain.dose import NotProposed, Proposal
from bot.domain.local_time import is_quiet
from bot.domain.template import Template, Templates

Document = dict[str, Any]
MODES = ("vaginal", "forceps", "vacuum", "caesarean")
LOADS = (("pressure",), ("pressure", "rectus"), ("pressure", "rectus", "strong-rectus", "impact"))
SHIFT_MIN = {"earlier": -60, "usual": 0, "later": 60}
QUIET_FROM, QUIET_TO = dt.time(21), dt.time(7, 30)


def findings(answers: Answers, on: dt.date) -> Document:
    """What was found today; what was not asked is left out."""
    found: Document = {"on": on.isoformat(), **_contraction(answers)}
    if answers.get("power", "none") != "none":
        power, endurance, repetitions, fast = (
            answers[key] for key in ("power", "endurance", "repetitions", "fast")
        )
        found["perfect"] = f"{power}/{endurance}/{repetitions}//{fast}"
    if answers.get("distance", "none") != "none":
        site, _, width = answers["distance"].partition("_")
        taken = {"state": "head-lift", "method": "fingers", "unit": "fingers", site: float(width)}
        found["distances"] = [taken]
    for key, field in (("doming", "doming"), ("bleeding", "bleeding"), ("pessary", "pessary"),
                       ("screened", "red_flags_screened"), ("impact", "impact_screen")):  # fmt: skip
        if key in answers:
            found[field] = answers[key] == "yes"
    for key, field in (("heaviness", "heaviness"), ("pain", "pain"), ("leaks", "leaks_a_week"),
                       ("stage", "prolapse_stage")):  # fmt: skip
        if answers.get(key, "none") != "none":
            found[field] = int(answers[key])
    if "leakage" in answers:
        found["leakage"] = "none" if answers["leakage"] == "dry" else answers["leakage"]
    if "note" in answers:
        found["note"] = answers["note"]
    return found


def _contraction(answers: Answers) -> Document:
    four = answers["four"]
    if four in CHECKED:
        well = {"contraction": "yes", "full_release": "yes", "tone": "normal", "pain_on_contraction": False}
        return {**well, "how": say(f"how.{four}")}
    if four != "partly":
        return {"contraction": "not-assessed", "full_release": "not-assessed", "how": say("how.not_assessed")}
    seen = answers["contraction"]
    found: Document = {
        "contraction": "yes" if seen in CHECKED else "no",
        "full_release": answers["release"].replace("_", "-"),
        "how": say(f"how.{seen}"),
        "pain_on_contraction": answers["hurts"] == "yes",
    }
    return found if answers["tone"] == "none" else {**found, "tone": answers["tone"]}


def document(
    answers: Answers,
    template: Template,
    templates: Templates,
    who: Mapping[str, Any],
    today: dt.date,
    proposed: Proposal | NotProposed | None = None,
) -> Document:
    """The prescription a form has come to; it starts today. `who`: client code, zone, language.

    proposed: the dose its findings propose; without one, or with reasons against one, nothing strengthens.
    """
    made: Document = {**who, "baby_at_home": answers.get("baby") == "yes"}
    made |= {key: answers[key] for key in ("goal", "initials") if key in answers}
    if answers.get("birth", "none") != "none":
        mode = MODES[int(answers["mode"]) - 1] if "mode" in answers else template.birth_mode
        made["birth"] = {"on": answers["birth"]}
        made["birth"] |= {"mode": mode} if mode else {}
        made["birth"] |= {"tear": answers["tear"]} if "tear" in answers else {}
    if "cleared" in answers and "cleared_on" in answers:
        loads = list(LOADS[int(answers["cleared"]) - 1])
        made["clearances"] = [{"by": answers["cleared_by"], "on": answers["cleared_on"], "loads": loads}]
    made["findings"] = [findings(answers, today)]
    made["programme"] = _programme(answers, template, templates, today, proposed)
    if template.questions:
        made["check_in"] = {"questions": list(template.questions)}
    return made


def _programme(
    answers: Answers,
    template: Template,
    templates: Templates,
    today: dt.date,
    proposed: Proposal | NotProposed | None,
) -> Document:
    sets = int(answers.get("sets", template.sets_a_day))
    contractions = [dict(entry) for entry in template.without_dose]
    pause_s = 0
    if isinstance(proposed, Proposal) and template.strength:
        contractions = [
            {
                "exercise": part.exercise,
                "repetitions": part.repetitions,
                "hold_s": part.hold_s,
                "rest_s": part.rest_s,
                "position": part.position.value,
            }
            for part in proposed.contractions
        ]
        contractions += [dict(entry) for entry in template.beside]
        pause_s = proposed.pause_s
    return {
        "starts_on": today.isoformat(),
        "review_on": review_on(answers.get("review", str(template.review_weeks)), today).isoformat(),
        "sets_a_day": len(times) if (times := _typed_times(answers)) else sets,
        "nudge_times": times or moved(templates.times[sets], answers.get("times", "usual")),
        "pause_s": pause_s,
        "contractions": contractions,
        "adjuncts": [dict(entry) for entry in template.adjuncts],
    }


def _typed_times(answers: Answers) -> list[str]:
    """Times that were typed say also how many sets there are."""
    times = answers.get("times", "usual")
    return [] if times in SHIFT_MIN else times.split()


def moved(times: Sequence[str], how: str) -> list[str]:
    """Nudge times an hour earlier or later, as far as the usual quiet hours let them."""
    found = []
    for text in times:
        at = dt.datetime.combine(dt.date.min, dt.time.fromisoformat(text), dt.UTC)
        shifted = (at + dt.timedelta(minutes=SHIFT_MIN[how])).time() if how != "usual" else at.time()
        found.append(f"{at.time() if is_quiet(shifted, QUIET_FROM, QUIET_TO) else shifted:%H:%M}")
    return found


def review_on(answer: str, today: dt.date) -> dt.date:
    """The review day: in so many weeks, or as it was typed."""
    return today + dt.timedelta(weeks=int(answer)) if answer.isdecimal() else dt.date.fromisoformat(answer)

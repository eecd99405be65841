"""What is read about notes to clients, hand-overs and incidents, in English."""

SENTENCES = {
    # what a client reads
    "note.to_her": (
        "For anything urgent ring {number_now}, in an emergency {emergency_number}. "
        "Please do not write it here: nobody watches this chat. "
        "A note from your therapist stands below, where no lock screen shows it.\n\n"
        "{text}\n\n"
        "From your therapist at {clinic}. If you write back, your therapist sees it on {digest_day}. Sooner: {phone}."
    ),
    # what her therapist reads
    "note.ask": (
        "{client}: please type the note, at most {most} characters. She reads that it comes from you. "
        "It changes no plan. Nothing is sent before you have seen it as she will and tapped Send."
    ),
    "note.which": "To whom? /write CODE begins a note to a client.",
    "note.too_long": "{client}: that has {length} characters; at most {most} fit. Nothing was sent.",
    "note.read_back": "{client}: so she will read it, {when}. It stands below.{cover}\n\n{text}",
    "note.now": "at once",
    "note.at": (
        "{day} {clock} on her clock (sooner would break into her quiet hours, her break, or pass her most "
        "messages a day)"
    ),
    "note.button.send": "Send to {client}",
    "note.button.again": "Write it again",
    "note.button.leave": "Do not send",
    "note.sent": "{client}: the note is on its way. It stands on her card.",
    "note.later": "{client}: the note goes out {day} {clock} on her clock. It stands on her card.",
    "note.left": "{client}: nothing was sent.",
    "note.too_late": "Nothing was sent: that note is no longer at hand. /write CODE begins it anew.",
    "note.lost": (
        "{client}: your note did not reach her, or nobody can know whether it did. Ring her if it matters; "
        "it stands on her card."
    ),
    "note.refused.not_joined": "{client} has not agreed to take part yet, so nothing can be written to her.",
    "note.refused.ended": "{client} takes part no longer, so nothing is written to her. Ring her instead.",
    "note.refused.sensitive": (
        "{client}: nothing is pushed to her, since somebody else may see her phone. "
        "Ring her, and check first that it is safe to."
    ),
    "note.refused.unreachable": "{client} cannot be reached in chat. Ring her instead.",
    # handing over
    "handover.usage": (
        "To hand clients over, write the colleague, the codes or all, and until when, or no day for good:\n"
        "/handover T2 K1 K2 until 14 March\n/handover T2 all until 14 March\n/handover T2 K1\n"
        "/handover back ends it before its day. Your clients are told nothing; whom they ring stays the same."
    ),
    "handover.standing": "With a colleague until a day:\n{lines}\n\n/handover back ends it now, /handover back CODE for one.",
    "handover.line": "{client}: {therapist} to {code} until {day}",
    "handover.for_good": "for good",
    "handover.until": "until {day}, that day included",
    "handover.sure": (
        "To {code}, {until}, {count} in all: {clients}\n"
        "From now on {code} gets their alerts and has them in the digest, and you no longer see them. Sure?"
    ),
    "handover.button.yes": "Hand over to {code}",
    "handover.button.no": "Keep them",
    "handover.done": "Handed over to {code}, {until}, {count} in all: {clients}",
    "handover.kept": "Nothing was handed over.",
    "handover.taken": (
        "{therapist} has handed over to you, {until}: {clients}\n"
        "Their alerts come to you from now on. {lines}"
    ),
    "handover.open": (
        "Open alerts: {count}; asked to be rung: {number}; unread notes: {value}. /alerts and /clients show them."
    ),
    "handover.open.none": "Nothing of theirs is waiting.",
    "handover.back": "With {therapist} again from now on, alerts and digest too: {clients}\n{lines}",
    "handover.nothing": "Nobody of yours is with a colleague, and nobody of a colleague's with you, until a day.",
    "handover.no_colleague": "Nobody in your clinic has the code {code}.",
    "handover.not_yours": "{code} is not a client you can hand over: not yours, or with you only until a day.",
    "handover.refused.herself": "{code} has them now. Please name a colleague.",
    "handover.refused.no_therapist": "{code} is not a therapist of your clinic.",
    "handover.refused.not_linked": "{code} has not opened her invite, so no alert would reach her.",
    "handover.refused.leaving": "{code} leaves the clinic before that.",
    "handover.refused.on_leave": "{code} is on leave now.",
    "handover.refused.day": "Please name a last day within the next {days} days, such as: until 14 March",
    "handover.refused.nobody": "There is no client to hand over.",
    "command.handover": "Hand clients over",
    # working hours
    "hours.clinic": (
        "You work in the clinic's hours: {text}\n"
        "For hours of your own write them so: /hours mon-wed 09:00-15:00; fri 09:00-12:00"
    ),
    "hours.own": (
        "You work: {text}\n"
        "What is only for you comes in these hours, and clients are told so. What is urgent goes to the fallback "
        "contact as well while you are not at work. /hours clinic takes the clinic's hours again."
    ),
    "hours.unread": "I could not read that. Please write hours so: /hours mon-wed 09:00-15:00; fri 09:00-12:00",
    "command.hours": "When you work",
    # what an administrator reads of the service
    "incident.unseen": (
        "Nobody has seen an emergency alert: {client}, raised {when}, therapist {therapist}. "
        "Please see to it that a clinician looks now. You get this message only once."
    ),
    "incident.late": (
        "Messages are late: the oldest has waited {minutes} min. Alerts and replies may be late too. "
        "Whoever keeps the machine should look now. You get this message only once."
    ),
    "caseload.card.button.note": "Write to her",
    "command.write": "A note to a client",
}

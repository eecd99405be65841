"""What therapists and fallback contacts read, in English. Clients are codes; words stand behind a button."""

SENTENCES = {
    "staff.linked.therapist": (
        "You are linked as therapist {code}.\n"
        "Alerts come here as they happen. Your digest comes on {digest_day} at {digest_clock}.\n/help tells the rest."
    ),
    "staff.linked.fallback": (
        "You are linked as fallback contact. You get an alert when the therapist has not seen it.\n"
        "/help tells the rest."
    ),
    "staff.linked.colleague": (
        "You are linked as {code}. You get the alerts your clinic named you for.\n/alerts lists what is open."
    ),
    "alert.uncovered": "{level}: {client}.\nRaised {when}. {therapist} is away, nobody covers.{sensitive}",
    "alert.off": "{level}: {client}.\nRaised {when}. {therapist} is not at work now.{sensitive}",
    "alert.reached_nobody": "{level}: {client}.\nRaised {when}. She has reached nobody yet.{sensitive}",
    "alert.seen_by": "{client}: {therapist} has seen it, {when}.",
    "alert.closed_by": "{client}: closed by {therapist}, {when} ({outcome}).",
    "alert.reopened_by": "{client}: {therapist} has opened it again, {when}.",
    "alert.button.reopen": "Open it again",
    "alert.reopened": "{client}: open again. What came of it?",
    "alert.open": "Open alerts:\n{lines}",
    "alert.open.none": "No alert is open.",
    "alert.open.line": "{client}: {level}, {when}, {state}",
    "alert.open.review": "For the next review ({count}):\n{lines}\n/reviewed CODE when you have gone through them.",
    "alert.open.button": "{client}, {when}",
    "alert.state.seen": "seen",
    "alert.state.unseen": "not seen",
    "alert.reviewed": "{client}: {count} kept for the review, closed.",
    "alert.reviewed.none": "{client}: nothing is kept for the review.",
    "alert.new": "{level}: {client}.\nRaised {when}.{sensitive}",
    "alert.again": "{level}, still open: {client}.\nRaised {when}, reminder {times}.{sensitive}",
    "alert.morning": "{level}, not closed: {client}.\nRaised {when}.{sensitive}",
    "alert.fallback": "{level}: {client}.\nRaised {when}. {therapist} has not seen it yet.{sensitive}",
    "alert.unreachable": "{level}: {client}.\nRaised {when}. {therapist} cannot be reached in chat.{sensitive}",
    "alert.sensitive": "\nSensitive: check that it is safe to call.",
    "alert.level.emergency": "EMERGENCY",
    "alert.level.same_day": "Same day",
    "alert.level.therapist": "For you",
    "alert.level.next_review": "For the next review",
    "alert.button.seen": "Seen",
    "alert.button.words": "Her words",
    "alert.seen": "{client}: marked as seen at {clock}. What came of it?",
    "alert.words": (
        "{client}, {when}. What she wrote stands below, far enough down that neither a lock screen nor a list of "
        "chats shows it. Nobody else sees this chat; please keep your phone to yourself.\n\n"
        "{signs}\n\n{words}\n\nHistory:\n{history}"
    ),
    "alert.button.spoke": "Spoke to her",
    "alert.button.not_reached": "Could not reach her",
    "alert.button.passed_on": "Passed on to …",
    "alert.button.false_alarm": "False alarm",
    "alert.ask.passed_on": "{client}: to whom did you pass it on? One line, please.",
    "alert.ask.false_alarm": "{client}: why was it a false alarm? One line, please.",
    "alert.closed": "{client}: closed ({outcome}).",
    "alert.closed_already": "{client}: this alert is closed already ({outcome}).",
    "alert.not_reached": (
        "{client}: noted that you could not reach her. It stays open. I tell your colleague now and ask again in "
        "half an hour, in clinic hours."
    ),
    "alert.not_reached_by": "{level}: {client}.\nRaised {when}. {therapist} could not reach her.{sensitive}",
    "alert.close_first": "{client}: this alert is still open. Please say what came of it first.",
    "alert.review_short": "{client}: please write who reviewed her medically, and when. /help leaves it as it is.",
    "alert.outcome.reviewed": "gone through in a visit",
    "alert.outcome.spoke": "spoke to her",
    "alert.outcome.not_reached": "could not reach her",
    "alert.outcome.passed_on": "passed on",
    "alert.outcome.false_alarm": "false alarm",
    "alert.ask_resume": "{client}: her reminders are paused. What now?",
    "alert.button.resume": "Resume programme",
    "alert.button.keep": "Keep paused",
    "alert.kept": "{client}: stays paused. /resume {client} starts it again later.",
    "alert.ask_review": "{client}: who reviewed her medically, and when? One line, please.",
    "alert.stays_paused": "{client}: her reminders stay paused until her therapist or the fallback contact starts them.",
    "alert.not_yours": "{client}: her therapist or the fallback contact starts her programme again.",
    "alert.resumed": "{client}: the programme is resumed.{note}",
    "alert.resumed.note": "\nOn record: {note}",
    "alert.event.raised": "raised",
    "alert.event.told": "told {note}",
    "alert.event.said_again": "she wrote again: {note}",
    "alert.event.answer": "she answered: {note}",
    "alert.event.seen": "seen by {note}",
    "alert.event.outcome": "{note} could not reach her",
    "alert.event.closed": "closed: {note}",
    "alert.event.resumed": "resumed: {note}",
    "alert.event.unreachable": "chat cannot be reached: {note}",
    "alert.event.changed": "she changed her message: {note}",
    "alert.event.reached": "did she reach someone? {note}",
    "alert.event.asked_her": "she was asked whether she reached someone",
    "alert.event.told_her": "she was told whom to ring",
    "alert.event.undelivered": "it has reached nobody",
    "alert.event.delivered": "it has reached somebody now",
    "alert.event.reopened": "opened again by {note}",
    "alert.event.line": "{when} {what}",
    "staff.call_asked": "{client} would like you to ring her, not urgently. Asked {when}.",
    "staff.call_button": "Rung her",
    "staff.call_made": "{client}: noted that you rang her.",
    "staff.change_unsure": (
        "{client} is not sure about version {number} of her plan. She was told to go on as before until you have "
        "spoken to her."
    ),
    "staff.wrote": "{client}, whose programme is paused, wrote something I could not read. /notes {client} shows it.",
    "staff.correction": "{client} says that something kept of her is wrong. /notes {client} shows what.",
    "staff.client_left": "{client} has stopped and gets no more messages.",
    "staff.client_erases": (
        "{client} asked for her data to be erased, and gets no more messages. What the clinic must keep is "
        "locked. An open alert is waited for."
    ),
    "staff.client_moved": (
        "{client} now writes from another phone or account; the old chat is cut off. Ask her at your next contact. "
        "If it was not her, have the new one cut off: `programme-bot invite {client} --cut-off`."
    ),
    "staff.client_gone": "{client} cannot be reached in chat any more (blocked, or the account is gone).",
    "staff.no_client": "There is no client {code} of yours. /clients lists them.",
    "staff.own_break": "{client} has taken a break of her own, until {day}. It ends by itself, or when she says so.",
    "staff.not_paused": "{client} is not paused.",
    "staff.notes": (
        "{client} wrote this {when}, and it is for you to read. Her words stand below, far enough down that no "
        "lock screen shows them. She was told when you would see them and whom to ring sooner.\n\n{text}"
    ),
    "staff.notes.which": "Unread notes:\n{lines}\n\n/notes CODE opens them.",
    "staff.notes.nobody": "There are no unread notes.",
    "staff.notes.none": "No unread notes from {client}.",
    "staff.text": (
        "I could not use that. It was not sent to any client, and nobody was told of it.\n"
        "/help tells what I can do."
    ),
    "staff.media": "I do not open pictures or recordings, only prescription files. Nothing was sent to any client.",
    "staff.help": (
        "Alerts come here as they happen, the digest on {digest_day} at {digest_clock}.\n"
        "/digest the last seven days, now\n/clients your clients, /client CODE her card\n/notes CODE what a client wrote that I could not read\n"
        "/write CODE a note to a client\n/handover clients to a colleague\n/hours when you work\n"
        "/alerts what is open, /reviewed CODE what was kept for the visit\n"
        "/resume CODE start a paused programme again\n/maintain CODE DAY offer one message a week\n"
        "/finish CODE REASON close a programme\n/new a new client\n/change CODE change a plan\n"
        "/room CODE what is done in the room\n/privacy what is kept\n\n"
        "I give no diagnosis and am not assessed or registered as a medical device. "
        "Clients are told that nobody watches the chat live. Advice reaches them at once; the alert comes to you."
    ),
    "staff.help.fallback": (
        "You get alerts that the therapist has not seen in time. Tap Seen, then say what came of it.\n"
        "/alerts what is open\n"
        "/privacy what is kept"
    ),
    "staff.privacy": (
        "What is kept of you: your name, registration, the number of this chat, what you press here. "
        "It is stored encrypted. The company that runs this chat app can read these messages."
    ),
    "staff.old_button": "That button is from an earlier message and does nothing any more.",
    "digest.text": "{text}",
    "digest.caption": "{text}",
    "command.digest": "The last seven days, now",
    "command.clients": "Your clients",
    "command.alerts": "What is open",
    "command.notes": "What could not be read",
}

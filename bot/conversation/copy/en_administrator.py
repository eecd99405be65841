"""What a clinic's administrator reads, in English: people, codes and the clinic's facts, nothing of a client's."""

SENTENCES = {
    "staff.linked.administrator": (
        "You are linked as administrator {code}. You see people, cover, the clinic's facts and clients' codes. "
        "What clients write and how they are stays with their therapists.\n/help tells the rest."
    ),
    "admin.help": (
        "/people who works here\n/clients clients by code\n/cover who is on call and who stands in\n"
        "/clinic numbers, hours, digest\n/invite CODE a fresh link for somebody\n/privacy what is kept\n\n"
        "Changes are made on the command line, by `programme-bot`."
    ),
    "admin.privacy": (
        "What is kept of you: your name, the number of this chat, what you press here. "
        "It is stored encrypted. The company that runs this chat app can read these messages."
    ),
    "admin.text": "I could not use that. It was not sent to anybody.\n/help tells what I can do.",
    "admin.people": "Who works here:\n{lines}",
    "admin.person": "{code} {text}, {what}, {state}",
    "admin.role.therapist": "therapist",
    "admin.role.fallback": "fallback contact",
    "admin.role.colleague": "colleague with a duty",
    "admin.role.administrator": "administrator",
    "admin.linked": "linked",
    "admin.not_linked": "has not opened the invite",
    "admin.clients": "Clients, with their therapist:\n{lines}",
    "admin.clients.none": "No client is enrolled yet.",
    "admin.client": "{client}, {therapist}, {state}",
    "admin.stage.invited": "invited",
    "admin.stage.consenting": "has opened the invite",
    "admin.stage.setting_time": "has agreed, not started",
    "admin.stage.active": "takes part",
    "admin.stage.withdrawn": "has stopped",
    "admin.stage.discharged": "has ended",
    "admin.stage.erased": "erased",
    "admin.cover": "Duties and cover:\n{lines}",
    "admin.clinic": (
        "Phone in hours: {phone}\nOut of hours: {number}\nEmergency number: {emergency_number}\n"
        "Open ({zone}):\n{lines}\nShut on: {days}\nDigest: {digest_day} at {digest_clock}\n{kept}\nName: {clinic}"
    ),
    "admin.years": "Records are kept for {years} years.",
    "admin.no_years": "How long records are kept is not recorded yet: `programme-bot retention`.",
    "admin.joined": "{code} has opened the invite and is linked.",
    "admin.moved": (
        "{code} now uses another phone or account; the old chat is cut off. If it was not her, have the new one cut "
        "off: `programme-bot invite {code} --cut-off`."
    ),
    "admin.invite.which": "For whom? /invite CODE makes a fresh link. /people and /clients show the codes.",
    "admin.invite.nobody": "Nobody in your clinic has the code {code}.",
    "admin.invite.made": (
        "A link for {code}, good once, until {until}:\n{link}\n\n"
        "Tell her these digits aloud, never in the same message: {digits}\n\n{text}"
    ),
    "admin.invite.first": "Hand it to nobody else.",
    "admin.invite.old": (
        "An earlier link does not work any more. Once this one is opened, the chat used so far is cut off."
    ),
    "command.people": "Who works here",
    "command.cover": "On call and cover",
    "command.clinic": "Numbers, hours, digest",
    "command.invite": "A fresh link for somebody",
}

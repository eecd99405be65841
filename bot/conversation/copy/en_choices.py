"""What clients read about their plan, about hearing less, and about what they typed, in English."""

SENTENCES = {
    # her plan in plain words; what names the body stands below the first lines, which a lock screen shows
    "plan.show": (
        "Here is your plan, the way your therapist set it up for you. It is meant for {sets} times a day, "
        "at {times} or whenever it suits you better. Scroll down at your own pace, there is no hurry.\n\n{lines}"
    ),
    "plan.more": (
        "Here is the next part of your plan. It goes on below, just the way your therapist "
        "set it up for you. Take your time with it. Scroll down at your own pace. There is no hurry at all.\n\n{lines}"
    ),
    "plan.held": (
        "Your plan is set aside for now. Please wait until your clinic says to go on: {phone}.\n"
        "Sooner: ring {number_now}. In an emergency call {emergency_number}."
    ),
    "plan.holds": "{repetitions} times. Hold {hold} s, rest {rest} s, {position}.",
    "plan.quick": "As many as fit into ten seconds, {position}. Your figure: {repetitions}.",
    "plan.days": "Only on {days}.",
    "plan.beside": "Beside your sets, each with a tap of its own below:",
    "plan.beside.minutes": "{minutes} minutes, {position}, {often} a day.",
    "plan.beside.holds": "{repetitions} times, hold {hold} s, {position}, {often} a day.",
    "plan.beside.times": "{repetitions} times, {position}, {often} a day.",
    "plan.beside.done": "{position}, {often} a day.",
    "plan.often.1": "once",
    "plan.often.2": "twice",
    "plan.often.more": "{often} times",
    "plan.stand_in": "No {thing}? Use {stand_in}.",
    "plan.position.lying": "lying on your back",
    "plan.position.side-lying": "lying on your side",
    "plan.position.four-point": "on hands and knees",
    "plan.position.sitting": "sitting",
    "plan.position.standing": "standing",
    "plan.stop_if": "Stop, and write or ring, if:",
    "plan.ask": "Not sure about one? /call asks your therapist to ring you. Sooner: {number_now}.",
    "extra.button": "{letter} done",
    "extra.booked": "Noted for {letter}: {done} of {times} today, beside your sets.",
    "extra.already": "I have that already. {letter}: {done} of {times} today.",
    "extra.undone": "Taken back.",
    "week.extras": "\nBeside your sets, as in /plan: {figures}",
    "week.extra": "{letter} {done} of {due}",
    "command.plan": "Your plan, step by step",
    "command.language": "Which languages I speak",
    # hearing less
    "fewer.ask": (
        "Thank you for saying so. I can write less. What would suit you?\n"
        "Your therapist sees your message too. /stop ends it all."
    ),
    "fewer.button.pause": "Take a break",
    "stop.button.fewer": "Just write less",
    # what she typed
    "undo.nothing": "There is nothing to take back. /today shows what I have.",
    "yes.nudge": "Good. Tap Done when it is done, or send a number.",
    "yes.questions": "Please tap an answer in my last message, or Skip.",
    "skip.questions": "All right. Skipping is fine: tap Skip above, or just leave it.",
    "ask.which": "Is that {number} done today, or your answer to my question above?",
    "ask.button.sets": "{number} done today",
    "ask.button.question": "The question above",
    "who": (
        "I am a program of your clinic, not a person. I remind you of your plan and keep count of your answers.\n"
        "Nobody watches this chat live. A person answers at {number_now}. /help tells what I can do."
    ),
    "unread.plan": (
        "That is for your therapist: she sees it on {digest_day}. /plan shows what stands in your plan.\n"
        "Sooner: ring {number_now}. In an emergency call {emergency_number}."
    ),
    "no.noted": "All right. A number or a worry reaches me at any time.",
    "closed_none": "Noted: none {day}. I ask no more today. A number reaches me at any time.",
    "ask.count_other": "How many were there {day} in all?",
    "unread.language": (
        "I read English only, so I could not read this. I keep it for your therapist. She sees it on {digest_day}.\n"
        "Sooner: ring {number_now}. In an emergency call {emergency_number}."
    ),
    # the end: maintenance, which she opts into, and discharge
    "maintenance.offer": (
        "Your therapist suggests that we go on more lightly: one message a week, until {day}. "
        "She looks after it. Nothing changes unless you want it. Questions: {clinic_phone}."
    ),
    "maintenance.button.yes": "Yes, once a week",
    "maintenance.button.no": "No, thank you",
    "maintenance.yes": (
        "Good. From now on I write once a week. /plan still shows what to do. A worry reaches me at any time.\n"
        "Sooner: ring {number_now}. In an emergency call {emergency_number}."
    ),
    "maintenance.no": "All right, all stays as it is. Your therapist is told: {phone}.",
    "maintenance.week": "Hello. On how many days did you do some this week? No answer is fine too.",
    "maintenance.noted": "Noted: {number}. Your therapist sees it on {digest_day}.",
    "maintenance.over": (
        "Our weekly messages end here, as agreed. Your therapist knows and tells you what comes next.\n"
        "Your clinic: {phone}."
    ),
    "discharged.now": (
        "Your therapist has closed your programme, so I stop writing. Thank you for all your answers.\n"
        "Nobody reads this chat from now on. Ring {phone} instead. In an emergency call {emergency_number}."
    ),
    "discharged": (
        "Nobody reads this now: your programme is closed. Please ring {number_now}.\n"
        "In an emergency call {emergency_number}. To begin again, ask your clinic for a new invite."
    ),
}

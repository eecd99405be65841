"""What clients read, in English: plain, kind, nothing about the body where a lock screen shows it."""

SENTENCES = {
    # enrolment
    "invite.unknown": (
        "This invite does not work. It may be old, used, or mistyped.\n"
        "Please ask your clinic for a new one.\n\n"
        "If you need help now, call your clinic or your local emergency number."
    ),
    "invite.slow_down": (
        "Too many tries with wrong codes. Please wait an hour, then ask your clinic for a new invite.\n\n"
        "If you need help now, call your clinic or your local emergency number."
    ),
    "invite.ask_fact": "Hello. Which four digits did your therapist tell you?",
    "invite.ask_fact.staff": "Hello. Which four digits were you told with this invite?",
    "invite.fact_wrong": "These are not the four digits. You can try {left} more times.",
    "invite.fact_wrong.last": "These are not the four digits. You can try once more.",
    "invite.fact_closed": (
        "These were not the four digits, so this invite is closed now.\n"
        "Please ask your clinic for a new one: {phone}."
    ),
    "invite.linked_elsewhere": (
        "This chat already belongs to someone. An invite opens in a chat of its own."
    ),
    "invite.moved_away": (
        "This chat is cut off now: your invite was opened from another phone or account.\n"
        "Was that not you? Then ring your clinic: {phone}."
    ),
    "invite.not_ready": (
        "Your clinic has not finished setting up. Please ask your therapist.\n"
        "Your invite stays good until then."
    ),
    "consent.ask": (
        "Before we start, please read this.\n\n"
        "• I am a program. I remind you of what you agreed with your therapist. I keep count of your answers.\n"
        "• Your therapist sees your answers once a week, and sooner if something sounds urgent.\n"
        "• Nobody watches this chat live. In an emergency call {emergency_number}.{alone}\n"
        "• I give no diagnosis. I am not assessed or registered as a medical device. "
        "Your therapist and local rules decide.\n"
        "• The company that runs this chat app can read these messages. Write no more than you want to.\n"
        "• In some places a chat app may not be used for care. Your clinic has to know.\n"
        "• Your answers are kept encrypted at {clinic}. You can stop at any time: /stop.\n\n"
        "Do you agree?"
    ),
    "consent.alone": " Your therapist works alone. Nobody else gets your warnings.",
    "consent.yes": "I agree",
    "consent.no": "Not now",
    "consent.refused": (
        "That is fine. Nothing is kept but this. If you change your mind, tap *I agree* above or write to me.\n"
        "Your clinic: {phone}."
    ).replace("*", ""),
    "consent.wait": (
        "Your clinic has not finished setting up, so we cannot start yet. Please tap I agree again later, "
        "or ring your clinic: {phone}."
    ),
    "consent.please": "Please tap one of the two buttons first. In an emergency call {emergency_number}.",
    "zone.ask": "Thank you. Is it {clock} on {day} where you are?",
    "zone.yes": "Yes",
    "zone.no": "No",
    "zone.which": "Which big city is near you, in the same time zone? For instance: Dublin",
    "zone.unknown": (
        "I do not know that place. Please write the nearest big city, or a zone such as Europe/Dublin."
    ),
    "zone.pick": "Which one is it?",
    "zone.moved": "Noted: {zone}, now {clock}. Your times go by that clock from here on.",
    "zone.option": "{zone}, now {clock}",
    "ready": (
        "All set. From {starts} I write at {times}.\n\n"
        "When I do, tap Done, or send a number: how many you have done today in all.\n"
        "You can write anything at any time; what I cannot read goes to your therapist.\n\n"
        "/today shows where you are, /pause gives you a break, /help the rest."
    ),
    "ready.no_plan": (
        "All set. Your therapist has not put a plan in force yet. I write when she has.\n\n/help tells what I can do."
    ),
    # nudges and other unasked messages
    "nudge.first": "{cue}Good time for your first one today? ({sets} in all)",
    "nudge.next": "{cue}Time for the next one? So far today: {done} of {sets}.",
    "nudge.first.yesterday": (
        "{cue}Good time for your first one today? ({sets} in all)\n\n"
        'And {day}? Tap below, or write "{day} 2".'
    ),
    "nudge.next.yesterday": (
        "{cue}Time for the next one? So far today: {done} of {sets}.\n\n"
        'And {day}? Tap below, or write "{day} 2".'
    ),
    "nudge.last.first": "{cue}Time for one today, if it suits you? One is plenty.{easier}",
    "nudge.last.next": "{cue}Time for one more, if it suits you? So far today: {done} of {sets}.{easier}",
    "nudge.easier": "\nEasier is fine: {position}.",
    "nudge.button.done": "Done",
    "nudge.button.later": "Later",
    "nudge.button.no_more": "No more today",
    "nudge.button.yesterday": "{day}: {number}",
    "round_up.ask": "How did today go? So far I have {done} of {sets}.",
    "round_up.ask_none": "How did today go?",
    "count.button": "{number}",
    "kind_word": (
        "Hello. No answer needed. If you want fewer messages, /pause is one tap.\n"
        "Whenever you like, send a number and we carry on. Your clinic: {phone}."
    ),
    "weekly_word": "Hello, I am still here. Send a number when you want to carry on, or ring {phone}.",
    "book_review": (
        "Your review date has passed, so I stop writing for now.\nPlease book your review: {phone}."
    ),
    # booking
    "booked": "Noted: {done} of {sets} today.",
    "booked.held": (
        "Kept: {done}. Your plan is set aside for now. Please wait until your clinic says to go on: {phone}."
    ),
    "booked.none": "Noted: none today. Thank you for telling me.",
    "booked.full": "Noted: {done} of {sets} today. That is today's plan.",
    "booked.extra": "Noted: {done} today, {sets} were planned.",
    "booked.same": "I have {done} of {sets} for today.",
    "booked.other_day": "Noted for {day}: {done} of {sets}.",
    "booked.unplanned": "Noted: {done} for {day}. Nothing was planned for that day.",
    "booked.already": "I have that already: {done} of {sets} for {day}.",
    "ask.one_or_all": "Is that {value} more, or {value} in all?",
    "ask.button.more": "{value} more",
    "ask.button.all": "{value} in all",
    "ask.zero": "I have {done} for {day}. Shall I make it none?",
    "ask.button.zero": "Make it none",
    "ask.button.keep": "Keep {done}",
    "ask.count": "How many have you done today in all?",
    "kept": "All right, it stays at {done} of {sets}.",
    "closed_day": "All right, no more today. I have {done} of {sets}.",
    "later.ask": "When shall I ask again? Or tap Done when it is done.",
    "later.button.15": "In 15 minutes",
    "later.button.60": "In an hour",
    "later.button.evening": "This evening",
    "later.button.feed": "After the next feed",
    "undo.button": "Undo",
    "undo.done": "Taken back. I have {done} of {sets} for {day}.",
    "undo.late": 'That was more than a day ago. Send me the right number instead, such as "monday 2".',
    "later": "All right, I ask again at {clock}.",
    "later.no": "I cannot ask again today: it would be too late, or too often. A number reaches me at any time.",
    "later.none": "There is nothing more planned for today. A number reaches me at any time.",
    # check-in
    "check_in.intro": (
        "Your weekly questions: at most three taps. Skipping any of them is fine. Your therapist sees the "
        "answers with her next digest. Nobody watches this chat live. The first question:\n\n{question}"
    ),
    "check_in.leaks": "Leaks in the last seven days?",
    "check_in.heaviness": "Heaviness or a bulge down below in the last seven days? 0 is none, 10 the most.",
    "check_in.pain": "Pain when you exercise, in the last seven days? 0 is none, 10 the worst.",
    "check_in.doming": "A ridge down the middle of your tummy on effort, in the last seven days?",
    "check_in.mood": (
        "How has your mood been, these last two weeks?\n\n"
        "Not safe, or thoughts of harm? Call {emergency_number} now, or the crisis line {crisis_line}.\n"
        "Nobody watches this chat live."
    ),
    "check_in.option": "{label}",
    "check_in.skip": "Skip",
    "check_in.thanks": "Thank you, that was all. Your therapist sees all your answers on {digest_day}.",
    "check_in.old": "That question is from {day}. I noted your answer for that day.",
    "check_in.none": "There are no questions in your plan just now. You can write what you noticed.",
    # pause
    "pause.ask": "How long a break?",
    "pause.which": "Until which day? For instance: 14 March, or Friday.",
    "pause.too_long": "A break can be at most 120 days long, and ends on a day to come. Which day?",
    "pause.button.until": "Until a day …",
    "pause.button": "{days} days",
    "pause.button.one": "1 day",
    "paused": "All right. I write again on {day}. A number or a worry reaches me at any time. /resume ends the break.",
    "resumed": "Welcome back. So far today: {done} of {sets}.",
    "resume.not_yours": (
        "Your reminders are paused until your therapist starts them again.\n"
        "If you want to talk to her, ring {number_now}. In an emergency call {emergency_number}."
    ),
    "resume.not_paused": "Good to hear from you. Your reminders are on. So far today: {done} of {sets}.",
    "resumed.by_therapist": "Your therapist has started your reminders again. /today shows where you are.",
    # status and help
    "today": "Today: {done} of {sets}.\nYour times: {times}.{pause}",
    "today.free": "Nothing is planned for today. I write at {times} on your days.{pause}",
    "today.paused": "\nReminders are paused until {day}.",
    "today.paused_open": "\nReminders are paused until your therapist starts them again.",
    "today.no_plan": "There is no plan in force yet. Your clinic: {phone}.",
    "help": (
        "In an emergency call {emergency_number}. Right now a person answers at {number_now}.\n\n"
        'Send a number: how many you have done today in all. "+1" adds one, "yesterday 2" works too.\n'
        "/today and /week where you are\n/plan what to do and how, step by step\n"
        "/times when I write, and how often\n/symptoms the short questions, now\n"
        "/call ask your therapist to ring you\n/pause a break, /resume its end\n"
        "/language which languages I speak\n/privacy what is kept\n/stop leave for good\n\n"
        'Write "undo" to take your last answer back, "no more today" to end the day.\n'
        "Too many messages? Say so.\n\n"
        "Nobody watches this chat live, and I give no diagnosis. I am not assessed or registered as a medical "
        "device. Local rules and your clinician decide."
    ),
    "privacy": (
        "What is kept: your answers, what you write here, your plan, and the number of this chat. "
        "It is stored encrypted. Your therapist and your clinic see it, nobody else.\n"
        "The company that runs this chat app can read these messages too.\n"
        "Notifications say nothing about your body.\n"
        "What went through this chat is let go of after {days} days. Your record stays.\n"
        "{kept} Your clinic: {clinic}, {phone}."
    ),
    "privacy.years": "If you leave, your clinic keeps its record for {years} years.",
    "privacy.no_years": "Ask your clinic how long it keeps its record.",
    "privacy.button.show": "Send me what is kept",
    "privacy.button.wrong": "Something is wrong",
    "correct.which": (
        "What is wrong? Your times and your time zone you can change here. The rest goes to your therapist, who "
        "puts it right."
    ),
    "correct.button.times": "My times",
    "correct.button.zone": "My time zone",
    "correct.button.phone": "My phone or account",
    "correct.button.fact": "Something else",
    "correct.phone": (
        "A new phone or account needs a new invite. Your clinic makes one: {phone}.\n"
        "Once you open it, this chat is cut off."
    ),
    "correct.ask": "Your initials, a date, your plan: what is wrong, and what is right? One message, please.",
    "correct.note": "Wants this put right: {text}",
    "correct.passed_on": (
        "I have passed it on. Your therapist looks at it when the clinic is open, and puts it right or tells you "
        "why not.\nSooner: ring {number_now}. In an emergency call {emergency_number}."
    ),
    "correct.ring": (
        "Nobody reads this chat any more. To have something put right, ring your clinic: {phone}.\n"
        "In an emergency call {emergency_number}."
    ),
    "privacy.button.erase": "Erase it",
    "kept.file": "This is all that is kept. Open it where nobody looks over your shoulder.",
    "erase.ask": (
        "Do you want it erased for good? Your answers and what you wrote go, and so does the link to this "
        "chat.\nYour plan and what came of your warnings are your clinic's record. That stays, locked.\n"
        "What stands in this chat stays on your phone until you delete it."
    ),
    "erase.button.yes": "Yes, erase",
    "erase.button.no": "No, keep it",
    "erase.kept": "All right, nothing is erased.",
    "erase.done": (
        "It will be gone in a few minutes. Your therapist is told.\n"
        "Nobody reads this chat from now on. Your clinic: {phone}. In an emergency call {emergency_number}."
    ),
    "erase.waits": (
        "I write no more. It is erased once your therapist has dealt with what you last told her.\n"
        "Nobody reads this chat from now on. Your clinic: {phone}. In an emergency call {emergency_number}."
    ),
    "stop.ask": "Do you want to stop for good? Your clinic keeps its clinical record; I stop writing.",
    "stop.button.yes": "Yes, stop",
    "stop.button.no": "No, go on",
    "stop.done": (
        "I have stopped. Your therapist is told.\n"
        "Nobody reads this chat from now on. Your clinic: {phone}. In an emergency call {emergency_number}."
    ),
    "stop.kept": "All right, we go on as before.",
    "withdrawn": (
        "Nobody reads this chat any more. Your clinic: {phone}. In an emergency call {emergency_number}.\n"
        "To begin again, ask your clinic for a new invite."
    ),
    # everything else
    "unread": (
        "I could not read this, so I keep it for your therapist. She sees it on {digest_day}.\n"
        "Sooner: ring {number_now}. In an emergency call {emergency_number}.\n\n"
        "To report, send a number: how many you have done today in all."
    ),
    "unread.again": "Kept for your therapist. Sooner: ring {number_now}. In an emergency call {emergency_number}.",
    "unread.paused": (
        "I am only a program. I keep this for your therapist, and tell her when the clinic is open.\n"
        "Sooner: ring {number_now}. In an emergency call {emergency_number}.\n\n"
        "Your reminders are paused until your therapist starts them again."
    ),
    "unread.rest": (
        "The rest of your message I could not read. Your therapist sees it on {digest_day}; sooner: {number_now}."
    ),
    "thanks": "Good to hear from you.",
    "noted": "Noted. Your therapist sees it with her next digest.",
    "call_me": (
        "I have asked your therapist to ring you, in clinic hours, from {opening} on.\n"
        "Sooner: ring {number_now}. In an emergency call {emergency_number}."
    ),
    "language": (
        "I speak English only, so far. Another language comes when a clinician has signed off its warning rules.\n"
        "In an emergency call {emergency_number}. Right now a person answers at {number_now}."
    ),
    "week": "Your last seven days:\n{lines}\n\nOne day more or less does not matter.",
    "week.line": "{day}  {cells}  {done} of {sets}",
    "week.today": "{day}  {cells}  {done} of {sets} so far",
    "week.unknown": "{day}  {cells}  no answer",
    "week.free": "{day}  nothing planned",
    "week.paused": "{day}  a break",
    "week.stopped": "{day}  set aside for now",
    "week.travel": "{day}  skipped by your journey",
    "times.none": "You have no plan yet, so there are no times to change.",
    "times.amount": (
        "Your times:\n{lines}\n\nMost messages a day: {number}. "
        "Tap a time to change it, or to tie it to a moment of yours. Or choose how many messages you want."
    ),
    "times.evening_only": (
        "Only the evening question, at the moment. Your times would be:\n{lines}\n\n"
        "Tap a time to change it, or choose how many messages a day you want."
    ),
    "times.button.change": "Change {clock}",
    "times.button.amount": "{number} a day",
    "times.button.evening": "Evening question only",
    "times.button.zone": "Other time zone",
    "times.ask": (
        "Instead of {clock}: which time, and after which moment of yours? "
        "For instance: 9:15 after brushing teeth"
    ),
    "times.set": "Noted. I write at:\n{lines}",
    "times.quiet": "That lies in your quiet hours, {quiet_from} to {quiet_to}. Which time instead?",
    "times.apart": "Times have to be in order and at least an hour apart. Which time instead?",
    "times.indiscreet": "That moment would show something private on your locked phone. Which other one?",
    "times.chosen_amount": "All right, at most {number} a day. Sets and worries you can send at any time.",
    "times.chosen_evening": "All right, only the evening question from here on.",
    "media": (
        "Nobody can see or hear that: I do not open pictures, recordings or files.\n"
        "Please write it in words, or ring {number_now}. In an emergency call {emergency_number}.\n"
        "Your therapist sees on {digest_day} that it came."
    ),
    "command.unknown": "I do not know that command. /help lists what I can do.",
    "press.old": "That button is from an earlier message. A number reaches me at any time.",
    "press.unknown": "That button does not belong to this chat. /help lists what I can do.",
    "group": "I only talk in private, never in a group. Please write to me in a chat of our own.",
    "stranger": (
        "Hello. I only talk with people whose clinic invited them. Nobody reads what you write here.\n"
        "If you have an invite, open its link again.\n\n"
        "If you feel unwell or are worried, ring your doctor or midwife. "
        "In an emergency call your local emergency number."
    ),
    "failed": (
        "Something went wrong on my side with your last message. It is kept and a person will see it.\n"
        "If it was urgent, ring {number_now} or call {emergency_number}."
    ),
    "command.today": "Where you are today",
    "command.week": "Your last seven days",
    "command.times": "When I write, and how often",
    "command.call": "Please ring me (not urgent)",
    "command.symptoms": "The short questions",
    "command.pause": "Take a break",
    "command.resume": "End the break",
    "command.stop": "Leave for good",
    "command.privacy": "What is kept",
    "command.help": "What I can do",
}

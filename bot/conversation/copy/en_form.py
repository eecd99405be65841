"""The guided form, in English: what a therapist reads while she sets a prescription up in chat.

A screen that is changed in place rings no bell; one that comes as a message of its own opens with
`form.head.fresh`, which is long enough to keep the rest off a lock screen.
"""

SENTENCES = {
    "form.head": "{client}: a draft, nothing is in force yet.",
    "form.head.fresh": (
        "{client}: a draft, nothing is in force yet. Nobody but you sees this. It stays as it is when you are "
        "called away; /new {client} goes on where you were. Your answers so far are kept."
    ),
    "form.so_far.birth": "Birth {day}, {number} whole weeks ago",
    "form.so_far.strength": "PERFECT {power}/{endurance}/{repetitions}//{fast}",
    "form.which_code": "A new client: which code? Type it, such as {code}. The next free one is on the button.",
    "form.code_wrong": "A code has 1 to 16 letters, digits or hyphens, such as {code}. Which one?",
    "form.code_taken": "{client} is a client already. /change {client} changes her programme; or type another code.",
    "form.button.code": "{client}",
    "form.ask.template": "{head}\n\nWhich starting point? Everything can be changed later.\n\n{lines}",
    "form.ask.birth": "{head}\n\nWhen was the birth? Type the day, such as 9 Feb 2026 or 2026-02-09.{lines}",
    "form.ask.four": (
        "{head}\n\nToday's assessment. Are all four true?\nShe contracts the right muscles.\nShe lets go fully.\n"
        "Her resting tone: normal.\nContracting does not hurt.{lines}"
    ),
    "form.ask.contraction": "{head}\n\nDoes she contract the right muscles, and how was it seen?{lines}",
    "form.ask.release": "{head}\n\nDoes she let go fully afterwards?{lines}",
    "form.ask.tone": "{head}\n\nResting tone of the pelvic floor?{lines}",
    "form.ask.hurts": "{head}\n\nDoes contracting hurt?{lines}",
    "form.ask.power": (
        "{head}\n\nStrength, modified Oxford grade 0 to 5? Or type all four values, such as 3/5/4//7.{lines}"
    ),
    "form.ask.endurance": "{head}\n\nFor how many seconds does she hold it, up to 10?{lines}",
    "form.ask.repetitions": "{head}\n\nHow many such holds, with a rest between, up to 10?{lines}",
    "form.ask.fast": "{head}\n\nHow many one-second squeezes in a row, up to 10?{lines}",
    "form.ask.distance": (
        "{head}\n\nThe widest inter-recti distance at head lift, in finger widths? "
        "Upper row above the navel, middle row at it, lower row below.{lines}"
    ),
    "form.ask.stage": "{head}\n\nProlapse stage, 0 to 4?{lines}",
    "form.ask.leakage": "{head}\n\nWhich kind of leakage?{lines}",
    "form.ask.doming": "{head}\n\nDoming on effort?{lines}",
    "form.ask.heaviness": "{head}\n\nHeaviness on effort, 0 to 10?{lines}",
    "form.ask.pain": "{head}\n\nPain on effort, 0 to 10?{lines}",
    "form.ask.bleeding": "{head}\n\nBleeding that is not a period?{lines}",
    "form.ask.screened": "{head}\n\nRed-flag screen done?{lines}",
    "form.ask.baby": "{head}\n\nIs there a baby at home?{lines}",
    "form.ask.mode": "{head}\n\nHow was the birth?\n1  vaginal\n2  forceps\n3  vacuum\n4  caesarean{lines}",
    "form.ask.tear": "{head}\n\nTear grade?{lines}",
    "form.ask.pessary": "{head}\n\nDoes she wear a pessary?{lines}",
    "form.ask.leaks": "{head}\n\nLeakage episodes a week? Tap or type a number.{lines}",
    "form.ask.impact": "{head}\n\nReturn-to-impact screen passed?{lines}",
    "form.ask.cleared": (
        "{head}\n\nCleared for what?\n1  abdominal pressure\n2  pressure and rectus load\n"
        "3  everything, impact too{lines}"
    ),
    "form.ask.cleared_by": "{head}\n\nBy whom and on which day? Type it, such as: GP, 10 Feb 2026{lines}",
    "form.ask.goal": "{head}\n\nHer goal, in her own words? Type it.{lines}",
    "form.ask.note": "{head}\n\nA note of your own for the record? Type it.{lines}",
    "form.ask.initials": "{head}\n\nHer initials, if your clinic shows them? Type them, such as A.B.{lines}",
    "form.ask.sets": "{head}\n\nHow many sets a day?{lines}",
    "form.ask.times": (
        "{head}\n\nAt which times? Earlier and later move them by an hour. "
        "Or type one for each set, such as 08:30 13:00 18:30.{lines}"
    ),
    "form.ask.review": "{head}\n\nReview in how many weeks? Or type the day.{lines}",
    "form.more": "{head}\n\nMore findings, as far as you have them:\n{lines}",
    "form.more.power": "PERFECT values",
    "form.more.distance": "inter-recti distance",
    "form.more.doming": "doming on effort",
    "form.more.heaviness": "heaviness on effort",
    "form.more.pain": "pain on effort",
    "form.more.bleeding": "bleeding",
    "form.more.screened": "red-flag screen done",
    "form.more.baby": "baby at home",
    "form.more.mode": "mode of birth",
    "form.more.tear": "tear grade",
    "form.more.stage": "prolapse stage",
    "form.more.pessary": "pessary",
    "form.more.leakage": "kind of leakage",
    "form.more.leaks": "leakage episodes a week",
    "form.more.impact": "return-to-impact screen passed",
    "form.more.cleared": "clearance",
    "form.more.goal": "her goal",
    "form.more.note": "note",
    "form.more.initials": "initials",
    "form.mode.1": "vaginal",
    "form.mode.2": "forceps",
    "form.mode.3": "vacuum",
    "form.mode.4": "caesarean",
    "form.cleared.1": "for abdominal pressure",
    "form.cleared.2": "for pressure and rectus load",
    "form.cleared.3": "for everything, impact too",
    "form.site.above": "{value} fingers above the navel, at head lift",
    "form.site.at": "{value} fingers at the navel, at head lift",
    "form.site.below": "{value} fingers below the navel, at head lift",
    "form.not_recorded": "not recorded",
    "form.hub": (
        "{head}\n\n{lines}\n\nPutting it in force signs it with your code and the time. She gets nothing before "
        "she opens her invite."
    ),
    "form.unfit": "{head}\n\nThis cannot be put in force yet:\n{lines}",
    "form.again": "{client}: I could not read that as an answer. Please tap one, or type it as the question shows.",
    "form.discarded": "{client}: the draft is thrown away. Nothing was put in force.",
    "form.done": (
        "{client}: version {number} is in force from {day}. Signed {code}, {when}.\n\n"
        "Now, in the room:\n1. She opens this link on her phone: {link}\n2. It asks her for four digits. "
        "Tell her aloud: {digits}\nThe link works once, until {until}."
    ),
    "form.button.value": "{value}",
    "form.button.by_finger": "All true, by finger",
    "form.button.by_eye": "All true, seen from outside",
    "form.button.by_ultrasound": "All true, by ultrasound",
    "form.button.partly": "Not all of them",
    "form.button.not_assessed": "Not assessed",
    "form.button.yes": "Yes",
    "form.button.no": "No",
    "form.button.none": "Not taken",
    "form.button.birth.none": "There was none",
    "form.button.contraction.by_finger": "Yes, by finger",
    "form.button.contraction.by_eye": "Yes, seen from outside",
    "form.button.contraction.by_ultrasound": "Yes, by ultrasound",
    "form.button.low": "Low",
    "form.button.normal": "Normal",
    "form.button.raised": "Raised",
    "form.button.stress": "Stress",
    "form.button.urge": "Urge",
    "form.button.mixed": "Mixed",
    "form.button.dry": "None",
    "form.button.above": "↑ {value}",
    "form.button.at": "· {value}",
    "form.button.below": "↓ {value}",
    "form.button.earlier": "Earlier",
    "form.button.usual": "As usual",
    "form.button.later": "Later",
    "form.button.done": "Back to the summary",
    "form.button.back": "Back",
    "form.button.discard": "Throw away",
    "form.button.force": "Put in force for {client}",
    "form.button.sets": "Sets",
    "form.button.times": "Times",
    "form.button.review": "Review",
    "form.button.more": "More findings",
    "change.head": "{client}: a change, nothing is in force yet.",
    "change.head.fresh": (
        "{client}: a change, nothing is in force yet. Nobody but you sees this. It stays as it is when you are "
        "called away; /change {client} goes on where you were. What holds today goes on."
    ),
    "change.which_client": "Whose plan? /change CODE opens it; /clients lists your clients.",
    "change.ask.what": "{head}\n\n{lines}\n\nWhat changes? One thing at a time.",
    "change.ask.which": "{head}\n\nWhich one?\n{lines}",
    "change.ask.sets": "{head}\n\nHow many sets a day?\n{lines}",
    "change.ask.hold": "{head}\n\nHow many seconds of hold? Ten is a ceiling, not a target.\n{lines}",
    "change.ask.repetitions": "{head}\n\nHow many repetitions? Tap, or type a number up to 30.\n{lines}",
    "change.ask.position": "{head}\n\nWhich position?\n{lines}",
    "change.ask.times": (
        "{head}\n\nAt which times? Earlier and later move them by an hour. "
        "Or type one for each set, such as 08:30 13:00 18:30.\n{lines}"
    ),
    "change.ask.review": "{head}\n\nReview in how many weeks from today? Or type the day.\n{lines}",
    "change.ask.release": (
        "{head}\n\n{lines}\n\nWhy do you open it? Type the reason; it is kept with your code. "
        "It joins her plan as above and can be changed like the rest."
    ),
    "change.ask.why": (
        "{head}\n\n{lines}\n\nWhy, in a line for her? Tap one or type your own. "
        "It stands in the message she gets, so keep it fit for a lock screen."
    ),
    "change.indiscreet": (
        "{client}: that line would show something private on her lock screen. Please say it more plainly, or tap one."
    ),
    "change.hub": "{head}\n\n{lines}\n\nPutting it in force signs it with your code and the time.",
    "change.stale": "another version has been put in force since you began; throw this away and begin again",
    "change.from": "from {day}; until then the version before it holds",
    "change.review_moved": "the review date had passed, so it moves four weeks on",
    "change.aside": "Opened against the gate. This sets aside: {text}",
    "change.never": "This cannot be opened while it stands: {text}",
    "change.why_line": "she reads: {text}",
    "change.done": (
        "{client}: version {number} is in force from {day}. Signed {code}, {when}.\n"
        "{text} If she has not looked at it after two days, she is on your list."
    ),
    "change.told": "She is told in one message.",
    "change.told_at_start": "She learns of it when she has opened her invite.",
    "change.state.ready": "(ready for you to review)",
    "change.state.not_yet": "(not yet)",
    "change.button.what.sets": "Sets",
    "change.button.what.hold": "Hold",
    "change.button.what.repetitions": "Repetitions",
    "change.button.what.position": "Position",
    "change.button.what.times": "Times",
    "change.button.what.review": "Review",
    "change.button.what.release": "Open something",
    "change.button.why.agreed": "As agreed at her visit",
    "change.button.why.well": "It goes well",
    "change.button.why.easier": "Easier for now",
    "change.button.why.day": "Suits her day better",
    "file.head": (
        "{client}: a file, nothing is in force yet. Nobody but you sees this. It stays as it is when you are "
        "called away. Read it through; the button below signs it with your code and the time."
    ),
    "file.hub": "{head}\n\n{lines}",
    "file.faults": (
        "That file cannot be used, and nothing of it was kept. Each line below names the place and what was "
        "expected there. Please mend it and send the file again, here, whenever you like.\n\n{lines}"
    ),
    "file.too_large": "That file is too large: a prescription has at most {number} kB. It was not fetched.",
    "file.not_toml": "I read prescription files only; their names end in .toml. That one was not fetched.",
    "file.lost": "I could not fetch the file from the chat company. Please send it again.",
    "command.change": "Change a plan",
    "room.list": "{client}, what is done in the room:\n{lines}",
    "room.line.done": "✓ {what}",
    "room.line.open": "○ {what}",
    "room.invite": "she has opened her invite and agreed",
    "room.nudge": "her first message has come",
    "room.answer": "she has answered it",
    "room.cues": "she has chosen her own moments (/times on her phone)",
    "room.button.again": "Look again",
    "room.button.nudge": "Send her a trial message",
    "room.not_open": "{client} has not opened her invite and agreed yet. Then a trial can be sent.",
    "room.sent": "{client}: the trial message is on its way to her phone.",
    "command.new": "A new client",
    "command.room": "What is done in the room",
}

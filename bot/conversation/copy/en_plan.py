"""What a client reads about her plan: the trial in the room, a change, what is not in it yet."""

SENTENCES = {
    "trial.nudge": (
        "This is a trial, with your therapist beside you. Later I ask you at your times, just like this: "
        "good time for your first one today?\nTap the button now. It counts for nothing yet."
    ),
    "trial.button.done": "Done (a trial)",
    "trial.answered": (
        "Thank you, it works. From now on you can tap, or type a number such as 2. "
        "/times lets you move my times and tie them to something you do every day."
    ),
    "plan.changed": (
        "Your plan changes from {starts}. {why}\n\n{lines}\n\nUntil then, please go on as before. "
        "Show me tells you all of it. If you are not sure, say so."
    ),
    "plan.why_given": "Your therapist writes: {text}",
    "plan.why.agreed": "You agreed it at your visit.",
    "plan.why.well": "It goes well for you.",
    "plan.why.easier": "This makes it easier for now.",
    "plan.why.day": "This suits your day better.",
    "plan.why.looked": "Your therapist has looked at how it goes.",
    "plan.change.hold": "Hold each one for {after} seconds. It was {before}.",
    "plan.change.repetitions": "Do {after} in a row. It was {before}.",
    "plan.change.rest": "Rest for {after} seconds between them. It was {before}.",
    "plan.change.position": "Do it {after}. It was {before}.",
    "plan.change.minutes": "Do it for {after} minutes. It was {before}.",
    "plan.change.sets_a_day": "{after} times a day. It was {before}.",
    "plan.change.times_a_day": "One part is due {after} times a day. It was {before}.",
    "plan.change.added": "One part is new.",
    "plan.change.left_out": "One part is no longer in it.",
    "plan.change.nudge_times": "I write at {times}.",
    "plan.change.review": "We look at it again on {day}.",
    "plan.change.other": "Some days or times change.",
    "plan.button.show": "Show me",
    "plan.button.unsure": "Not sure",
    "plan.button.call": "Call me",
    "plan.shown": "From {starts}: {sets} times a day, at {times}.\n\n{lines}\n\nIf anything is unclear, write it here or tap a button.",
    "plan.unsure": (
        "Thank you for saying so. I pass it on now. Please go on as before until your therapist has spoken to you. "
        "She sees it when the clinic is open: {opening}. Sooner: ring {phone}."
    ),
    "plan.none": "There is no plan for you yet. Please ask your therapist, or ring {phone}.",
    "plan.not_yet": (
        "Some things are not yet in your plan. We look at them at your review, you and your therapist together. "
        "You need to do nothing about it now. If you have a question about one of them, write it here.\n\n{lines}"
    ),
    "plan.not_yet.all": "All of these wait for this:\n{why}",
    "plan.not_yet.line": "{what}\n{why}",
    "plan.why.ready": "your therapist is to look at it with you",
    "plan.why.pregnancy": "you have told us of a pregnancy",
    "plan.why.sign": "something you told us is still to be looked at",
    "plan.why.symptoms": "we first look again at how your body takes it",
    "plan.why.clearance": "a clinician has to say yes to it first",
    "plan.why.weeks": "it is still early after the birth",
    "plan.why.distance": "the middle of your belly is to be measured again first",
    "plan.why.impact_screen": "a short test comes first",
    "command.notyet": "What is not in my plan yet",
}

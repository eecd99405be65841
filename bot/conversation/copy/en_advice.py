"""Safety advice in English.

The first 160 characters say whom to call and name no symptom, since they may stand on a lock screen. No
diagnosis, no reassurance; sentences of at most twelve words. The clinic's own numbers are filled in.
"""

_NOT_WATCHED = "Nobody watches this chat live. I am a program and give no diagnosis. {seen_when}"

SENTENCES = {
    "advice.ambulance": (
        "Call {emergency_number} now. Ask for an ambulance.\n"
        "Do not wait for an answer here. Do not drive yourself.\n"
        "Have someone stay with you, if you can.\n\n"
        "What you wrote needs a person now, not a chat. " + _NOT_WATCHED + "\n"
        "Stop all exercises. Your reminders are paused."
    ),
    "advice.emergency_department": (
        "Go to the emergency department or maternity triage now.\n"
        "If you cannot get there, call {emergency_number}.\n"
        "Do not drive yourself. Take someone with you, if you can.\n\n"
        "What you wrote needs a person now, not a chat. " + _NOT_WATCHED + "\n"
        "Stop all exercises. Your reminders are paused."
    ),
    "advice.crisis_line": (
        "Call {emergency_number} now, or go to the emergency department.\n"
        "Please do not stay alone. Ask someone to be with you.\n\n"
        "Thank you for writing this. You deserve help from a person today. "
        "You can also ring {number_now}.\n"
        "Your reminders are paused.\n\n" + _NOT_WATCHED
    ),
    "advice.baby_advice": (
        "Call {emergency_number} now for your baby. Say what you see.\n"
        "Do not wait for an answer here.\n\n"
        "This chat cannot help a baby. A person can, now. Your reminders are paused.\n\n" + _NOT_WATCHED
    ),
    "advice.safeguarding": (
        "If you are in danger, call {emergency_number}.\n"
        "For someone to talk to, ring {number_now}.\n\n"
        "Thank you for writing. {seen_when} Nobody watches this chat live. I am only a program."
    ),
    "advice.clinician_today": (
        "Ring {number_now} today, or your doctor. Say what you wrote here.\n"
        "If it gets worse or you feel very ill, call {emergency_number}.\n" + _NOT_WATCHED + "\n\n"
        "Your midwife or maternity unit can help too.{stops}"
    ),
    "advice.stops": (
        "\nSet your exercises aside until a clinician says to go on. "
        "Your reminders are paused until your therapist starts them again."
    ),
    "advice.therapist": (
        "Please ring your clinic about this: {ring_clinic}.\n"
        "If it gets worse, or you feel ill, call a doctor or {emergency_number}.\n" + _NOT_WATCHED + "\n\n"
        "Set aside the exercise that brings it on. Your other sets go on."
    ),
    # Signs whose advice is not their route's: a person first, no talk of exercises.
    "advice.sign.loss": (
        "I am so sorry. If you want to talk to someone, ring {number_now}.\n"
        "If you feel ill or not safe, call {emergency_number}.\n\n"
        "I write nothing more until you or your clinic want me to. {seen_when}"
    ),
    "advice.sign.pregnant_again": (
        "Thank you for telling me. Please ring your clinic about your plan: {number_now}.\n"
        "If you feel ill, call your doctor or {emergency_number}.\n" + _NOT_WATCHED + "\n\n"
        "I pause your reminders until your therapist has looked at your plan."
    ),
    "advice.sign.low_mood": (
        "Thank you for writing this. Please ring {number_now} today, or your doctor.\n"
        "Not safe? Call {emergency_number}, and do not stay alone.\n\n" + _NOT_WATCHED
    ),
    "advice.next_review": (
        "I noted this for your therapist to see.\n"
        "If it is new or gets worse, ring {number_now}. If you feel very ill, call {emergency_number}.\n\n"
        + _NOT_WATCHED
    ),
    "advice.own": "{text}",  # a clinic's own words, checked when its file is read
    "advice.unsure_question": "Is this happening to you now?",
    "advice.unsure_no": (
        "Thank you. I passed your answer on as well.\n"
        "If it is so after all, call {emergency_number}, or ring {number_now}."
    ),
    "advice.unsure_yes": (
        "Then please do it now: call {emergency_number}, or ring {number_now}.\nI passed your answer on."
    ),
    "advice.unsure_old": "I passed your answer on. If it is urgent, call {emergency_number}.",
    "advice.holds.emergency": (
        "What I wrote before still holds: call {emergency_number} now.\n"
        "Do not wait for an answer here. I passed this on as well."
    ),
    "advice.holds.same_day": (
        "What I wrote before still holds: ring {number_now} today.\n"
        "If it gets worse, call {emergency_number}. I passed this on as well."
    ),
    "advice.undelivered": (
        "I could not pass this on to your clinic. Please ring {number_now} yourself.\n"
        "If it is urgent, call {emergency_number} now."
    ),
    "follow_up.ask": (
        "Did you reach someone who can help? If not, ring {number_now}.\n"
        "In an emergency call {emergency_number}. Nobody watches this chat live."
    ),
    "follow_up.button.yes": "Yes, I did",
    "follow_up.button.no": "Not yet",
    "follow_up.yes": (
        "Thank you. I passed that on. Please do as they told you.\n"
        "If it gets worse, call {emergency_number}, or ring {number_now}."
    ),
    "follow_up.no.emergency": (
        "Please call {emergency_number} now. Do not wait for an answer here.\n"
        "I told your clinic that you have reached nobody yet."
    ),
    "follow_up.no.same_day": (
        "Please ring {number_now} now, or your doctor.\n"
        "If it gets worse, call {emergency_number}. I told your clinic."
    ),
    "follow_up.undecided": (
        "Your therapist has not answered what you wrote yet. Please ring {phone}.\n"
        "If it gets worse, call a doctor or {emergency_number}. Your other sets go on."
    ),
    "numb.question": (
        "One short question, to be on the safe side. It stands a little further down, so that no lock screen "
        "shows it. What you wrote I keep for your therapist. Nobody watches this chat live. "
        "If you feel ill, ring {number_now}, or call {emergency_number}.\n\n"
        "When you wipe, or pass water: can you feel it as you always did?"
    ),
    "numb.button.feel": "Yes, as always",
    "numb.button.numb": "No, or less",
    "numb.no": (
        "Thank you. I kept that for your therapist. If you ever feel less there, "
        "call {emergency_number}, or go to the emergency department."
    ),
    "advice.seen_on_call": "Somebody on call at your clinic is told now.",
    "advice.seen_away": "Your therapist is away until {day}. Nobody reads for her.",
    "advice.seen_open": "Your therapist is told now, in clinic hours.",
    "advice.seen_closed": "The clinic is closed. Your therapist will see it from {opening}.",
    "advice.seen_later": "Your therapist will see it from {opening}.",
    "advice.seen_open_colleague": "A colleague of your therapist is told now, in clinic hours.",
    "advice.seen_closed_colleague": "The clinic is closed. A colleague of your therapist will see it from {opening}.",
    "advice.seen_review": "Your therapist sees it at your next review.",
    "button.yes_now": "Yes, now",
    "button.not_now": "No, not now",
}

"""What a therapist reads about maintenance and discharge, in English."""

SENTENCES = {
    "ending.maintain_usage": "Please write the code and the last day, for instance: /maintain K1 1 September",
    "ending.maintain_day": "{client}: until which day, at most a year ahead? For instance: /maintain K1 1 September",
    "ending.offered": "{client}: offered one message a week until {day}, with you as owner. It begins when she says yes.",
    "ending.taken": "{client} has taken maintenance: one message a week until {day}. You look after it.",
    "ending.declined": "{client} would rather not have maintenance (offered until {day}). All stays as it was.",
    "ending.over": (
        "{client}: maintenance ended on {day}. Nothing more is sent. "
        "/finish {client} REASON closes the programme, /maintain {client} DAY offers more."
    ),
    "ending.discharge_usage": "Please write the code and the reason, for instance: /finish K1 goals reached",
    "ending.discharge_sure": (
        "{client}: close the programme? She is told at once and gets nothing more. Her record stays. "
        "What she writes afterwards is answered with your clinic's number and read by nobody.\nReason: {reason}"
    ),
    "ending.button.discharge": "Close for {client}",
    "ending.button.keep": "Keep it open",
    "ending.discharged": "{client}: closed. She has been told whom to ring.",
    "ending.kept": "{client}: stays open.",
    "ending.alert_open": "{client} has an open alert. Please close it first.",
    "ending.not_active": "{client} has no running programme.",
    "command.maintain": "Offer one message a week",
    "command.finish": "Close a programme, with its reason",
}

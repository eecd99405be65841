"""What a client reads about her plan: the trial in the room."""

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
}

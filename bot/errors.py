"""The root of our errors: one class for each reaction, not one for each place."""


class BotError(Exception):
    """Anything this program raises on purpose; its text is meant to be read by a person."""


class RefusedError(BotError):
    """Input or a request that cannot be taken; nothing was stored.

    faults: one line each, naming the place and what was expected. A command prints them and ends with 2.
    """

    def __init__(self, *faults: str) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


class SettingsError(RefusedError):
    """Settings that are missing or malformed; every fault names its setting."""


class DeadTokenError(BotError):
    """The platform does not know our token any more; nothing can be sent or received."""

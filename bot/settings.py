"""Settings, from the environment or a secrets folder; every fault is reported in one go."""

import os
import re
from pathlib import Path
from typing import Literal, TypeVar

from pydantic import Field, HttpUrl, SecretStr, ValidationError, field_validator, model_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from bot.errors import SettingsError

BOT_TOKEN_SHAPE = r"^\d{1,20}:[A-Za-z0-9_-]{10,}$"  # noqa: S105 - a shape, not a token
SECRET_SHAPE = r"^[A-Za-z0-9_-]{16,256}$"  # noqa: S105 - the same


def default_database() -> str:
    """A SQLite file in the user's data folder."""
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return f"sqlite:///{Path(base) / 'programme-bot' / 'programme.sqlite3'}"


class DatabaseSettings(BaseSettings):
    """What every verb that reads or writes the database needs."""

    model_config = SettingsConfigDict(extra="ignore", hide_input_in_errors=True, secrets_dir=None)

    database_url: SecretStr = Field(default_factory=lambda: SecretStr(default_database()))
    data_keys: SecretStr | None = None
    data_keys_file: Path | None = None
    log_level: Literal["debug", "info", "warning", "error"] = "info"

    @field_validator("log_level", mode="before")
    @classmethod
    def _any_case(cls, value: object) -> object:
        return value.lower() if isinstance(value, str) else value

    @model_validator(mode="after")
    def _one_source_of_keys(self) -> "DatabaseSettings":
        if (self.data_keys is None) == (self.data_keys_file is None):
            raise ValueError(
                "DATA_KEYS: expected either DATA_KEYS or DATA_KEYS_FILE; "
                "make a key with `programme-bot new-key`",
            )
        return self

    def keys_text(self) -> str:
        """The master keys as written; raises SettingsError when their file cannot be read."""
        if self.data_keys is not None:
            return self.data_keys.get_secret_value()
        try:
            return Path(str(self.data_keys_file)).expanduser().read_text(encoding="utf-8")
        except OSError as error:
            raise SettingsError(
                f"DATA_KEYS_FILE: {self.data_keys_file} cannot be read ({error.strerror})"
            ) from None
        except UnicodeDecodeError:
            raise SettingsError(f"DATA_KEYS_FILE: {self.data_keys_file} is not a text file") from None


class LinkSettings(DatabaseSettings):
    """What an invite link needs besides: the platform is asked for the bot's name."""

    bot_token: SecretStr | None = None
    bot_api_url: HttpUrl = HttpUrl("https://api.telegram.org")

    @field_validator("bot_token")
    @classmethod
    def _token_shape(cls, value: SecretStr | None) -> SecretStr | None:
        if value is not None and not re.fullmatch(BOT_TOKEN_SHAPE, value.get_secret_value()):
            raise ValueError("not a bot token; expected NUMBER:LETTERS as the platform gave it")
        return value


class ServeSettings(LinkSettings):
    """What `serve` needs besides."""

    bot_token: SecretStr
    send_rate: float = Field(default=30.0, ge=1, le=1000)
    webhook_url: HttpUrl | None = None
    webhook_secret: SecretStr | None = None
    listen: str = "127.0.0.1:8080"

    @field_validator("listen")
    @classmethod
    def _listen_shape(cls, value: str) -> str:
        host, _, port = value.rpartition(":")
        if not host or not port.isdecimal() or not 0 < int(port) < 65536:  # noqa: PLR2004 - ports
            raise ValueError("expected HOST:PORT, such as 127.0.0.1:8080")
        return value

    @model_validator(mode="after")
    def _webhook_pair(self) -> "ServeSettings":
        secret = self.webhook_secret.get_secret_value() if self.webhook_secret else ""
        if self.webhook_url is not None and not re.fullmatch(SECRET_SHAPE, secret):
            raise ValueError("WEBHOOK_SECRET: expected 16 to 256 letters, digits, _ or - beside WEBHOOK_URL")
        return self


Kind = TypeVar("Kind", bound=DatabaseSettings)


def read(kind: type[Kind]) -> Kind:
    """The settings of the environment, or of the folder SECRETS_DIR names.

    Raises SettingsError with a line for each fault that names its setting, never showing a value.
    """
    folder = os.environ.get("SECRETS_DIR")
    try:
        return kind(_secrets_dir=folder) if folder else kind()  # type: ignore[call-arg] # pydantic-settings takes it
    except ValidationError as error:
        raise SettingsError(*(_fault(e["loc"], e["type"], e["msg"]) for e in error.errors())) from None


def _fault(place: tuple[int | str, ...], kind: str, message: str) -> str:
    said = message.removeprefix("Value error, ")
    if not place:
        return said
    name = str(place[0]).upper()
    return f"{name}: missing" if kind == "missing" else f"{name}: {said}"

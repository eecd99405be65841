"""The bot dies between acknowledging a message and handling it: nothing lost, nothing twice."""

import datetime as dt
from pathlib import Path

from demo import cast
from tests.flows.conftest import Scene

DYING = Path(__file__).with_name("dying_bot.py")


def test_killed_between_storing_and_handling(scene: Scene) -> None:
    """The update is committed, the process is killed before it is handled; the next one handles it once."""
    client = scene.enrol()
    scene.room.move(step="next")
    scene.stop_bot()
    with cast.running_bot(scene.environment, scene.room.url, [str(DYING)]) as dying:
        scene.room.say(client, "2", settle=False)
        scene.room.say(client, "blood is pouring out of me", settle=False)
        assert dying.wait(20) == -9
    assert scene.sql("select count(*) from set_report") == [(0,)]
    assert scene.sql("select count(*) > 0 from inbox where state = 'new'") == [(1,)]
    with cast.running_bot(scene.environment, scene.room.url):
        # The dead process's claim is over after its lease.
        scene.room.move(by_s=dt.timedelta(seconds=30).total_seconds())
        texts = scene.texts(client)
    assert texts.count("Noted: 2 of 3 today.") == 1
    assert sum(text.startswith("Call 112 now.") for text in texts) == 1
    assert scene.sql("select value from set_report") == [(2,)]
    assert scene.sql("select count(*) from alert") == [(1,)]

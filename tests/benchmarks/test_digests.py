"""The digests' benchmark: pandas and one query per client come to the same figures. Times are not judged."""

from pathlib import Path

from bot.domain.adherence import adherence
from bot.store import vault
from tests.benchmarks import _histories, digests
from tests.store import prepared

CLIENTS = 30


def test_the_peers_work_out_the_same_figures(tmp_path: Path) -> None:
    path, key = tmp_path / "clinic.sqlite", vault.new_master_key()
    prepared.at_head(f"sqlite:///{path}")
    store = prepared.open_store(f"sqlite:///{path}", _histories.JOINED, key)
    _histories.fill(store, CLIENTS)
    lines = digests.ours(store)
    frame = digests.with_pandas(path, vault.parse_master_keys(key))
    digests.agree(lines, frame)
    by_code = frame.set_index("code")
    for line in lines[0]:
        (now,) = {line.client.leaks[-1]}
        told = by_code.loc[line.code, "leaks-0"]
        assert now is not None
        assert now.low <= told <= (now.high or told), line.code
    codes = [f"C{n}" for n in range(CLIENTS)]
    alone = {week.code: adherence(week.days) for week in digests.one_by_one(store, codes)}
    assert alone == {line.code: line.figures for line in lines[0]}
    store.close()

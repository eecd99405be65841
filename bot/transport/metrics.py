"""The figures in the text format that Prometheus reads, by its own client library."""

from collections.abc import Iterator

from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily
from prometheus_client.registry import Collector

from bot.service.gauges import Gauges

CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"


class _Once(Collector):
    """The figures of one reading."""

    def __init__(self, gauges: Gauges) -> None:
        self._gauges = gauges

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """Every family with its samples."""
        gauges = self._gauges
        for name, about, value in (
            ("programme_due_lag_seconds", "how late the agenda is", gauges.due_lag_s),
            ("programme_inbox_age_seconds", "how long the oldest update has waited", gauges.inbox_age_s),
            ("programme_undelivered_alerts", "open alerts told to nobody", gauges.undelivered_alerts),
        ):
            yield GaugeMetricFamily(name, about, value=value)
        for name, about, label, counts in (
            ("programme_queued_messages", "messages that wait though they may go", "kind", gauges.queued),
            (
                "programme_failed_messages",
                "not sent in the last hour",
                "state",
                gauges.failed,
            ),
            ("programme_unseen_alerts", "open alerts nobody has seen", "level", gauges.unseen_alerts),
        ):
            family = GaugeMetricFamily(name, about, labels=[label])
            for which, number in sorted(counts.items()):
                family.add_metric([which], number)
            yield family


def rendered(gauges: Gauges) -> bytes:
    """The page."""
    registry = CollectorRegistry(auto_describe=False)
    registry.register(_Once(gauges))
    return generate_latest(registry)

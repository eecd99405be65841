"""How often the warning reader would ring for nothing in a week of ordinary traffic.

The mix is our own (common practice, no source): most answers are taps, most of what is typed is a count, some
is talk, and a tenth of the talk shares words with a sign ("dying for a coffee"). The figures are engineering
checks on phrases, not clinical performance.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from bot.domain.levels import Level
from bot.domain.warning_signs import SignRules, hear
from tests.corpora import signs_table

COUNTS_A_WEEK = 4.0
TALK_A_WEEK = 1.5
LIKE_A_SIGN = 0.1  # of the talk
CASELOAD = 60
MOST_PUSHED_A_WEEK = 1.0  # for a therapist with that caseload: our own goal
DAILY = "signs_daily.tsv"
# A count that tells of a symptom as well is no false alert.
SYMPTOM = (
    "pain",
    "hurt",
    "sore",
    "ache",
    "leak",
    "heav",
    "drag",
    "bulg",
    "bled",
    "blood",
    "\N{DROP OF BLOOD}",
    "temp",
    "migraine",
    "rough",
    "poorly",
    "cold",
    "pooed",
    "baby",
)


@dataclass(frozen=True, slots=True)
class Rates:
    """The share of messages that raise `therapist` or higher, and of those that are pushed at once."""

    raised: float
    pushed: float


# The five newest sets, read before any rule was fitted to them: of 281 messages that mean nothing, 13 were
# raised, 12 of them to same_day or higher.
LOOK_ALIKES_AT_FIRST_SIGHT = Rates(13 / 281, 12 / 281)


def rates(texts: Iterable[str], rules: SignRules) -> Rates:
    """What the rules make of messages that are no warning."""
    levels = [hear(text, rules).level for text in texts]
    raised = sum(signs_table.at(Level.THERAPIST)(level) for level in levels)
    pushed = sum(signs_table.at(Level.SAME_DAY)(level) for level in levels)
    return Rates(raised / len(levels), pushed / len(levels))


def counts() -> list[str]:
    """The labelled counts that tell of nothing else."""
    lines = (Path(__file__).parent / "counts.tsv").read_text(encoding="utf-8").splitlines()[1:]
    texts = [line.split("\t")[0] for line in lines if line and not line.startswith("#")]
    return [text for text in texts if not any(word in text.casefold() for word in SYMPTOM)]


def harmless(names: Iterable[str]) -> list[str]:
    """The messages of some files that are labelled as no warning."""
    return [said.text for name in names for said in signs_table.labelled(name) if said.level is None]


def a_week(counted: Rates, daily: Rates, alike: Rates) -> Rates:
    """False alerts in one client-week of the mix."""

    def total(kind: str) -> float:
        talk = (1 - LIKE_A_SIGN) * getattr(daily, kind) + LIKE_A_SIGN * getattr(alike, kind)
        return COUNTS_A_WEEK * float(getattr(counted, kind)) + TALK_A_WEEK * float(talk)

    return Rates(total("raised"), total("pushed"))


def table(rules: SignRules) -> str:
    """False alerts with the rules as they are, and as they would be on look-alikes never seen before."""
    counted, daily = rates(counts(), rules), rates(harmless([DAILY]), rules)
    lines = []
    for name, alike in (
        ("as fitted", rates(harmless(signs_table.FILES), rules)),
        ("look-alikes at first sight", LOOK_ALIKES_AT_FIRST_SIGHT),
    ):
        week = a_week(counted, daily, alike)
        pushed = CASELOAD * week.pushed
        verdict = "ok" if pushed <= MOST_PUSHED_A_WEEK else "MISSED"
        lines.append(
            f"false alerts, {name}: {100 * week.raised:.1f} in 100 client-weeks,"
            f" {100 * week.pushed:.1f} pushed;"
            f" {pushed:.2f} pushed a week with {CASELOAD} clients, at most {MOST_PUSHED_A_WEEK:.0f} {verdict}"
        )
    return "\n".join(lines)

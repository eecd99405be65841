"""Works out the second ear from the labelled messages: `python -m tests.corpora.learn_leaning` writes it.

A logistic regression on the clues of each message (emergency or not), kept small and rounded. It is done in
the same order every time, so that the same messages give the same points.
"""

import math
import random
from collections import Counter, defaultdict
from collections.abc import Iterable

from bot.domain.levels import Level
from bot.domain.warning_leaning import Leaning
from bot.domain.warning_signs import SignRules, sentence_clues
from bot.rules import signs
from tests.corpora import signs_table, traffic

TARGET = signs.FOLDER / "signs_second_ear.toml"
ROUNDS = 30
STEP = 0.2
SHRINK = 1.0  # pulls every weight towards nothing, the rare ones most
SCALE = 10  # points for one unit of log odds
LIGHTEST = 3  # points; what weighs less is left out
FLOOR = 20  # points; log odds of 2
# Small words say nothing of what is the matter, however often emergencies hold them: no clue is made of them
# alone, or "I would like to" would sound like somebody's last words.
SMALL = frozenset({
    "i", "im", "ive", "id", "me", "my", "mine", "myself", "we", "our", "you", "your", "he", "she", "it",
    "its", "they", "them", "this", "that", "these", "those", "a", "an", "the", "and", "or", "but", "if",
    "so", "as", "of", "to", "in", "on", "at", "by", "for", "with", "from", "about", "into", "over", "after",
    "before", "up", "down", "out", "off", "is", "am", "are", "was", "were", "be", "been", "being", "do",
    "does", "did", "doing", "have", "has", "had", "having", "will", "would", "could", "should", "can",
    "may", "might", "must", "shall", "just", "really", "very", "quite", "then", "than", "there", "here",
    "when", "while", "which", "who", "whom", "what", "where", "why", "how", "all", "some", "any", "each",
    "every", "more", "most", "other", "such", "own", "same", "too", "also", "again", "ever", "only", "like",
    "get", "got", "getting", "go", "going", "gone", "went", "come", "came", "one", "two", "now", "still",
    "even", "well", "yes", "no", "not", "since", "because", "until", "us", "her", "his", "him", "their",
    "think", "thing", "things", "know", "bit", "lot",
})  # fmt: skip
HEAVIER_HARMLESS = 1.5  # a false alarm counts for so much more than a miss, since the phrases hear first

Sample = tuple[list[str], bool, str]


def tells(clue: str) -> bool:
    """Whether a clue is more than small words, or the beginning of one."""
    if clue.endswith("*"):
        return not any(word.startswith(clue[:-1]) for word in SMALL)
    return not all(word in SMALL for word in clue.split())


def samples(rules: SignRules, names: Iterable[str]) -> list[Sample]:
    """The clues of every labelled message, whether it is an emergency, and its sign."""
    out: list[Sample] = []
    for name in names:
        for said in signs_table.labelled(name):
            found = {clue for each in sentence_clues(said.text, rules) for clue in each if tells(clue)}
            out.append((sorted(found), said.level is Level.EMERGENCY, said.sign))
    out.extend(
        (sorted({c for each in sentence_clues(text, rules) for c in each if tells(c)}), False, "-")
        for text in traffic.counts()
    )
    return out


def learn(known: list[Sample], emergencies: set[str]) -> Leaning:
    """The points that tell emergencies from everything else."""
    often = Counter(clue for found, _, _ in known for clue in found)
    weights: defaultdict[str, float] = defaultdict(float)
    base = 0.0
    dice = random.Random(1)
    order = list(range(len(known)))
    for turn in range(ROUNDS):
        dice.shuffle(order)
        step = STEP / (1 + turn)
        for at in order:
            found, urgent, _ = known[at]
            score = base + sum(weights[clue] for clue in found)
            wrong = urgent - 1 / (1 + math.exp(-max(-30.0, min(30.0, score))))
            if not urgent:
                wrong *= HEAVIER_HARMLESS
            base += step * wrong * 0.1
            for clue in found:
                weights[clue] += step * (wrong - SHRINK * weights[clue] / often[clue])
    by_clue: defaultdict[str, Counter[str]] = defaultdict(Counter)
    for found, urgent, sign in known:
        for clue in found if urgent and sign in emergencies else ():
            by_clue[clue][sign] += 1
    points = {clue: round(SCALE * weight) for clue, weight in weights.items()}
    points = {clue: points[clue] for clue in sorted(points) if abs(points[clue]) >= LIGHTEST}
    speaks = {
        c: max(by_clue[c], key=lambda s: (by_clue[c][s], s)) for c in points if points[c] > 0 and by_clue[c]
    }
    return Leaning(round(SCALE * base), FLOOR, points, speaks)


HEAD = """\
# The second ear: clues that add up to an emergency where no phrase fits. A clue is a word, the beginning of a
# word ("abcd*"), or a pair of words with nothing but fillers between; 0 stands for any number. The points are
# worked out from the labelled messages by `python -m tests.corpora.learn_leaning`, not written by hand.
"""


def learn_all(rules: SignRules) -> Leaning:
    """The points from every labelled message there is."""
    urgent = {
        sign.id
        for sign in rules.signs.values()
        if any(said.level is Level.EMERGENCY for said in sign.sayings)
    }
    return learn(samples(rules, [*signs_table.FILES, traffic.DAILY]), urgent)


def written(leaning: Leaning) -> str:
    """The file, for people to read: clues by the sign they speak for, then those against."""
    lines = [HEAD, "[second_ear]", f"base = {leaning.base}", f"floor = {leaning.floor}"]
    for sign in sorted(set(leaning.speaks_for.values())):
        lines += ["", f"[second_ear.speaks_for.{sign}]"]
        lines += [
            f'"{clue}" = {points}'
            for clue, points in leaning.points.items()
            if leaning.speaks_for.get(clue) == sign
        ]
    lines += ["", "[second_ear.against]"]
    lines += [
        f'"{clue}" = {points}' for clue, points in leaning.points.items() if clue not in leaning.speaks_for
    ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    TARGET.write_text(written(learn_all(signs.load())), encoding="utf-8")

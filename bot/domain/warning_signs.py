"""Warning signs in what a client types: rules as values in, a reading with its reasons out.

The reader never decides what a finding means. It says which signs a message may tell of, how urgent each
would be by the rules in force, which words made it think so, and what in the message speaks against it.
In doubt it takes the higher level and says that it is unsure.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import Enum
from types import MappingProxyType
from typing import Final

from bot.domain import levels, warning_leaning, warning_match, warning_notation, warning_scope
from bot.domain.levels import Level
from bot.domain.warning_leaning import Leaning
from bot.domain.warning_match import Grammar, Message, Places
from bot.domain.warning_notation import Phrase
from bot.domain.warning_scope import Cue, Denial, Reach, Scope
from bot.domain.warning_text import Clauses
from bot.domain.warning_words import Lexicon


class Route(Enum):
    """Whom the client is told to contact, one for each sign and level."""

    AMBULANCE = "ambulance"
    EMERGENCY_DEPARTMENT = "emergency_department"
    CRISIS_LINE = "crisis_line"
    BABY_ADVICE = "baby_advice"
    SAFEGUARDING = "safeguarding"
    CLINICIAN_TODAY = "clinician_today"
    THERAPIST = "therapist"


class Handling(Enum):
    """How an alert is handled.

    SENSITIVE: check that it is safe to call; nothing is asked of her afterwards. SAFEGUARDING: the same, and
    the clinic's safeguarding lead is told too.
    """

    ORDINARY = "ordinary"
    SENSITIVE = "sensitive"
    SAFEGUARDING = "safeguarding"


class Stops(Enum):
    """Which exercise is set aside until somebody has decided."""

    NOTHING = "nothing"
    THAT_EXERCISE = "that_exercise"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Saying:
    """Phrases that tell of a sign at one level. `sure` False: ask, and give the safety-net line."""

    level: Level
    sure: bool
    route: Route
    phrases: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sign:
    """One warning sign.

    level: its usual level. lowered: what is left of an emergency-to-review level when something denies it,
    None for nothing at all. look_alikes: phrases whose words do not count for this sign. never_lowered: a
    client's later "no" adds to the alert and does not lower it. source: where the level comes from;
    source_read: whether that source was read or is quoted from memory.
    """

    id: str
    title: str
    level: Level
    route: Route
    handling: Handling
    stops: Stops
    pauses_nudges: bool
    advice: str
    never_lowered: bool
    source: str
    source_read: bool
    sayings: tuple[Saying, ...]
    look_alikes: tuple[str, ...]
    lowered: Mapping[tuple[Level, Denial], Level | None]


@dataclass(frozen=True, slots=True)
class Combination:
    """Signs that together are worse than each alone: `sign` rises to `level` by way of `route`."""

    together: frozenset[str]
    sign: str
    level: Level
    route: Route


@dataclass(frozen=True, slots=True)
class CueWords:
    """A denying cue as written in the rules."""

    denial: Denial
    reach: Reach
    words: int
    past_subject: bool
    phrases: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Language:
    """Everything about a language that is not a sign.

    families: word families by name; two are required, `symptom` and `body`. same: other spellings and
    shorthand with what they stand for. slips: words whose misspellings are looked for. ordinary: words
    that are right as they stand. shams: what looks like
    a denial and is none ("not only"). figures: figures of speech, whose words count for no sign. worse:
    words that say a known complaint has changed.
    """

    code: str
    families: Mapping[str, tuple[str, ...]]
    same: Mapping[str, str]
    slips: frozenset[str]
    ordinary: frozenset[str]
    fillers: frozenset[str]
    breaks: frozenset[str]
    ands: frozenset[str]
    ors: frozenset[str]
    subjects: frozenset[str]
    stops: frozenset[str]
    lead_ins: frozenset[str]
    cues: tuple[CueWords, ...]
    shams: tuple[str, ...]
    figures: tuple[str, ...]
    worse: tuple[str, ...]


class _Role:
    """What a compiled phrase is for."""

    SHAM: Final = "sham"
    CUE: Final = "cue"
    FIGURE: Final = "figure"
    LOOK_ALIKE: Final = "look_alike"
    SAYING: Final = "saying"
    WORSE: Final = "worse"


@dataclass(frozen=True, slots=True)
class _Engine:
    lexicon: Lexicon
    grammar: Grammar
    cues: tuple[Cue, ...]
    index: warning_match.Index
    sayings: tuple[tuple[int, Sign, Saying], ...]  # with the number of the sign


@dataclass(frozen=True, slots=True)
class SignRules:
    """A compiled set of rules; build it with `compile_rules`.

    signs: by id, in the order of the rules. version: goes on record with every alert. leaning: clues of
    emergencies that add up where no phrase fits, None for rules without them.
    """

    version: str
    language: str
    signs: Mapping[str, Sign]
    combinations: tuple[Combination, ...]
    leaning: Leaning | None
    _engine: _Engine = field(repr=False, compare=False)


class RuleFault(ValueError):  # noqa: N818 - the trade of this room: a rule at fault
    """A rule that cannot be used. `where` is a sign id or a section, `what` the field."""

    def __init__(self, where: str, what: str, reason: str) -> None:
        super().__init__(f"{where}: {what}: {reason}")
        self.where = where
        self.what = what
        self.reason = reason


@dataclass(frozen=True, slots=True)
class Heard:
    """One sign that a message may tell of.

    words: the words that fired, in order. sure: False when a person should be asked. denied_by: what in the
    message speaks against it, None if nothing; against: the words that do. In `Hearing.denied` the level is
    the one it would have had.
    """

    sign: str
    level: Level
    route: Route
    words: tuple[str, ...]
    sure: bool
    denied_by: Denial | None = None
    against: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Hearing:
    """What a message may tell of.

    heard: most urgent first. denied: signs that are named and denied. level: the highest heard, None if
    nothing was. sure: whether anything at that level is sure; True when nothing was heard.
    """

    heard: tuple[Heard, ...]
    denied: tuple[Heard, ...]
    level: Level | None
    sure: bool
    explanation: str


_ROUTES: Final = tuple(Route)  # the more urgent first
SILENCE: Final = Hearing((), (), None, True, "no sign named")


def hear(text: str, rules: SignRules, *, known: frozenset[str] = frozenset()) -> Hearing:
    """Read one message for warning signs.

    text: as typed, any length, any characters. known: ids of signs that are this client's unchanged
    baseline; those that would be for the therapist are only recorded for the next review, unless the
    message says that they are worse. Emergency and same-day signs are never quietened by it.
    """
    engine = rules._engine  # noqa: SLF001 - the compiled half of the same value
    message, found, figures, scopes = _look(text, engine)
    hidden: dict[int, frozenset[int]] = {}
    for phrase, owner in found.get(_Role.LOOK_ALIKE, ()):
        hidden[owner] = hidden.get(owner, figures) | _covered([(phrase, owner)], message, engine)
    best: dict[str, Heard] = {}
    denied: dict[str, Heard] = {}
    for phrase, owner in found.get(_Role.SAYING, ()):
        number, sign, saying = engine.sayings[owner]
        masked = hidden.get(number, figures)
        for places in warning_match.matches(phrase, message, masked, engine.grammar.thieves):
            heard, left = _weigh(sign, saying, places, message, scopes)
            if left is None:
                _keep(denied, heard)
            else:
                _keep(best, replace(heard, level=left, route=_route(sign, saying, left)))
            if heard.denied_by is None:
                break
    _combine(rules.combinations, best)
    if rules.leaning is not None and all(heard.level is not Level.EMERGENCY for heard in best.values()):
        _lean(rules, rules.leaning, message, _silent(figures, scopes), best)
    if known & best.keys() and not _covered(found.get(_Role.WORSE, ()), message, engine):
        for sign_id in known & best.keys():
            if best[sign_id].level is Level.THERAPIST:
                best[sign_id] = replace(best[sign_id], level=Level.NEXT_REVIEW, route=Route.THERAPIST)
    return _hearing(best, denied, list(rules.signs))


def sentence_clues(text: str, rules: SignRules) -> list[dict[str, int]]:
    """The clues of each sentence of a message, as the second ear counts them."""
    message, _, figures, scopes = _look(text, rules._engine)  # noqa: SLF001 - as above
    return list(warning_leaning.clues(message, _silent(figures, scopes)))


_Found = Mapping[str, list[tuple[Phrase, int]]]


def _look(text: str, engine: _Engine) -> tuple[Message, _Found, frozenset[int], list[Scope]]:
    """A message cut up, the phrases that may fit by role, what figures of speech cover, what denies what."""
    message = warning_match.read(text, engine.lexicon, engine.grammar)
    found = engine.index.candidates(message)
    figures = _covered(found.get(_Role.FIGURE, ()), message, engine)
    shams = _covered(found.get(_Role.SHAM, ()), message, engine)
    scopes = warning_scope.scopes(found.get(_Role.CUE, ()), engine.cues, message, engine.grammar, shams)
    return message, found, figures, scopes


def _silent(figures: frozenset[int], scopes: Iterable[Scope]) -> frozenset[int]:
    """The places that count as no clue: figures of speech and whatever is denied."""
    return figures.union(*(range(scope.start, scope.end) for scope in scopes))


def _lean(
    rules: SignRules, leaning: Leaning, message: Message, silent: frozenset[int], best: dict[str, Heard]
) -> None:
    """Hear an emergency that no phrase fits: asked about, never taken for certain."""
    leant = warning_leaning.lean(message, silent, leaning)
    if leant is None:
        return
    sign = rules.signs[leant[0]]
    urgent = [said.route for said in sign.sayings if said.level is Level.EMERGENCY]
    if not urgent:
        return  # a clinic has lowered it, with a reason and a name
    route = urgent[0]
    words = tuple(message.words[place] for place in leant[1])
    _keep(best, Heard(sign.id, Level.EMERGENCY, route, words, sure=False))


def _covered(found: Iterable[tuple[Phrase, int]], message: Message, engine: _Engine) -> frozenset[int]:
    """The places of a message that some phrases cover."""
    return frozenset(
        place
        for phrase, _ in found
        for places in warning_match.matches(phrase, message, frozenset(), engine.grammar.thieves)
        for place in places
    )


def _weigh(
    sign: Sign, saying: Saying, places: Places, message: Message, scopes: Sequence[Scope]
) -> tuple[Heard, Level | None]:
    """The sign as said at these places with the denial that lowers it most, and the level that is left."""
    own = frozenset(places)
    against = {scope.denial for scope in scopes if _covers(scope, own)}
    denial = max(
        against, key=lambda each: (_depth(sign.lowered[saying.level, each]), each.value), default=None
    )
    words = tuple(message.words[place] for place in sorted(own))
    cues = {
        place for scope in scopes if scope.denial is denial and _covers(scope, own) for place in scope.cue
    }
    against_words = tuple(message.words[place] for place in sorted(cues))
    sure = saying.sure and denial is None
    heard = Heard(sign.id, saying.level, saying.route, words, sure, denial, against_words)
    if denial is None:
        return heard, saying.level
    left = sign.lowered[saying.level, denial]
    if left is not None and Denial.OTHER in against and against & {Denial.OVER, Denial.PAST}:
        # Someone else, and not now either: kept for the record, unless this sign is never put off.
        left = left if sign.never_lowered else Level.NEXT_REVIEW
    return heard, left


def _covers(scope: Scope, own: frozenset[int]) -> bool:
    """Whether a denial reaches words that are not its own."""
    return not scope.cue & own and any(scope.start <= place < scope.end for place in own)


def _depth(level: Level | None) -> int:
    return len(Level) if level is None else level.rank


def _route(sign: Sign, saying: Saying, level: Level) -> Route:
    """Where to send her at the level that is left. A sensitive sign keeps its own people."""
    if level is saying.level or sign.handling is not Handling.ORDINARY:
        return saying.route
    return Route.CLINICIAN_TODAY if level is Level.SAME_DAY else Route.THERAPIST


def _keep(kept: dict[str, Heard], found: Heard) -> None:
    before = kept.get(found.sign)
    if before is None or (found.level.rank, not found.sure, found.denied_by is not None) < (
        before.level.rank,
        not before.sure,
        before.denied_by is not None,
    ):
        kept[found.sign] = found


def _combine(combinations: Iterable[Combination], best: dict[str, Heard]) -> None:
    for combination in combinations:
        parts = [best[sign] for sign in combination.together if sign in best]
        if len(parts) < len(combination.together) or any(part.denied_by for part in parts):
            continue
        words = tuple(dict.fromkeys(word for part in parts for word in part.words))
        sure = all(part.sure for part in parts)
        raised = Heard(combination.sign, combination.level, combination.route, words, sure)
        before = best.get(combination.sign)
        if before is None or combination.level.rank <= before.level.rank:
            best[combination.sign] = raised


def _hearing(best: Mapping[str, Heard], denied: Mapping[str, Heard], order: Sequence[str]) -> Hearing:
    if not best and not denied:
        return SILENCE
    heard = tuple(
        sorted(
            best.values(),
            key=lambda one: (one.level.rank, not one.sure, _ROUTES.index(one.route), order.index(one.sign)),
        )
    )
    rest = tuple(denied[sign] for sign in order if sign in denied and sign not in best)
    level = levels.highest([one.level for one in heard])
    sure = level is None or any(one.sure for one in heard if one.level is level)
    return Hearing(heard, rest, level, sure, _explain(heard, rest))


def _explain(heard: Sequence[Heard], denied: Sequence[Heard]) -> str:
    parts = []
    for one in heard:
        doubt = f" ({_denial(one)})" if one.denied_by else "" if one.sure else " (unsure)"
        parts.append(f"{one.sign}: {one.level.value}{doubt} for {' '.join(one.words)!r}")
    parts.extend(f"{one.sign}: denied ({_denial(one)}) for {' '.join(one.words)!r}" for one in denied)
    return "; ".join(parts)


def _denial(one: Heard) -> str:
    """What speaks against a sign, and by which words."""
    kind = one.denied_by.value if one.denied_by else ""
    return f"{kind} by {' '.join(one.against)!r}" if one.against else kind


def compile_rules(
    version: str,
    language: Language,
    signs: Sequence[Sign],
    combinations: Sequence[Combination],
    leaning: Leaning | None = None,
) -> SignRules:
    """Rules ready to read with. Raises RuleFault, naming the sign or section and the field."""
    atoms = warning_notation.Atoms(language.families)
    for required in ("symptom", "body"):
        if required not in language.families:
            raise RuleFault("families", required, "this word family is required")

    def compiled(where: str, what: str, texts: Iterable[str]) -> tuple[Phrase, ...]:
        out = []
        for text in texts:
            try:
                out.append(warning_notation.phrase(text, atoms))
            except warning_notation.BadNotation as fault:
                raise RuleFault(where, what, f"{text!r}: {fault}") from fault
        return tuple(out)

    by_id: dict[str, Sign] = {}
    sayings: list[tuple[int, Sign, Saying]] = []
    phrases: list[tuple[Phrase, str, int]] = []
    for number, sign in enumerate(signs):
        if sign.id in by_id:
            raise RuleFault(sign.id, "id", "used twice")
        by_id[sign.id] = sign
        for saying in sign.sayings:
            own = compiled(sign.id, "phrases", saying.phrases)
            phrases.extend((each, _Role.SAYING, len(sayings)) for each in own)
            sayings.append((number, sign, saying))
        look_alikes = compiled(sign.id, "look_alikes", sign.look_alikes)
        phrases.extend((each, _Role.LOOK_ALIKE, number) for each in look_alikes)
    for combination in combinations:
        for missing in sorted((combination.together | {combination.sign}) - by_id.keys()):
            raise RuleFault("combinations", missing, "there is no such sign")
    for missing in sorted(set(leaning.speaks_for.values() if leaning else ()) - by_id.keys()):
        raise RuleFault("second ear", missing, "there is no such sign")
    for number, cue in enumerate(language.cues):
        phrases.extend((each, _Role.CUE, number) for each in compiled("cues", cue.denial.value, cue.phrases))
    for role, texts in (
        (_Role.SHAM, language.shams),
        (_Role.FIGURE, language.figures),
        (_Role.WORSE, language.worse),
    ):
        phrases.extend((each, role, 0) for each in compiled(role, "phrases", texts))
    grammar = Grammar(
        clauses=Clauses(language.breaks, language.ands, language.subjects),
        fillers=language.fillers,
        stops=language.stops,
        ands=language.ands,
        ors=language.ors,
        lead_ins=language.lead_ins,
        symptoms=atoms.number("@symptom"),
        thieves=atoms.number("@body"),
    )
    shaping = language.fillers | language.stops | language.subjects | language.lead_ins
    shaping |= language.breaks | language.ands | language.ors | language.ordinary
    lexicon = Lexicon(atoms.all, language.same, language.slips, shaping)
    engine = _Engine(
        lexicon=lexicon,
        grammar=grammar,
        cues=tuple(Cue(cue.denial, cue.reach, cue.words, cue.past_subject) for cue in language.cues),
        index=warning_match.Index(phrases, lexicon),
        sayings=tuple(sayings),
    )
    return SignRules(version, language.code, MappingProxyType(by_id), tuple(combinations), leaning, engine)

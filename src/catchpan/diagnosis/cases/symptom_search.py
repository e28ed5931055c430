"""From a caller's words to the questions they answer: complaints and phone checks, ranked.

Every phrase, title and answer of the catalog is a short list of telling words. A statement fits
one as far as their words agree, rare words counting more, small misspellings forgiven; a denial on
one side only halves the score. What is found is a proposal to be confirmed, never a reading.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import log
from typing import Final

from rapidfuzz import fuzz, process

from catchpan.catalog.entry import CheckEntry
from catchpan.catalog.load import Catalog, catalog
from catchpan.diagnosis.cases.symptom_words import DENIALS, clauses, denies, words
from catchpan.diagnosis.cases.usual import usual_answers

SURE: Final = 70.0
"""Scores from here on are taken as meant when nobody can be asked (assumed)."""

LEAST: Final = 35.0
SPELLING: Final = 84.0
TITLE_WEIGHT: Final = 0.85
ANSWER_WEIGHT: Final = 0.9
UNHEARD: Final = 1.5
"""How telling a word is that the catalog never uses."""

REASSURING: Final = frozenset({"fine", "ok", "okay", "good", "normal", "check", "on", "stove"})
"""Words that say that nothing is remarkable."""


@dataclass(frozen=True)
class Match:
    """A question that a caller's words seem to answer.

    Parameters
    ----------
    check_id, title
        The question.
    answer_id, label
        The answer the words seem to give; empty where it has to be asked.
    score
        0 to 100; 100 where every word agrees.
    words
        The statement that was matched.
    """

    check_id: str
    title: str
    answer_id: str
    label: str
    score: float
    words: str


@dataclass(frozen=True)
class Saying:
    """One way to say something: its words, the check, the answer if it names one, its weight."""

    check_id: str
    answer_id: str
    tokens: tuple[str, ...]
    weight: float


def search_symptoms(
    text: str, data: Catalog | None = None, *, archetype: str = "", limit: int = 8
) -> tuple[Match, ...]:
    """Find what a caller's words may mean.

    Parameters
    ----------
    text : str
        The caller's words, in any length.
    data : Catalog, optional
        By default the catalog that comes with catchpan.
    archetype : str, optional
        Leave out what only other kinds of system have.
    limit : int, optional
        How many matches at most.

    Returns
    -------
    tuple of Match
        The best first, each check once.
    """
    data = data or catalog()
    index = symptom_index(data)
    best: dict[str, Match] = {}
    for clause in clauses(text):
        for match in index.matches(clause):
            fits = not archetype or _exists(data.checks[match.check_id], archetype)
            if fits and match.score > best.get(match.check_id, _NOTHING).score:
                best[match.check_id] = match
    ranked = sorted(best.values(), key=lambda m: (-m.score, m.check_id))
    return tuple(ranked[:limit])


def sure_matches(
    text: str, data: Catalog | None = None, *, archetype: str = ""
) -> tuple[Match, ...]:
    """Return what can be taken as meant when nobody can be asked.

    Of each statement only its best match counts, and only with a score of ``SURE`` and an answer;
    the text as a whole counts where none of its statements does.
    """
    parts = clauses(text)
    found: dict[str, Match] = {}
    for part in [p for p in parts if p != text.strip() or len(parts) == 1]:
        _take_best(part, data, archetype, found)
    if not found:
        _take_best(text.strip(), data, archetype, found)
    return tuple(sorted(found.values(), key=lambda m: (-m.score, m.check_id)))


def _take_best(clause: str, data: Catalog | None, archetype: str, found: dict[str, Match]) -> None:
    data = data or catalog()
    ranked = [
        m
        for m in symptom_index(data).matches(clause)
        if m.answer_id
        and m.score >= SURE
        and (not archetype or _exists(data.checks[m.check_id], archetype))
    ]
    if ranked:
        best = min(ranked, key=lambda m: (-m.score, not data.checks[m.check_id].complaint))
        if best.check_id not in found or best.score > found[best.check_id].score:
            found[best.check_id] = best


_NOTHING: Final = Match("", "", "", "", LEAST, "")


def _exists(check: CheckEntry, archetype: str) -> bool:
    return not check.archetypes or archetype in check.archetypes


class SymptomIndex:
    """All sayings of a catalog, with how telling each word is."""

    def __init__(self, data: Catalog) -> None:
        asked = [c for c in data.checks.values() if (c.phone or c.complaint) and c.answers]
        self.checks: Mapping[str, CheckEntry] = {c.id: c for c in asked}
        self.usual = usual_answers(data)
        self.sayings = [s for check in asked for s in _sayings(check)]
        each = [frozenset(words_of_check) for words_of_check in map(_all_words, asked)]
        count = Counter(w for some in each for w in some)
        self.telling = {w: log(1.0 + len(each) / n) for w, n in count.items()}
        self.vocabulary = list(self.telling)

    def matches(self, clause: str) -> list[Match]:
        """Score every saying against one statement."""
        said = words(clause)
        near = {w: self._near(w) for w in dict.fromkeys(said)}
        scored = ((self._score(said, near, saying), saying) for saying in self.sayings)
        return [self._match(x, s, said, clause) for x, s in scored if x > LEAST]

    def _match(self, score: float, saying: Saying, said: tuple[str, ...], clause: str) -> Match:
        check = self.checks[saying.check_id]
        answer = saying.answer_id or self._answer(check, said, saying)
        label = next((a.label for a in check.answers if a.id == answer), "")
        return Match(check.id, check.title, answer, label, score, clause)

    def _answer(self, check: CheckEntry, said: tuple[str, ...], saying: Saying) -> str:
        """Return the answer that words give, or nothing where it has to be asked."""
        ids = [a.id for a in check.answers]
        same = denies(said) == denies(saying.tokens)
        if check.complaint:
            return ids[0] if same else ""
        if named := _named_answer(check, said):
            return named
        usual = self.usual.get(check.id, ids[-1])
        others = [i for i in ids if i != usual]
        if len(others) != 1:
            return ""
        remarkable = same != bool(REASSURING & set(said))
        return others[0] if remarkable else usual

    def _near(self, word: str) -> frozenset[str]:
        """Words of the catalog that are spelt nearly so."""
        if len(word) < 4:
            return frozenset({word})
        hits = process.extract(
            word, self.vocabulary, scorer=fuzz.ratio, score_cutoff=SPELLING, limit=5
        )
        return frozenset({word, *(hit[0] for hit in hits)})

    def _score(
        self, said: tuple[str, ...], near: Mapping[str, frozenset[str]], saying: Saying
    ) -> float:
        understood = frozenset[str]().union(*near.values())
        wanted = dict.fromkeys(saying.tokens)
        total = sum(self._tells(w) for w in wanted)
        agreed = sum(self._tells(w) for w in wanted if w in understood)
        if agreed <= 0.0:
            return 0.0
        heard = sum(self._tells(w) for w in near)
        met = sum(self._tells(w) for w, some in near.items() if some & wanted.keys())
        score = 100.0 * saying.weight * (0.7 * agreed / total + 0.3 * met / heard)
        return score * (0.5 if denies(said) != denies(saying.tokens) else 1.0)

    def _tells(self, word: str) -> float:
        return self.telling.get(word, UNHEARD)


def _all_words(check: CheckEntry) -> tuple[str, ...]:
    texts = (check.title, *check.phrases, *(a.label for a in check.answers))
    return tuple(w for text in texts for w in words(text))


def _sayings(check: CheckEntry) -> list[Saying]:
    found = [Saying(check.id, "", words(p), 1.0) for p in check.phrases]
    found.append(Saying(check.id, "", words(check.title), TITLE_WEIGHT))
    named = check.answers[:1] if check.complaint else check.answers
    for answer in named:
        label = words(answer.label)
        if label and answer.id not in {"yes", "no"}:
            tokens = (*words(check.title), *label)
            found.append(Saying(check.id, answer.id, tokens, ANSWER_WEIGHT))
    return [s for s in found if s.tokens]


def _named_answer(check: CheckEntry, said: tuple[str, ...]) -> str:
    """Return the answer whose label the words name, if one is named more clearly than the others.

    Words of the title and of denial name no answer.
    """
    silent, denied = set(words(check.title)) | DENIALS, bool(DENIALS & set(said))
    labels = [set(words(a.label)) for a in check.answers]
    fitting = [label - silent if denied == bool(DENIALS & label) else set() for label in labels]
    shares = [len(label & set(said)) / max(len(label), 1) for label in fitting]
    best = max(shares)
    return check.answers[shares.index(best)].id if best > 0.0 and shares.count(best) == 1 else ""


@lru_cache(maxsize=2)
def _shipped_index() -> SymptomIndex:
    return SymptomIndex(catalog())


def symptom_index(data: Catalog) -> SymptomIndex:
    """Return the index of a catalog; that of the shipped one is made once."""
    return _shipped_index() if data is catalog() else SymptomIndex(data)

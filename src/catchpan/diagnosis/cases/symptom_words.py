"""The words people use for symptoms: which count, which mean the same, which deny."""

import re
from typing import Final

DENIALS: Final = frozenset(
    {"not", "no", "never", "nothing", "none", "without", "barely", "hardly", "stopped", "dead"}
)
"""Words after which the opposite holds; they are never dropped."""

DENYING: Final = frozenset({"not", "no", "never", "nothing", "none", "without"})
"""Words that turn a statement round, and round again."""

STOP: Final = frozenset(
    re.findall(
        r"\S+",
        """a an the is are was were be been am it its it's this that these those of in on at to for
        with by from and or so as my our your we i you he she they them there here when
        while then than just very really some any all kind sort like thing stuff up into
        out does do did has have had will would can could should get gets got keep keeps
        seems seem maybe think about again now today please hello hi help yesterday also
        too which what mine something but if come comes coming go goes going""",
    )
)

SAME: Final[dict[str, str]] = {
    word: group[0]
    for group in (
        ("outdoor", "outside", "outdoors", "condenser", "backyard"),
        ("indoor", "inside", "indoors"),
        ("display", "screen", "readout"),
        ("thermostat", "stat", "tstat"),
        ("turn", "spin", "run", "move", "work", "operate", "rotate"),
        ("hum", "buzz"),
        ("blank", "black", "empty", "dark"),
        ("furnace", "heater"),
        ("cool", "ac", "aircon", "cooling", "conditioner", "conditioning"),
        ("heat", "heating", "warmth"),
        ("light", "ignite", "lit"),
        ("storm", "lightning", "surge", "outage"),
        ("leak", "drip", "pour", "flood"),
        ("puddle", "pool"),
        ("ice", "frozen", "freeze", "frost", "froze", "iced"),
        ("trip", "tripped", "pop"),
        ("blow", "blew", "blown"),
        ("vent", "register", "grille"),
        ("weak", "barely", "little", "less"),
        ("loud", "noisy", "noise"),
        ("smell", "odor", "odour", "stink"),
        ("shut", "close", "closed"),
        ("house", "home", "place"),
        ("fan", "blower"),
        ("out", "off"),
    )
    for word in group
}
"""Words that callers use for one another, each group under its first word."""

ENDINGS: Final = ("ings", "ing", "ied", "ies", "ed", "es", "ly", "s")

"""Endings that are cut off, the first that fits."""

REWRITES: Final = (
    (r"\ba/c\b|\ba\.c\.", "ac"),
    (r"\b(won't|wont)\b", "will not"),
    (r"\b(can't|cannot|cant)\b", "can not"),
    (r"\b(does|do|did|is|are|was|has|had|have)(n't|nt)\b", r"\1 not"),
    (r"\b(goes|went|go|going) (out|off)\b", "quit"),
)
"""What is spelled out before words are looked for: a pattern and what stands in its place."""

SPLITS: Final = r"[.,;:!?\n]+|\b(?:and|but|then|because|although|so)\b"
"""Where one statement ends and the next begins."""


def words(text: str) -> tuple[str, ...]:
    """Return the telling words of a text, stemmed, with words of one meaning made one.

    Examples
    --------
    >>> words("The thing outside just hums and won't spin")
    ('outdoor', 'hum', 'not', 'turn')
    """
    plain = text.casefold().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")
    for pattern, replacement in REWRITES:
        plain = re.sub(pattern, replacement, plain)
    found = re.findall(r"[a-z0-9]+", plain)
    return tuple(_canonical(w) for w in found if w not in STOP or w in DENIALS)


def _canonical(word: str) -> str:
    if word in SAME:
        return SAME[word]
    if word in DENIALS:
        return word
    stem = _stem(word)
    return SAME.get(stem, stem)


def _stem(word: str) -> str:
    for ending in ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            stem = word.removesuffix(ending)
            if ending in {"ies", "ied"}:
                return f"{stem}y"
            if ending in {"ing", "ings", "ed"} and stem[-1] == stem[-2] and stem[-1] not in "lsz":
                return stem[:-1]
            return stem
    return word


def denies(found: tuple[str, ...]) -> bool:
    """Whether the words deny something an odd number of times; "no" and "not" count once each."""
    return sum(w in DENYING for w in found) % 2 == 1


def clauses(text: str) -> list[str]:
    """Split what a caller says into its statements."""
    parts = re.split(SPLITS, text)
    kept = [p.strip() for p in parts if words(p)]
    whole = text.strip()
    return list(dict.fromkeys([*kept, whole] if words(whole) else kept))

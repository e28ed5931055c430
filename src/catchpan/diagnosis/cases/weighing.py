"""What a case comes to: everything a weighing says, as plain frozen records."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from catchpan.diagnosis.cases.candidate import Candidate
from catchpan.diagnosis.cases.todays_targets import Todays
from catchpan.diagnosis.inference.causes import Share
from catchpan.diagnosis.inference.latent import Latent


@dataclass(frozen=True)
class Speaks:
    """One entry of the history and how it speaks about a cause.

    Parameters
    ----------
    entry
        Its number in the history, from 1.
    words
        What was observed or tried.
    log_odds
        By how much it raised the log odds of the cause against everything else, given all other
        entries [nats]; negative where it speaks against it.
    """

    entry: int
    words: str
    log_odds: float


@dataclass(frozen=True)
class Cause:
    """One cause in the ranking; ``part`` is ``root`` or ``consequence``."""

    id: str
    title: str
    share: float
    part: str
    component: str
    family: str
    speaks: tuple[Speaks, ...] = ()


@dataclass(frozen=True)
class Group:
    """Causes that go together: those of one part, or those that one repair puts right.

    ``share`` is the probability that one of them is there; ``causes`` are their ids, the likeliest
    first.
    """

    id: str
    title: str
    share: float
    causes: tuple[str, ...]


@dataclass(frozen=True)
class Pair:
    """Two causes that hold together, with their share."""

    ids: tuple[str, ...]
    titles: tuple[str, ...]
    share: float


@dataclass(frozen=True)
class SystemShare:
    """One kind of system the case may be about, with its share."""

    archetype: str
    title: str
    share: float


@dataclass(frozen=True)
class OpenOption:
    """How the system is built where nobody knows: the share of each value of an option."""

    id: str
    title: str
    values: tuple[Share, ...]


@dataclass(frozen=True)
class Doubt:
    """Readings that do not fit together; ``repeat`` is the entry that is cheapest to repeat."""

    entries: tuple[int, ...]
    words: tuple[str, ...]
    repeat: int | None


@dataclass(frozen=True)
class NextStep:
    """A proposed step, with its price and reasons.

    Parameters
    ----------
    kind
        ask, look, measure, go, repair, prove, refer or stop.
    target
        Id of the check or repair, or of the ending.
    dollars, dollars_after
        What it costs itself, and what is expected after it until the fix is proven.
    first
        What comes before it, in order.
    why, answers
        Reasons, and what each answer would mean.
    cautions
        What can hurt there.
    """

    kind: str
    target: str
    title: str
    place: str
    dollars: float
    dollars_after: float
    first: tuple[str, ...]
    why: tuple[str, ...]
    answers: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Weighing:
    """Everything a case comes to.

    Parameters
    ----------
    systems
        The kinds of system it may be, the likeliest first.
    ranking
        Every root cause with its share; they need not sum to 1, as several may hold at once.
    parts
        The parts that may be at fault, the likeliest first.
    repairs
        The few repairs that are likeliest to hit: each with the share it puts right where those
        before it do not, so that the shares sum to the chance that one of them hits.
    consequences
        What a root left behind, by share.
    pairs, several
        The likeliest pairs of roots, and the share of all cases with two roots or more.
    no_fault, none_of_these
        Shares of "nothing keeps it from working" and of "something outside the library".
    latent
        Latent defects that are likelier there than not.
    options
        Options nobody settled, with the shares of their values in the likeliest system.
    doubt
        Readings that do not fit together, or None.
    steps
        What to do next, cheapest to a proven fix first.
    cut_mass
        Prior share of everything the compiled family left out.
    set_aside
        Numbers and words of the entries that the likeliest system has nothing for.
    notes
        What was read into the case.
    targets
        Superheat, subcooling, split and capacity as they should be today in the likeliest system,
        and how what was read stands to them; None where nothing was read off the running circuit.
    candidates
        The beliefs behind all this.
    """

    systems: tuple[SystemShare, ...]
    ranking: tuple[Cause, ...]
    parts: tuple[Group, ...]
    repairs: tuple[Group, ...]
    consequences: tuple[Cause, ...]
    pairs: tuple[Pair, ...]
    several: float
    no_fault: float
    none_of_these: float
    latent: tuple[Latent, ...]
    options: tuple[OpenOption, ...]
    doubt: Doubt | None
    steps: tuple[NextStep, ...]
    cut_mass: float
    set_aside: Mapping[int, str]
    notes: tuple[str, ...]
    targets: Todays | None = None
    candidates: tuple[Candidate, ...] = field(repr=False, compare=False, default=())

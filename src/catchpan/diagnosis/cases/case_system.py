"""The part of a case that says what system it is: one kind, several, or nobody knows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final, cast

from catchpan.catalog.errors import Problem
from catchpan.catalog.load import Catalog
from catchpan.catalog.system import check_setting, options_of
from catchpan.diagnosis.cases.case_form import UNKNOWN, SystemForm
from catchpan.diagnosis.cases.measured_value import ZERO_C_K
from catchpan.diagnosis.cases.system_words import fitting_archetypes
from catchpan.diagnosis.worlds.description import Description, Season
from catchpan.units.errors import BadValue, CatchpanError, OutOfRange, UnknownName
from catchpan.units.quantity import parse
from catchpan.units.unit import Dimension

WEATHER_C: Final = {"outdoor": (-50.0, 60.0), "indoor": (-30.0, 60.0)}
"""Air temperatures a home can have (assumed, wide)."""

USUAL_HUMIDITY: Final = 0.5


@dataclass(frozen=True)
class Candidates:
    """The systems it may be, with shares, and what was read into the case."""

    systems: tuple[tuple[Description, float], ...]
    notes: tuple[str, ...]


@dataclass
class SystemReader:
    """Reads the system of a case; what is wrong gathers in ``problems``."""

    name: str
    form: SystemForm
    data: Catalog
    problems: list[Problem] = field(default_factory=list)
    contradictions: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def candidates(self, stated: Mapping[str, str], demands: Sequence[str]) -> Candidates | None:
        """Put together the systems it may be.

        Parameters
        ----------
        stated : mapping of str to str
            Options that readings settle.
        demands : sequence of str
            Demands the caller complains about; they tell the season where the case does not.
        """
        shares = self._shares()
        options = self._options(stated)
        weather = self._weather()
        if self.problems:
            return None
        fitting = self._fitting(shares, options)
        if not fitting:
            return Candidates((), ())
        total = sum(fitting.values())
        season = self._season(demands)
        systems = tuple(
            (self._description(kind, options, season, weather), share / total)
            for kind, share in fitting.items()
        )
        return Candidates(systems, tuple(self.notes))

    def _wrong(self, where: str, what: str) -> None:
        self.problems.append(Problem(self.name, "system", where, what))

    def _shares(self) -> dict[str, float]:
        given = self.form.archetype
        if given in (None, UNKNOWN):
            return self._from_words()
        shares = self._as_shares(given)
        for kind in shares:
            if kind not in self.data.archetypes:
                self._wrong("archetype", str(UnknownName("archetype", kind, self.data.archetypes)))
        return shares

    def _as_shares(self, given: object) -> dict[str, float]:
        if isinstance(given, str):
            return {given: 1.0}
        if isinstance(given, list) and given and all(isinstance(x, str) for x in given):
            return dict.fromkeys(given, 1.0)
        if isinstance(given, dict) and given and all(_is_share(x) for x in given.values()):
            return {str(k): float(v) for k, v in given.items()}
        wanted = "wanted an archetype, a list of them, shares such as {a: 0.7, b: 0.3}, or unknown"
        self._wrong("archetype", f"{given!r} is none of these; {wanted}")
        return {}

    def _from_words(self) -> dict[str, float]:
        kinds = fitting_archetypes(self.form.text, self.data)
        if self.form.text and len(kinds) < len(self.data.archetypes):
            self.notes.append(f"{self.form.text!r} is taken to mean {' or '.join(kinds)}")
        return dict.fromkeys(kinds, 1.0)

    def _options(self, stated: Mapping[str, str]) -> dict[str, str]:
        known = {k: v for k, v in self.form.options.items() if v != UNKNOWN}
        for option, value in stated.items():
            if known.setdefault(option, value) != value:
                self._against(option, f"{known[option]!r} here, but a reading says {value!r}")
        values = _values_anywhere(self.data)
        for option, value in known.items():
            if option not in values:
                self._wrong("options", str(UnknownName("option", option, values)))
            elif value not in values[option]:
                wanted = f"{value!r} is not one of its values; wanted {' or '.join(values[option])}"
                self._wrong(f"options.{option}", wanted)
        return known

    def _against(self, option: str, what: str) -> None:
        self.contradictions.append(Problem(self.name, "system", f"options.{option}", what))

    def _fitting(self, shares: Mapping[str, float], options: Mapping[str, str]) -> dict[str, float]:
        """Keep the kinds that have all the options; where none has, say what excludes what."""
        fitting, reasons = {}, {}
        for kind, share in shares.items():
            try:
                check_setting(kind, options, self.data)
                fitting[kind] = share
            except CatchpanError as error:
                reasons[kind] = str(error)
        if fitting:
            self.notes += [f"{kind} is ruled out: {why}" for kind, why in reasons.items()]
        else:
            found = [Problem(self.name, "system", "options", why) for why in reasons.values()]
            self.contradictions += list(dict.fromkeys(found))
        return fitting

    def _season(self, demands: Sequence[str]) -> Season | None:
        if self.form.season != "unknown":
            return self.form.season
        cold = [d in {"heat", "emergency"} for d in demands if d not in {"off", "fan"}]
        if not cold or any(cold) != all(cold):
            return None
        season: Season = "heating" if cold[0] else "cooling"
        self.notes.append(f"the complaint is about {season}")
        return season

    def _weather(self) -> dict[str, float]:
        found = {f"{place}_c": self._temperature(place) for place in WEATHER_C}
        weather = {k: v for k, v in found.items() if v is not None}
        given = self.form.indoor_humidity
        if given not in (None, UNKNOWN):
            weather["indoor_rh"] = self._humidity(str(given))
        return weather

    def _humidity(self, given: str) -> float:
        try:
            share = parse(given, Dimension.SHARE, "%")
            if not 0.0 <= share <= 1.0:
                raise OutOfRange("relative humidity", 100.0 * share, 0.0, 100.0, "%")
        except CatchpanError as error:
            self._wrong("indoor_humidity", str(error))
            return USUAL_HUMIDITY
        return share

    def _temperature(self, place: str) -> float | None:
        given = getattr(self.form, place)
        if given in (None, UNKNOWN):
            return None
        try:
            if not given.strip()[-1:].isalpha():
                raise BadValue("", f"{given!r} has no unit", "such as '95 °F' or '35 °C'")
            celsius = parse(given, Dimension.TEMPERATURE, "°F") - ZERO_C_K
            low, high = WEATHER_C[place]
            if not low <= celsius <= high:
                raise OutOfRange(f"{place} temperature", celsius, low, high, "°C")
        except CatchpanError as error:
            self._wrong(place, str(error))
            return None
        return celsius

    def _description(
        self,
        kind: str,
        options: Mapping[str, str],
        season: Season | None,
        weather: Mapping[str, float],
    ) -> Description:
        climate = None if self.form.climate == "unknown" else self.form.climate
        return Description(
            archetype=kind,
            options=dict(sorted(options.items())),
            season=season,
            age_years=self.form.age_years,
            climate=climate,
            **weather,
        )


def _values_anywhere(data: Catalog) -> dict[str, tuple[str, ...]]:
    """Return every option of any kind of system, with all its values."""
    every = [(o, e) for k in data.archetypes for o, e in options_of(k, data).items()]
    return {
        name: tuple(dict.fromkeys(v.id for o, e in every if o == name for v in e.values))
        for name in dict.fromkeys(o for o, _ in every)
    }


def _is_share(value: object) -> bool:
    good = isinstance(value, int | float) and not isinstance(value, bool)
    return good and 0.0 < float(cast("float", value)) <= 1.0e6

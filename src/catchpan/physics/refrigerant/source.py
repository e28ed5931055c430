"""CoolProp, asked only in the ways that are fast and right.

Saturation temperatures come from pressure and quality, for a mixture with its phase envelope built
first. What still fails, or lands on a wrong root, is found by its roughness and filled in from its
neighbours on the (very smooth) curve of temperature against the logarithm of pressure. All other
properties come from pressure and temperature with the phase imposed, which never needs a flash.
"""

from collections.abc import Callable
from typing import Final

import numpy as np
from CoolProp import CoolProp
from numpy.typing import NDArray

from catchpan.physics.refrigerant.fluid import Refrigerant
from catchpan.units.errors import CatchpanError
from catchpan.units.span import FloatArray

ROUGH_K: Final = 0.01
"""A point this far from the cubic through its neighbours is not on the curve [K]."""


class PropertyGapError(CatchpanError):
    """CoolProp gave too few good points to draw a saturation curve.

    Parameters
    ----------
    name : str
        The refrigerant.
    good, asked : int
        How many points were good, of how many.
    """

    def __init__(self, name: str, good: int, asked: int) -> None:
        self.good, self.asked = good, asked
        super().__init__(
            f"CoolProp {coolprop_version()} gave {good} good saturation points of {asked}",
            hint="install a CoolProp version that knows this fluid",
            where=name,
        )


def coolprop_version() -> str:
    """Return the version of the CoolProp that is installed."""
    return str(CoolProp.get_global_param_string("version"))


class PropertySource:
    """One refrigerant in CoolProp.

    Parameters
    ----------
    fluid : Refrigerant
        Which one.
    """

    def __init__(self, fluid: Refrigerant) -> None:
        self.fluid = fluid
        self._state = self._new_state()
        self._flash = self._new_state()
        if fluid.mole_fractions:
            self._flash.build_phase_envelope("")

    def critical_pressure_pa(self) -> float:
        """Return the critical pressure [Pa]; of a mixture, the highest of its envelope."""
        if self.fluid.mole_fractions:
            return float(max(self._flash.get_phase_envelope_data().p))
        return float(self._flash.p_critical())

    def critical_temperature_k(self) -> float:
        """Return the critical temperature [K]; of a mixture, the highest of its envelope."""
        if self.fluid.mole_fractions:
            return float(max(self._flash.get_phase_envelope_data().T))
        return float(self._flash.T_critical())

    def saturation_temperature_k(self, pressure_pa: FloatArray, quality: float) -> FloatArray:
        """Return bubble (quality 0) or dew (quality 1) temperatures.

        Parameters
        ----------
        pressure_pa : FloatArray
            Rising pressures [Pa], evenly spaced in their logarithm.
        quality : float
            0 or 1.

        Returns
        -------
        FloatArray
            Temperatures [K].

        Raises
        ------
        PropertyGapError
            If a quarter of the points fail.

        Source: CoolProp, ``PQ_INPUTS``.
        """
        raw = np.array([self._saturated(p, quality) for p in pressure_pa])
        good = _smooth(raw)
        if good.mean() < 0.75:
            raise PropertyGapError(self.fluid.name, int(good.sum()), raw.size)
        return _filled(np.log(pressure_pa), raw, good)

    def single_phase(
        self, pressure_pa: FloatArray, temperature_k: FloatArray, *, liquid: bool
    ) -> FloatArray:
        """Return enthalpy, density and entropy with the phase imposed.

        Parameters
        ----------
        pressure_pa, temperature_k : FloatArray
            States [Pa], [K], one-dimensional and of the same length.
        liquid : bool
            Which phase they are in.

        Returns
        -------
        FloatArray
            Shape (n, 3): [J/kg], [kg/m3], [J/(kg K)]; not a number where CoolProp fails.

        Source: CoolProp, ``PT_INPUTS`` with the phase specified.
        """
        state = self._state
        state.specify_phase(CoolProp.iphase_liquid if liquid else CoolProp.iphase_gas)
        read = self._reader(state)
        pairs = zip(pressure_pa.tolist(), temperature_k.tolist(), strict=True)
        return np.array([read(CoolProp.PT_INPUTS, p, t) for p, t in pairs])

    def _saturated(self, pressure_pa: float, quality: float) -> float:
        try:
            self._flash.update(CoolProp.PQ_INPUTS, float(pressure_pa), quality)
            return float(self._flash.T())
        except ValueError:
            return float("nan")

    @staticmethod
    def _reader(
        state: CoolProp.AbstractState,
    ) -> Callable[[CoolProp.input_pairs, float, float], list[float]]:
        def read(kind: CoolProp.input_pairs, first: float, second: float) -> list[float]:
            try:
                state.update(kind, first, second)
                return [state.hmass(), state.rhomass(), state.smass()]
            except ValueError:
                return [float("nan")] * 3

        return read

    def _new_state(self) -> CoolProp.AbstractState:
        state = CoolProp.AbstractState("HEOS", self.fluid.components)
        if self.fluid.mole_fractions:
            state.set_mole_fractions(list(self.fluid.mole_fractions))
        return state


def _smooth(curve: FloatArray) -> NDArray[np.bool_]:
    """Tell which points lie on a smooth curve, dropping the roughest until none is rough."""
    good = np.isfinite(curve)
    index = np.arange(curve.size, dtype=np.float64)
    for _ in range(curve.size):
        at, value = index[good], curve[good]
        line = _through(at[:-2], value[:-2], at[2:], value[2:], at[1:-1])
        bend = np.abs(value[1:-1] - line) / ((at[2:] - at[:-2]) / 2) ** 2
        rough = bend - np.median(bend)
        if rough.size == 0 or rough.max() < ROUGH_K:
            break
        good[np.flatnonzero(good)[1 + int(np.argmax(rough))]] = False
    return good


def _through(
    x0: FloatArray, y0: FloatArray, x1: FloatArray, y1: FloatArray, at: FloatArray
) -> FloatArray:
    return y0 + (y1 - y0) * (at - x0) / (x1 - x0)


def _filled(x: FloatArray, y: FloatArray, good: NDArray[np.bool_]) -> FloatArray:
    """Replace what is not good by the quintic through the six nearest good points."""
    filled = y.copy()
    for i in np.flatnonzero(~good):
        near = np.flatnonzero(good)[np.argsort(np.abs(np.flatnonzero(good) - i))[:6]]
        centre, span = x[i], np.ptp(x[near])
        filled[i] = np.polyval(np.polyfit((x[near] - centre) / span, y[near], 5), 0.0)
    return filled

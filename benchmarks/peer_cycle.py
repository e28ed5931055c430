"""The peer of the cycle's benchmark: an air-coupled refrigerant cycle in TESPy, solved off design.

Two heat exchangers with air, a compressor of fixed efficiency and suction volume flow, a valve that
closes the balance: evaporating and condensing temperature are free. No charge, no metering device,
no wet coil, no compressor map.
"""

import logging
import tempfile
import warnings
from pathlib import Path
from typing import Any

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from tespy.components import (
        Compressor,
        CycleCloser,
        HeatExchanger,
        Sink,
        Source,
        Valve,
    )
    from tespy.connections import Connection
    from tespy.networks import Network
    from tespy.tools import logger

HEAT_W = 10e3
EVAPORATING_C, CONDENSING_C = 8.0, 45.0
INDOOR_C, INDOOR_KG_S = 26.7, 0.55
OUTDOOR_C, OUTDOOR_KG_S = 35.0, 1.5


class AirCoupledCycle:
    """A cycle designed at one point, ready to be solved at other outdoor temperatures.

    Parameters
    ----------
    fluid : str
        CoolProp's name of the refrigerant.
    """

    def __init__(self, fluid: str) -> None:
        logger.logger.setLevel(logging.CRITICAL)
        self.network = Network(iterinfo=False)
        self.network.units.set_defaults(
            temperature="degC", pressure="bar", pressure_difference="bar"
        )
        self._connect(fluid)
        self.network.solve("design")
        self.folder = tempfile.TemporaryDirectory()
        self.design = str(Path(self.folder.name) / "design.json")
        self.network.save(self.design)
        self._release()

    def solve(self, outdoor_c: float) -> float:
        """Solve off design and return the compressor's power [W]."""
        self.outdoor.set_attr(T=outdoor_c)
        self.network.solve("offdesign", design_path=self.design)
        if self.network.status != 0:
            raise ArithmeticError(f"no solution at {outdoor_c} degC")
        return float(self.compressor.P.val)

    def _connect(self, fluid: str) -> None:
        closer, valve = CycleCloser("closer"), Valve("valve")
        self.compressor = Compressor("compressor")
        self.evaporator, self.condenser = HeatExchanger("evaporator"), HeatExchanger("condenser")
        c0 = Connection(closer, "out1", self.evaporator, "in2")
        self.suction = Connection(self.evaporator, "out2", self.compressor, "in1")
        c2 = Connection(self.compressor, "out1", self.condenser, "in1")
        self.liquid = Connection(self.condenser, "out1", valve, "in1")
        c4 = Connection(valve, "out1", closer, "in1")
        indoor = Connection(Source("indoor"), "out1", self.evaporator, "in1")
        cooled = Connection(self.evaporator, "out1", Sink("supply"), "in1")
        self.outdoor = Connection(Source("outdoor"), "out1", self.condenser, "in2")
        warmed = Connection(self.condenser, "out2", Sink("outlet"), "in1")
        self.network.add_conns(c0, self.suction, c2, self.liquid, c4)
        self.network.add_conns(indoor, cooled, self.outdoor, warmed)
        self.compressor.set_attr(eta_s=0.7)
        self.evaporator.set_attr(pr1=1, pr2=1, Q=-HEAT_W)
        self.condenser.set_attr(pr1=1, pr2=1)
        self.suction.set_attr(fluid={fluid: 1}, T_dew=EVAPORATING_C, td_dew=6)
        self.liquid.set_attr(T_bubble=CONDENSING_C, td_bubble=6)
        indoor.set_attr(fluid={"air": 1}, T=INDOOR_C, p=1.01325, m=INDOOR_KG_S)
        self.outdoor.set_attr(fluid={"air": 1}, T=OUTDOOR_C, p=1.01325, m=OUTDOOR_KG_S)

    def _release(self) -> None:
        """Let the temperatures go; hold conductances and suction volume flow instead."""
        volume: Any = self.suction.v.val
        self.suction.set_attr(T_dew=None, v=volume)
        self.liquid.set_attr(T_bubble=None)
        self.evaporator.set_attr(Q=None, UA=self.evaporator.UA.val)
        self.condenser.set_attr(UA=self.condenser.UA.val)

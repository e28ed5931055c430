/** The four corners of a refrigerant cycle: as read, as the model has it in order or with a cause. */

import type { RefrigerantData } from "../engine/charts.ts";
import { enthalpyKj, saturationK } from "../engine/charts.ts";
import type { CircuitReading, CircuitState } from "../engine/circuit.ts";

export type Which = "measured" | "inOrder" | "withCause";

/** A corner: absolute pressure, enthalpy, temperature, and whether all of it was read. */
export interface Corner {
  readonly name: string;
  readonly pressurePa: number;
  readonly enthalpyKj: number;
  readonly temperatureK: number;
  readonly isRead: boolean;
}

export interface Cycle {
  /** Behind the evaporator, behind the compressor, behind the condenser, behind the metering. */
  readonly corners: readonly [Corner, Corner, Corner, Corner];
  readonly superheatK: number;
  readonly subcoolingK: number;
}

/** Less than this between both saturation temperatures: the circuit stands still (assumed). */
const AT_REST_K = 4;

interface Value {
  readonly value: number;
  readonly isRead: boolean;
}

/** The cycle as read or as expected; null where no pressure was read, or nothing is expected. */
export function cycleOf(
  state: CircuitState,
  data: RefrigerantData,
  atmospherePa: number,
  which: Which,
): Cycle | null {
  const get = (of: string): Value | null => valueOf(state.readings.get(of), which);
  const suction = get("suction_pressure");
  const liquid = get("liquid_pressure");
  if (suction === null || liquid === null) return null;
  if (which === "measured" && !suction.isRead && !liquid.isRead) return null;
  const low = suction.value + atmospherePa;
  const high = liquid.value + atmospherePa;
  const dew = saturationK(data, low, "dew");
  const bubble = saturationK(data, high, "bubble");
  const suctionLine = lineOf(get("suction_line"), get("superheat"), dew, 1);
  const liquidLine = lineOf(get("liquid_line"), get("subcooling"), bubble, -1);
  const discharge = get("discharge_line");
  if (suctionLine === null || liquidLine === null || discharge === null) return null;
  const corner = (name: string, pressurePa: number, at: Value, phase: "vapour" | "liquid", pressureRead: boolean): Corner => ({
    name,
    pressurePa,
    temperatureK: at.value,
    enthalpyKj: enthalpyKj(data, pressurePa, at.value, phase),
    isRead: at.isRead && pressureRead,
  });
  const behindCondenser = corner("Liquid line", high, liquidLine, "liquid", liquid.isRead);
  return {
    corners: [
      corner("Suction line", low, suctionLine, "vapour", suction.isRead),
      corner("Discharge line", high, discharge, "vapour", liquid.isRead),
      behindCondenser,
      {
        name: "Behind the metering device",
        pressurePa: low,
        temperatureK: saturationK(data, low, "bubble"),
        enthalpyKj: behindCondenser.enthalpyKj,
        isRead: behindCondenser.isRead && suction.isRead,
      },
    ],
    superheatK: suctionLine.value - dew,
    subcoolingK: bubble - liquidLine.value,
  };
}

/** Whether a circuit stands still: its pressures have equalised. */
export function standsStill({ corners }: Cycle, data: RefrigerantData): boolean {
  const [suction, discharge] = corners;
  const high = saturationK(data, discharge.pressurePa, "dew");
  return high - saturationK(data, suction.pressurePa, "dew") < AT_REST_K;
}

/** A line's temperature, as read or from the degrees over dew or under bubble that were read. */
function lineOf(line: Value | null, degrees: Value | null, saturatedK: number, sign: 1 | -1): Value | null {
  if (degrees?.isRead === true && line?.isRead !== true) {
    return { value: saturatedK + sign * degrees.value, isRead: true };
  }
  return line;
}

/** A value; what was not read is taken from the model with the likeliest cause, or in order. */
function valueOf(reading: CircuitReading | undefined, which: Which): Value | null {
  if (reading === undefined) return null;
  const own = reading[which];
  if (typeof own === "number") return { value: own, isRead: true };
  const shown = own ?? (which === "measured" ? (reading.withCause ?? reading.inOrder) : null);
  return shown === null ? null : { value: shown.mean, isRead: false };
}

/** Both pressures' spread as a band (Pa absolute, from and to), for the cycle in order. */
export function bandOf(state: CircuitState, of: string, atmospherePa: number): readonly [number, number] | null {
  const shown = state.readings.get(of)?.inOrder;
  if (shown == null) return null;
  const mean = shown.mean + atmospherePa;
  return [Math.max(mean - shown.spread, 1000), mean + shown.spread];
}


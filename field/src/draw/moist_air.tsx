/** Moist air: the room's air on its way through the coil, as read and as it should be. */

import type { MoistAirData } from "../engine/charts.ts";
import {
  airEnthalpyKj,
  humidityRatio,
  ratioBehindCoil,
  ratioFromWetBulb,
} from "../engine/charts.ts";
import type { CircuitState } from "../engine/circuit.ts";
import type { Guide } from "../engine/guide.ts";
import { percent } from "../words/numbers.ts";
import { CircuitTable } from "./circuit_table.tsx";
import { Key } from "./pressure_enthalpy.tsx";
import { path, placed } from "./scale.ts";
import { Zoomable } from "./zoomable.tsx";

const LEFT = 10;
const RIGHT = 316;
const TOP = 14;
const BOTTOM = 262;
const COLD_F = 40;
const HOT_F = 110;
/** Grains of water by pound of dry air at the top of the chart. */
const MOST_GRAINS = 140;
const GRAINS = 7000;
const BTU_LB_KJ = 2.326;
const RELATIVE = [0.2, 0.4, 0.6, 0.8];
const WET_BULBS_F = [45, 50, 55, 60, 65, 70, 75];
const TABLED = ["return_air", "return_wet_bulb", "supply_air", "supply_wet_bulb", "outdoor_air", "condensate"] as const;

const kelvin = (f: number): number => (f + 459.67) / 1.8;
const fahrenheit = (k: number): number => 1.8 * k - 459.67;
const x = (k: number): number => placed(fahrenheit(k), { low: COLD_F, high: HOT_F }, LEFT, RIGHT);
const y = (ratio: number): number =>
  placed(ratio * GRAINS, { low: 0, high: MOST_GRAINS }, BOTTOM, TOP);

interface AirPoint {
  readonly temperatureK: number;
  readonly ratio: number;
  readonly isRead: boolean;
}

interface Way {
  readonly from: AirPoint;
  readonly to: AirPoint;
}

interface Props {
  readonly guide: Guide;
  readonly state: CircuitState;
}

export function MoistAir({ guide, state }: Props) {
  const air = guide.call.charts.moist_air;
  const { ATMOSPHERE_PA } = guide.family.constants;
  const from = entering(state, air, ATMOSPHERE_PA);
  const way = (leavingK: number | null | undefined, isRead: boolean): Way | null =>
    leavingK == null
      ? null
      : {
          from,
          to: {
            temperatureK: leavingK,
            ratio: ratioBehindCoil(air, from, Math.min(leavingK, from.temperatureK), ATMOSPHERE_PA),
            isRead,
          },
        };
  const supply = state.readings.get("supply_air");
  const read = way(supply?.measured, true);
  const inOrder = way(supply?.inOrder?.mean, false);
  const withCause = way(supply?.withCause?.mean, false);
  return (
    <figure class="stack tight">
      <Zoomable>
        <svg viewBox="0 0 360 310" role="img" aria-label={spoken(read, inOrder)}>
          <Net air={air} barometerPa={ATMOSPHERE_PA} />
          {inOrder !== null && <Line way={inOrder} kind="order" />}
          {withCause !== null && <Line way={withCause} kind="cause" />}
          {read !== null && <Line way={read} kind="read" />}
          <Dot point={from} name="R" />
          {read !== null && <Dot point={read.to} name="S" />}
        </svg>
      </Zoomable>
      <figcaption class="stack tight">
        <ul class="legend">
          {read !== null && <Key kind="read">As read</Key>}
          <Key kind="order">In order, in today{"\u2019"}s weather</Key>
          {state.cause !== null && withCause !== null && (
            <Key kind="cause">
              {guide.title(state.cause.id)} ({percent(state.cause.probability)})
            </Key>
          )}
        </ul>
        {!from.isRead && (
          <p class="tell">
            Return air not read with dry and wet bulb yet: R stands where it usually is.
          </p>
        )}
      </figcaption>
      <Heat read={read} inOrder={inOrder} />
      <CircuitTable guide={guide} state={state} quantities={TABLED} />
      <p class="quiet small">
        R return, S supply, wb wet bulb in {"\u00b0"}F; at sea level.{" "}
        {state.demand === "heat"
          ? "In heating the air takes up no water, nor gives any: it only gets warmer."
          : `The supply air\u2019s humidity follows from its temperature: ${percent(air.contact)} of the air meets the coil and leaves its surface saturated, as in the model.`}
      </p>
    </figure>
  );
}

/** The return air as read; as it usually is where it was not. */
function entering(state: CircuitState, air: MoistAirData, barometerPa: number): AirPoint {
  const [, usualDry = 299, usualWet = 291] = state.weather;
  const dry = state.readings.get("return_air")?.measured ?? null;
  const wet = state.readings.get("return_wet_bulb")?.measured ?? null;
  const temperatureK = dry ?? usualDry;
  return {
    temperatureK,
    ratio: ratioFromWetBulb(air, temperatureK, wet ?? usualWet, barometerPa),
    isRead: dry !== null && wet !== null,
  };
}

/** Saturation, relative humidity, wet bulb, and both axes. */
function Net({ air, barometerPa }: { readonly air: MoistAirData; readonly barometerPa: number }) {
  const full = (k: number): number => humidityRatio(air, k, 1, barometerPa);
  const curve = (relative: number): string => {
    const points: [number, number][] = [];
    for (let f = COLD_F; f <= HOT_F; f += 2) {
      const ratio = humidityRatio(air, kelvin(f), relative, barometerPa);
      if (ratio * GRAINS > MOST_GRAINS) break;
      points.push([x(kelvin(f)), y(ratio)]);
    }
    return path(points);
  };
  return (
    <g font-size="12">
      {[40, 50, 60, 70, 80, 90, 100, 110].map((f) => {
        const top = Math.max(y(full(kelvin(f))), TOP);
        return (
          <g key={f}>
            <path class="grid" d={`M${x(kelvin(f)).toFixed(1)} ${BOTTOM}V${top.toFixed(1)}`} />
            <text x={x(kelvin(f))} y={BOTTOM + 17} text-anchor="middle" font-size="13">
              {f}
            </text>
          </g>
        );
      })}
      {[0, 20, 40, 60, 80, 100, 120, 140].map((grains) => (
        <g key={grains}>
          <path class="grid" d={`M${RIGHT} ${y(grains / GRAINS).toFixed(1)}h-8`} />
          <text x={RIGHT + 5} y={y(grains / GRAINS) + 4.5} font-size="13">
            {grains}
          </text>
        </g>
      ))}
      {WET_BULBS_F.map((f) => (
        <WetBulb f={f} air={air} barometerPa={barometerPa} key={f} />
      ))}
      {RELATIVE.map((relative) => (
        <g key={relative}>
          <path class="grid" d={curve(relative)} />
          <text
            class="soft"
            x={x(kelvin(88))}
            y={y(humidityRatio(air, kelvin(88), relative, barometerPa)) - 4}
            text-anchor="middle"
          >
            {relative < 0.8 ? percent(relative) : ""}
          </text>
        </g>
      ))}
      <path class="faint" d={curve(1)} />
      <path class="faint" d={`M${LEFT} ${BOTTOM}H${RIGHT}V${TOP}`} />
      <text x={LEFT - 6} y={BOTTOM + 36} font-size="13">
        Dry bulb, {"\u00b0"}F
      </text>
      <text x={354} y={BOTTOM + 36} text-anchor="end" font-size="13">
        Water, grains by lb of dry air
      </text>
    </g>
  );
}

function WetBulb({
  f,
  air,
  barometerPa,
}: {
  readonly f: number;
  readonly air: MoistAirData;
  readonly barometerPa: number;
}) {
  const wet = kelvin(f);
  const ends = [wet, kelvin(HOT_F)].map(
    (dry) => [x(dry), y(ratioFromWetBulb(air, dry, wet, barometerPa))] as const,
  );
  const [start] = ends;
  return (
    <>
      <path class="grid dashed" d={path(ends)} />
      {f % 10 === 0 && start !== undefined && start[1] > TOP + 8 && (
        <text class="soft" x={start[0] - 4} y={start[1] - 3} text-anchor="end">
          {f} wb
        </text>
      )}
    </>
  );
}

function Line({ way, kind }: { readonly way: Way; readonly kind: "read" | "order" | "cause" }) {
  const points = [way.from, way.to].map((one) => [x(one.temperatureK), y(one.ratio)] as const);
  const [, end] = points;
  return (
    <>
      <path class={`loop ${kind}`} d={path(points)} />
      {kind !== "read" && end !== undefined && (
        <circle class={`loop end ${kind}`} cx={end[0]} cy={end[1]} r="5" />
      )}
    </>
  );
}

function Dot({ point, name }: { readonly point: AirPoint; readonly name: string }) {
  const [cx, cy] = [x(point.temperatureK), y(point.ratio)];
  return (
    <>
      <circle class={point.isRead ? "read dot" : "dot"} cx={cx} cy={cy} r="10" />
      <text
        class={point.isRead ? "on-dot" : ""}
        x={cx}
        y={cy + 4.5}
        text-anchor="middle"
        font-size="13"
        font-weight="700"
      >
        {name}
      </text>
    </>
  );
}

/** Heat taken from every pound of air, and how much of it lowers the temperature. */
function Heat({ read, inOrder }: { readonly read: Way | null; readonly inOrder: Way | null }) {
  const rows = [
    { name: "As read", way: read },
    { name: "In order", way: inOrder },
  ];
  return (
    <ul>
      {rows.map(({ name, way }) => {
        if (way === null) return null;
        const { total, sensible } = heatOf(way);
        return (
          <li key={name}>
            {name}: {Math.abs(total / BTU_LB_KJ).toFixed(1)} Btu {total < 0 ? "into" : "from"} every
            pound of air
            {total > 0.1 && `, ${percent(Math.min(Math.max(sensible / total, 0), 1))} of it felt as cooler air`}
          </li>
        );
      })}
    </ul>
  );
}

function heatOf({ from, to }: Way): { readonly total: number; readonly sensible: number } {
  const start = airEnthalpyKj(from.temperatureK, from.ratio);
  return {
    total: start - airEnthalpyKj(to.temperatureK, to.ratio),
    sensible: airEnthalpyKj(from.temperatureK, to.ratio) - airEnthalpyKj(to.temperatureK, to.ratio),
  };
}

function spoken(read: Way | null, inOrder: Way | null): string {
  const told = ({ from, to }: Way): string =>
    `from ${fahrenheit(from.temperatureK).toFixed(0)} to ${fahrenheit(to.temperatureK).toFixed(0)} degrees Fahrenheit`;
  const words = ["Moist air: water in the air over its temperature."];
  if (read !== null) words.push(`As read the air goes ${told(read)}.`);
  if (inOrder !== null) words.push(`In order it would go ${told(inOrder)}.`);
  words.push("The numbers stand in the table below.");
  return words.join(" ");
}

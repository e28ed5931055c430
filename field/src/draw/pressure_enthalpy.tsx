/** Pressure over enthalpy: the dome, the cycle as read, and the cycle this system should have. */

import type { ComponentChildren } from "preact";
import type { RefrigerantData } from "../engine/charts.ts";
import type { CircuitState } from "../engine/circuit.ts";
import { workedOut } from "../engine/circuit.ts";
import type { Guide } from "../engine/guide.ts";
import { percent } from "../words/numbers.ts";
import { CircuitTable } from "./circuit_table.tsx";
import type { Cycle } from "./cycle_points.ts";
import { bandOf, cycleOf, standsStill } from "./cycle_points.ts";
import type { Span } from "./scale.ts";
import { path, placed, spanOf, ticks } from "./scale.ts";
import { Zoomable } from "./zoomable.tsx";

const LEFT = 44;
const RIGHT = 350;
const TOP = 14;
const BOTTOM = 262;
const PSI_PA = 6894.757;
const BTU_LB_KJ = 2.326;
const GAUGE_TICKS = [25, 50, 100, 150, 200, 300, 400, 600];
/** Shown at least: gauge pressures (Pa absolute) and enthalpies (kJ/kg). */
const LEAST_PA: Span = { low: 0.42e6, high: 3.3e6 };
const LEAST_KJ: Span = { low: 50, high: 330 };

const TABLED = [
  "suction_pressure",
  "liquid_pressure",
  "suction_line",
  "liquid_line",
  "discharge_line",
  "superheat",
  "subcooling",
  "liquid_drop",
  "compressor_amps",
] as const;

interface Scale {
  readonly x: (kj: number) => number;
  readonly y: (pa: number) => number;
  readonly kj: Span;
  readonly logPa: Span;
}

interface Props {
  readonly guide: Guide;
  readonly state: CircuitState;
}

export function PressureEnthalpy({ guide, state }: Props) {
  const data = guide.call.charts.refrigerants[state.refrigerant];
  const { ATMOSPHERE_PA } = guide.family.constants;
  if (data === undefined) return <p class="tell">There are no tables of {state.refrigerant} here.</p>;
  const measured = cycleOf(state, data, ATMOSPHERE_PA, "measured");
  const inOrder = cycleOf(state, data, ATMOSPHERE_PA, "inOrder");
  const caused = cycleOf(state, data, ATMOSPHERE_PA, "withCause");
  const stopped = caused !== null && standsStill(caused, data);
  const withCause = stopped ? null : caused;
  const cycles = [measured, inOrder, withCause].filter((one) => one !== null);
  const scale = scaleOf(cycles);
  const resting = measured !== null && standsStill(measured, data);
  return (
    <figure class="stack tight">
      <Zoomable>
        <svg viewBox="0 0 360 310" role="img" aria-label={spoken(state, measured, inOrder, resting)}>
          <clipPath id="within">
            <rect x={LEFT} y={TOP} width={RIGHT - LEFT} height={BOTTOM - TOP} />
          </clipPath>
          <Dome data={data} scale={scale} />
          <Axes scale={scale} atmospherePa={ATMOSPHERE_PA} />
          {inOrder !== null && (
            <Bands state={state} cycle={inOrder} scale={scale} atmospherePa={ATMOSPHERE_PA} />
          )}
          {inOrder !== null && <Loop cycle={inOrder} scale={scale} kind="order" />}
          {withCause !== null && <Loop cycle={withCause} scale={scale} kind="cause" />}
          {measured !== null && !resting && <Loop cycle={measured} scale={scale} kind="read" />}
          {measured !== null && !resting && <Corners cycle={measured} scale={scale} />}
        </svg>
      </Zoomable>
      <Legend guide={guide} state={state} measured={measured} stopped={stopped} />
      {resting && (
        <p class="tell">
          Both pressures are nearly the same: the circuit stands still, and there is no cycle to
          draw.
        </p>
      )}
      <CircuitTable guide={guide} state={withDegrees(state, measured)} quantities={TABLED} />
      <p class="quiet small">
        {state.refrigerant}. The band is one standard deviation of this model, this unit and today
        {"\u2019"}s weather together. Enthalpy counts from liquid at {"\u2212"}40 {"\u00b0"}F.
      </p>
    </figure>
  );
}

/** The circuit with superheat and subcooling, where pressure and line temperature were read. */
function withDegrees(state: CircuitState, measured: Cycle | null): CircuitState {
  if (measured === null) return state;
  const [suction, , liquid] = measured.corners;
  const one = suction.isRead ? workedOut(state, "superheat", measured.superheatK) : state;
  return liquid.isRead ? workedOut(one, "subcooling", measured.subcoolingK) : one;
}

function scaleOf(cycles: readonly Cycle[]): Scale {
  const corners = cycles.flatMap((cycle) => cycle.corners);
  const kj = spanOf(corners.map((one) => one.enthalpyKj), LEAST_KJ, 12);
  const logPa = spanOf(
    corners.map((one) => Math.log(one.pressurePa)),
    { low: Math.log(LEAST_PA.low), high: Math.log(LEAST_PA.high) },
    0.12,
  );
  return {
    kj,
    logPa,
    x: (value) => placed(value, kj, LEFT, RIGHT),
    y: (value) => placed(Math.log(value), logPa, BOTTOM, TOP),
  };
}

/** Where liquid and vapour are together, with the names of the three regions. */
function Dome({ data, scale }: { readonly data: RefrigerantData; readonly scale: Scale }) {
  const shown = data.pressure_pa.flatMap((pa, i) => {
    const log = Math.log(pa);
    return log < scale.logPa.low || log > scale.logPa.high ? [] : [i];
  });
  const liquid = shown.map((i) => [scale.x(data.liquid_kj_kg[i]!), scale.y(data.pressure_pa[i]!)] as const);
  const vapour = shown.map((i) => [scale.x(data.vapour_kj_kg[i]!), scale.y(data.pressure_pa[i]!)] as const);
  const middle = Math.floor(shown.length / 2);
  const [left, right] = [liquid[middle], vapour[middle]];
  return (
    <g>
      <path class="wash" clip-path="url(#within)" d={path([...liquid, ...[...vapour].reverse()], true)} />
      <path class="faint" clip-path="url(#within)" d={path(liquid)} />
      <path class="faint" clip-path="url(#within)" d={path(vapour)} />
      {left !== undefined && right !== undefined && (
        <text class="soft" x={(left[0] + right[0]) / 2} y={BOTTOM - 8} text-anchor="middle" font-size="12">
          liquid and vapour
        </text>
      )}
      <text class="soft" x={LEFT + 8} y={TOP + 14} font-size="12">
        liquid
      </text>
      <text class="soft" x={RIGHT - 6} y={TOP + 14} text-anchor="end" font-size="12">
        vapour
      </text>
    </g>
  );
}

function Axes({ scale, atmospherePa }: { readonly scale: Scale; readonly atmospherePa: number }) {
  const pressures = GAUGE_TICKS.map((psig) => ({ psig, y: scale.y(psig * PSI_PA + atmospherePa) }))
    .filter(({ y }) => y > TOP + 4 && y < BOTTOM - 2);
  const enthalpies = ticks({ low: scale.kj.low / BTU_LB_KJ, high: scale.kj.high / BTU_LB_KJ }, 20);
  return (
    <g font-size="13">
      {pressures.map(({ psig, y }) => (
        <g key={psig}>
          <path class="grid" d={`M${LEFT} ${y.toFixed(1)}H${RIGHT}`} />
          <text x={LEFT - 5} y={y + 4.5} text-anchor="end">
            {psig}
          </text>
        </g>
      ))}
      {enthalpies.map((btu) => {
        const x = scale.x(btu * BTU_LB_KJ);
        return (
          <g key={btu}>
            <path class="grid" d={`M${x.toFixed(1)} ${TOP}V${BOTTOM}`} />
            <text x={x} y={BOTTOM + 17} text-anchor="middle">
              {btu}
            </text>
          </g>
        );
      })}
      <path class="faint" d={`M${LEFT} ${TOP}V${BOTTOM}H${RIGHT}`} />
      <text x={RIGHT} y={BOTTOM + 36} text-anchor="end">
        Enthalpy, Btu/lb
      </text>
      <text x={4} y={BOTTOM + 36}>
        Pressure, psig
      </text>
    </g>
  );
}

/** How far both pressures may lie from what is expected without anything being wrong. */
function Bands({
  state,
  cycle,
  scale,
  atmospherePa,
}: {
  readonly state: CircuitState;
  readonly cycle: Cycle;
  readonly scale: Scale;
  readonly atmospherePa: number;
}) {
  const [suction, discharge, liquid, metered] = cycle.corners;
  const rows = [
    { band: bandOf(state, "suction_pressure", atmospherePa), from: metered, to: suction },
    { band: bandOf(state, "liquid_pressure", atmospherePa), from: liquid, to: discharge },
  ];
  return (
    <>
      {rows.map(({ band, from, to }) => {
        if (band === null) return null;
        const [top, bottom] = [scale.y(band[1]), scale.y(band[0])];
        const [x, end] = [scale.x(from.enthalpyKj), scale.x(to.enthalpyKj)];
        return (
          <rect class="band" x={x} y={top} width={Math.max(end - x, 0)} height={bottom - top} key={to.name} />
        );
      })}
    </>
  );
}

function Loop({
  cycle,
  scale,
  kind,
}: {
  readonly cycle: Cycle;
  readonly scale: Scale;
  readonly kind: "read" | "order" | "cause";
}) {
  const points = cycle.corners.map((one) => [scale.x(one.enthalpyKj), scale.y(one.pressurePa)] as const);
  return <path class={`loop ${kind}`} d={path(points, true)} />;
}

/** The corners of the cycle as read: full where read, hollow where the model fills in. */
function Corners({ cycle, scale }: { readonly cycle: Cycle; readonly scale: Scale }) {
  return (
    <>
      {cycle.corners.map((one, i) => (
        <g key={one.name}>
          <circle
            class={one.isRead ? "read dot" : "dot"}
            cx={scale.x(one.enthalpyKj)}
            cy={scale.y(one.pressurePa)}
            r="9"
          />
          <text
            class={one.isRead ? "on-dot" : ""}
            x={scale.x(one.enthalpyKj)}
            y={scale.y(one.pressurePa) + 4.5}
            text-anchor="middle"
            font-size="13"
            font-weight="700"
          >
            {i + 1}
          </text>
        </g>
      ))}
    </>
  );
}

const CORNERS = [
  "in the suction line at the outdoor unit",
  "behind the compressor",
  "in the liquid line at the outdoor unit",
  "behind the metering device",
];

function Legend({
  guide,
  state,
  measured,
  stopped,
}: Props & {
  readonly measured: Cycle | null;
  /** With the likeliest cause the circuit stands still. */
  readonly stopped: boolean;
}) {
  return (
    <figcaption class="stack tight">
      <ul class="legend">
        {measured !== null && <Key kind="read">As read</Key>}
        <Key kind="order">In order, in today{"\u2019"}s weather</Key>
        {state.cause !== null && (
          <Key kind="cause">
            {guide.title(state.cause.id)} ({percent(state.cause.probability)})
            {stopped && ": stands still, both pressures alike"}
          </Key>
        )}
      </ul>
      {measured === null ? (
        <p class="tell">
          No pressure has been read yet. What is drawn is what this system should do now.
        </p>
      ) : (
        <p class="quiet small">
          {measured.corners
            .map((one, i) => `${i + 1} ${CORNERS[i]}${one.isRead ? "" : " (not read: from the model)"}`)
            .join("; ")}
          .
        </p>
      )}
    </figcaption>
  );
}

export function Key({
  kind,
  children,
}: {
  readonly kind: "read" | "order" | "cause";
  readonly children: ComponentChildren;
}) {
  return (
    <li>
      <svg viewBox="0 0 36 12" width="36" height="12" aria-hidden="true">
        <path class={`loop ${kind}`} d="M2 6H34" />
      </svg>
      <span>{children}</span>
    </li>
  );
}

function spoken(
  state: CircuitState,
  measured: Cycle | null,
  inOrder: Cycle | null,
  resting: boolean,
): string {
  const words = [`Pressure over enthalpy of ${state.refrigerant}.`];
  if (measured !== null) words.push(resting ? "As read the circuit stands still." : `As read: ${told(measured)}.`);
  if (inOrder !== null) words.push(`In order: ${told(inOrder)}.`);
  words.push("The numbers stand in the table below.");
  return words.join(" ");
}

function told({ superheatK, subcoolingK }: Cycle): string {
  const degrees = (kelvin: number): string => `${(1.8 * kelvin).toFixed(0)} degrees Fahrenheit`;
  return `superheat ${degrees(superheatK)}, subcooling ${degrees(subcoolingK)}`;
}

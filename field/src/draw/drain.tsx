/** The drain from the coil to its outlet: pans, levels, switches, trap, and where it may be shut. */

import type { Guide } from "../engine/guide.ts";
import { percent } from "../words/numbers.ts";
import { Zoomable } from "./zoomable.tsx";

interface Spot {
  readonly name: string;
  readonly x: number;
  readonly y: number;
  readonly faults: readonly string[];
}

/** Share from which a place is marked (assumed). */
const WORTH_MARKING = 0.02;
const FULL = 0.5;

export function DrainDrawing({ guide }: { readonly guide: Guide }) {
  const setting = guide.likeliestSetting;
  const pump = (setting["drain"] ?? "gravity") !== "gravity";
  const shares = new Map(
    [...guide.causes.roots, ...guide.causes.consequences].map((one) => [one.id, one.probability]),
  );
  const share = (...ids: readonly string[]): number =>
    ids.reduce((sum, id) => sum + (shares.get(id) ?? 0), 0);
  const spots = spotsOf(pump)
    .map((spot) => ({ ...spot, share: Math.min(1, share(...spot.faults)) }))
    .filter((spot) => spot.share >= WORTH_MARKING)
    .sort((a, b) => b.share - a.share);
  const panFull = share("water/primary-pan-full") > FULL;
  const auxFull = share("water/aux-pan-full") > FULL;
  const tankFull = share("water/pump-reservoir-full") > FULL;
  return (
    <figure class="stack tight">
      <Zoomable>
        <svg viewBox="0 0 360 250" role="img" aria-label={altOf(setting, spots)}>
          <Coil full={panFull} />
          <Aux kind={setting["aux_pan"] ?? "none"} full={auxFull} />
          <Float where={setting["float_switch"] ?? "none"} full={panFull} />
          <Pipe cleanout={setting["cleanout"] === "yes"} />
          {pump ? <Pump full={tankFull} wired={setting["drain"] === "pump_wired"} /> : <Outlet />}
          {spots.map((spot, i) => (
            <g key={spot.name}>
              <circle class="alarm" cx={spot.x} cy={spot.y} r="12" fill="var(--sheet)" stroke-width="3" />
              <text x={spot.x} y={spot.y + 5} text-anchor="middle" font-size="14" font-weight="700">
                {i + 1}
              </text>
            </g>
          ))}
        </svg>
      </Zoomable>
      <figcaption class="stack tight">
        <p>{altOf(setting, [])}</p>
        {spots.length === 0 ? (
          <p class="quiet">Nothing known so far points at the drain.</p>
        ) : (
          <ol>
            {spots.map((spot) => (
              <li key={spot.name}>
                {spot.name}: {percent(spot.share)} that something is wrong here
              </li>
            ))}
          </ol>
        )}
      </figcaption>
    </figure>
  );
}

function spotsOf(pump: boolean): Spot[] {
  const both: Spot[] = [
    { name: "Primary pan", x: 70, y: 92, faults: ["drain/pan-cracked", "drain/unit-out-of-level"] },
    {
      name: "Trap",
      x: 182,
      y: 148,
      faults: [
        "drain/trap-plugged",
        "drain/trap-dry",
        "drain/trap-missing",
        "drain/air-lock",
        "water/trap-seal-lost",
      ],
    },
    { name: "Float switch", x: 128, y: 70, faults: ["drain/float-stuck-down", "drain/float-stuck-up"] },
    {
      name: "Auxiliary pan switch",
      x: 34,
      y: 150,
      faults: ["drain/aux-float-stuck-down", "drain/aux-float-stuck-up"],
    },
    { name: "Suction line", x: 20, y: 60, faults: ["drain/suction-line-sweats"] },
    { name: "Cabinet", x: 96, y: 24, faults: ["drain/cabinet-sweats"] },
  ];
  const line = ["drain/line-plugged", "drain/pipe-joint-off"];
  return pump
    ? [
        ...both,
        { name: "Line to the pump", x: 236, y: 118, faults: line },
        {
          name: "Pump",
          x: 262,
          y: 212,
          faults: [
            "drain/pump-float-stuck",
            "drain/pump-jammed",
            "drain/pump-motor-dead",
            "drain/pump-unplugged",
            "drain/pump-outlet-tripped",
            "drain/pump-safety-stuck-down",
          ],
        },
        { name: "Pump\u2019s tube", x: 322, y: 90, faults: ["drain/pump-tube-blocked"] },
      ]
    : [
        ...both,
        { name: "Drain line", x: 250, y: 126, faults: [...line, "drain/root-in-line"] },
        {
          name: "Outlet",
          x: 328,
          y: 176,
          faults: ["drain/outlet-plugged", "drain/outlet-frozen", "drain/house-drain-backed-up"],
        },
      ];
}

function Coil({ full }: { readonly full: boolean }) {
  return (
    <g>
      <rect class="fill" x="34" y="14" width="104" height="92" rx="4" />
      <path class="line" d="M52 76 L86 28 L120 76" />
      <path class="faint" d="M58 68 l7 0 M66 56 l7 0 M74 44 l7 0 M99 44 l7 0 M107 56 l7 0 M114 68 l7 0" />
      {full && <rect class="wash" x="44" y="82" width="84" height="16" />}
      {full && <path class="line accent" d="M44 82h84" />}
      <path class="line" d="M44 78 V98 H128 V78" />
      <text x="18" y="122" font-size="12" class="soft">
        coil and primary pan
      </text>
      <path class="faint" d="M6 54 H34" stroke-dasharray="4 3" />
    </g>
  );
}

function Aux({ kind, full }: { readonly kind: string; readonly full: boolean }) {
  if (kind === "none") return null;
  return (
    <g>
      {full && <rect class="wash" x="18" y="150" width="132" height="12" />}
      <path class="line" d="M18 136 V162 H150 V136" />
      {kind === "with_drain" && <path class="line" d="M30 162 V184 H8" />}
      {kind === "with_switch" && (
        <path class="line accent" d="M34 160 v-10 m-6 0 h12 m-6 0 v-22" />
      )}
      <text x="44" y="180" font-size="12" class="soft">
        auxiliary pan
      </text>
    </g>
  );
}

function Float({ where, full }: { readonly where: string; readonly full: boolean }) {
  if (where === "none") return null;
  const wired = where !== "unwired";
  return (
    <g>
      <path class="line accent" d={full ? "M128 70 v10 m-6 0 h12" : "M128 70 v20 m-6 0 h12"} />
      <path
        class={wired ? "line" : "faint"}
        d={wired ? "M128 62 V8 H200" : "M128 62 V46"}
        stroke-dasharray={wired ? "none" : "3 3"}
      />
      <text x="204" y="12" font-size="12" class="soft">
        {where === "in_r" ? "float, breaks R" : where === "in_y" ? "float, breaks Y" : ""}
      </text>
    </g>
  );
}

function Pipe({ cleanout }: { readonly cleanout: boolean }) {
  return (
    <g>
      <path class="line" d="M138 92 H166 V148 a16 16 0 0 0 32 0 V118 H214" stroke-width="5" />
      <path class="line accent" d="M168 136 V148 a14 14 0 0 0 28 0 V124" stroke-width="2" />
      {cleanout && <path class="line" d="M152 92 V66 m-7 0 h14" stroke-width="4" />}
      {cleanout && (
        <text x="160" y="62" font-size="12" class="soft">
          cleanout
        </text>
      )}
      <text x="166" y="186" font-size="12" class="soft">
        trap
      </text>
    </g>
  );
}

function Outlet() {
  return (
    <g>
      <path class="line" d="M214 118 L328 150 V176" stroke-width="5" />
      <path class="line accent" d="M328 190 v6 m0 8 v6" />
      <path class="faint" d="M290 230 H352" />
      <text x="290" y="246" font-size="12" class="soft">
        outlet
      </text>
    </g>
  );
}

function Pump({ full, wired }: { readonly full: boolean; readonly wired: boolean }) {
  return (
    <g>
      <path class="line" d="M214 118 H262 V184" stroke-width="5" />
      <rect class="fill" x="226" y="184" width="72" height="50" rx="4" />
      <rect class="wash" x="228" y={full ? 190 : 218} width="68" height={full ? 42 : 14} />
      <path class="line accent" d={full ? "M240 196 h16" : "M240 218 h16"} />
      <path class="line" d="M284 184 V60 H350" stroke-width="3" />
      <text x="226" y="248" font-size="12" class="soft">
        pump{wired ? ", safety wired" : ", safety not wired"}
      </text>
      <text x="300" y="54" font-size="12" class="soft">
        outlet
      </text>
    </g>
  );
}

function altOf(setting: Readonly<Record<string, string>>, spots: readonly Spot[]): string {
  const pump = (setting["drain"] ?? "gravity") !== "gravity";
  const float =
    { in_r: "a float switch that breaks R", in_y: "a float switch that breaks Y" }[
      setting["float_switch"] ?? ""
    ] ?? (setting["float_switch"] === "unwired" ? "a float switch that is not wired" : "no float switch");
  const parts = [
    `From the coil\u2019s pan, with ${float}, through the trap`,
    setting["cleanout"] === "yes" ? " and past a cleanout" : "",
    pump ? " to a condensate pump and its tube." : " downhill to the outlet.",
  ];
  const marked = spots.map((spot, i) => ` ${i + 1}: ${spot.name}.`).join("");
  return parts.join("") + marked;
}

/** What was read of the running circuit and its air, beside what the model of this system says. */

import type { Catalog, NumberForm } from "./catalog.ts";
import type { Share } from "./causes.ts";
import { rounded } from "./expected.ts";
import { soundWorld } from "./family.ts";
import type { Guide } from "./guide.ts";
import type { Panel, PanelLook } from "./panel.ts";
import { isWeather, quantityOf } from "./panel.ts";
import { isOfPanel } from "./panel_reading.ts";
import type { PanelView } from "./panel_view.ts";

/** A cause less likely than this is not drawn beside the rest (assumed). */
const WORTH_DRAWING = 0.1;

/** Mean and standard deviation, SI; a pressure is that of a gauge. */
export interface Shown {
  readonly mean: number;
  readonly spread: number;
}

/** One quantity of the circuit. */
export interface CircuitReading {
  readonly of: string;
  readonly checkId: string;
  /** As read last; null where it was not. */
  readonly measured: number | null;
  readonly inOrder: Shown | null;
  /** With the likeliest cause; null where none stands out. */
  readonly withCause: Shown | null;
}

export interface CircuitState {
  readonly demand: string;
  readonly panel: Panel;
  readonly refrigerant: string;
  readonly readings: ReadonlyMap<string, CircuitReading>;
  readonly cause: Share | null;
  /** Weather of the visit as known (K): outdoor air, return air, its wet bulb. */
  readonly weather: readonly number[];
  /** Whether anything of circuit or weather was read since the last repair. */
  readonly isRead: boolean;
}

const kept = new WeakMap<Guide, CircuitState | null>();

/** The circuit of a call under the demand that stands, or the one that has a panel. */
export function circuitOf(guide: Guide): CircuitState | null {
  let found = kept.get(guide);
  if (found === undefined) {
    found = stateOf(guide);
    kept.set(guide, found);
  }
  return found;
}

function stateOf(guide: Guide): CircuitState | null {
  const { family, belief } = guide;
  const wanted = guide.situation.demand || (guide.season === "heating" ? "heat" : "cool");
  const view = belief.views.get(wanted) ?? [...belief.views.values()][0];
  if (view === undefined) return null;
  const { demand } = view.panel;
  const measured = measuredIn(guide, view.panel);
  const today = view.today;
  const sound = soundWorld(family, guide.likeliestPosition);
  const cause = leadingCause(guide);
  const wrong = cause === null ? -1 : worldOf(guide, cause.id);
  const readings = new Map<string, CircuitReading>();
  for (const check of family.checks.values()) {
    const { look } = check;
    if (look === null || !belongs(view.panel, look)) continue;
    readings.set(look.of, {
      of: look.of,
      checkId: check.id,
      measured: measured.get(check.id) ?? null,
      inOrder: shownIn(today, look, sound),
      withCause: shownIn(today, look, wrong),
    });
  }
  return {
    demand,
    panel: view.panel,
    refrigerant: view.panel.charts[0]!.refrigerant,
    readings,
    cause: wrong < 0 ? null : cause,
    weather: Array.from(view.weather.mean),
    isRead: measured.size > 0,
  };
}

/** The circuit with a quantity that was worked out from others; one that was read stays. */
export function workedOut(state: CircuitState, of: string, kept: number): CircuitState {
  const known = state.readings.get(of);
  if (known === undefined || known.measured !== null) return state;
  return { ...state, readings: new Map(state.readings).set(of, { ...known, measured: kept }) };
}

/** Whether a check reads a panel, or the weather, which is the same under every demand. */
function belongs(panel: Panel, look: PanelLook): boolean {
  return look.demand === panel.demand || isWeather(quantityOf(panel, look.of));
}

/** The numbers read since the last repair, of repeats the last. */
function measuredIn({ family, belief }: Guide, panel: Panel): Map<string, number> {
  const found = new Map<string, number>();
  for (const reading of belief.readings) {
    if (!isOfPanel(family, reading)) continue;
    if (!belongs(panel, family.checks.get(reading.checkId)!.look!)) continue;
    found.set(reading.checkId, reading.valueSi!);
  }
  return found;
}

function shownIn(view: PanelView, look: PanelLook, world: number): Shown | null {
  const found = world < 0 ? null : view.expected(look, world);
  return found !== null && Number.isFinite(found.mean) ? found : null;
}

function leadingCause({ causes }: Guide): Share | null {
  const lead = causes.roots[0];
  return lead !== undefined && lead.probability >= WORTH_DRAWING ? lead : null;
}

/** The likeliest world that has a cause; -1 where none has. */
export function worldOf({ family, belief }: Guide, cause: string): number {
  const column = family.column.get(cause);
  if (column === undefined) return -1;
  const chance = belief.probabilities();
  let best = -1;
  family.rootsOf.forEach((roots, w) => {
    if (roots.includes(column) && (best < 0 || chance[w]! > chance[best]!)) best = w;
  });
  return best;
}

/** A value of a check as kept, in the check's usual unit. */
export function inUsualUnit(data: Catalog, checkId: string, kept: number): number {
  const form = data.checks.get(checkId)?.number ?? null;
  return form === null ? kept : usual(form, kept);
}

function usual(form: NumberForm, kept: number): number {
  const unit = form.units[0]!;
  return ((kept - form.offset) / form.factor - unit.zero) / unit.scale;
}

/** What a check shows with the likeliest cause, in words; empty where nothing stands out. */
export function readingWithCause(guide: Guide, checkId: string): string {
  const { family, belief } = guide;
  const check = family.checks.get(checkId);
  const form = guide.data.checks.get(checkId)?.number ?? null;
  const cause = leadingCause(guide);
  if (check === undefined || form === null || cause === null) return "";
  const world = worldOf(guide, cause.id);
  const { look, numeric } = check;
  const view = look === null ? undefined : belief.views.get(look.demand)?.today;
  if (look !== null && view !== undefined) {
    const shown = shownIn(view, look, world);
    return shown === null ? "" : writeShown(form, shown);
  }
  const row = numeric?.row[world];
  if (numeric === null || row === undefined || numeric.dead[row]) return "";
  return writeShown(form, { mean: numeric.means[row]!, spread: 0 });
}

function writeShown(form: NumberForm, { mean, spread }: Shown): string {
  const value = `${Number.isFinite(mean) ? rounded(usual(form, mean)) : "OL"} ${form.unit}`;
  if (spread === 0 || !Number.isFinite(mean)) return value;
  const off = rounded(Math.abs(usual(form, mean + spread) - usual(form, mean)));
  return `${value} give or take ${off} ${form.unit}`;
}

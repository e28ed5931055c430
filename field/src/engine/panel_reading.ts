/** Readings of the running circuit inside a belief: taken together (see panel_reading.py). */

import type { Reading } from "./reading.ts";
import type { Check, Family } from "./family.ts";
import { isWeather, quantityOf } from "./panel.ts";
import type { Taken } from "./panel_view.ts";
import { PanelView } from "./panel_view.ts";

/** Whether a reading is a number read off the running circuit or its air. */
export function isOfPanel(family: Family, { checkId, valueSi }: Reading): boolean {
  const look = family.checks.get(checkId)?.look ?? null;
  return look !== null && valueSi !== null && Number.isFinite(valueSi);
}

/**
 * The panel of every demand after the readings of a stage; of earlier stages the weather still
 * holds, the circuit is another one since.
 */
export function panelViews(
  family: Family,
  readings: readonly Reading[],
  earlier: readonly Reading[] = [],
): ReadonlyMap<string, PanelView> {
  const kept = earlier.filter((reading) => isOfPanel(family, reading) && ofWeather(family, reading));
  const now = [...kept, ...readings.filter((reading) => isOfPanel(family, reading))];
  let known = latest.get(family);
  if (known === undefined) latest.set(family, (known = new Map()));
  const name = JSON.stringify(now);
  const found = known.get(name) ?? viewsAnew(family, now);
  known.delete(name);
  known.set(name, found);
  for (const oldest of known.keys()) {
    if (known.size <= LATEST) break;
    known.delete(oldest);
  }
  return found;
}

/** So many views are kept: most readings say nothing of the circuit, and leave them as they are. */
const LATEST = 8;

type Views = ReadonlyMap<string, PanelView>;
const latest = new WeakMap<Family, Map<string, Views>>();

function viewsAnew(family: Family, now: readonly Reading[]): Views {
  const found = new Map<string, PanelView>();
  for (const [demand, panel] of family.panels) {
    const taken = ofDemand(family, now, demand);
    found.set(demand, PanelView.after(panel, taken, family.constants.FLOOR));
  }
  return found;
}

function ofWeather(family: Family, { checkId }: Reading): boolean {
  const look = family.checks.get(checkId)?.look ?? null;
  const panel = look === null ? undefined : family.panels.get(look.demand);
  return look !== null && panel !== undefined && isWeather(quantityOf(panel, look.of));
}

/** What belongs to a demand, one value a check: of repeats their mean counts once. */
function ofDemand(family: Family, readings: readonly Reading[], demand: string): Taken[] {
  const byCheck = new Map<string, Reading[]>();
  for (const reading of readings) {
    const { look } = family.checks.get(reading.checkId)!;
    if (look!.demand !== demand && !ofWeather(family, reading)) continue;
    const repeats = byCheck.get(reading.checkId);
    if (repeats === undefined) byCheck.set(reading.checkId, [reading]);
    else repeats.push(reading);
  }
  const names = [...byCheck.keys()].sort();
  return names.map((name) => takenOf(family, family.checks.get(name)!, byCheck.get(name)!));
}

function takenOf(family: Family, check: Check, repeats: readonly Reading[]): Taken {
  const look = check.look!;
  const { CALLER_SLIP, SLIP } = family.constants;
  const own = meanOf(repeats.map(({ sdSi }) => sdSi ?? 0));
  const byCaller = repeats.some(({ reporter }) => reporter === "caller") && !check.phone;
  return {
    look,
    value: meanOf(repeats.map(({ valueSi }) => valueSi ?? NaN)),
    sd: Math.hypot(look.instrument_sd, own),
    answers: check.outcomes.length,
    slip: byCaller ? CALLER_SLIP : SLIP,
  };
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
